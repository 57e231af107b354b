"""Tempering metallurgy: plan a temper, read what the steel got, judge the hardness, learn from coupons."""

from __future__ import annotations

from .errors import *  # noqa: F403
from .errors import __all__ as _errors
from ._native import Estimate, __version__

__all__ = ["Estimate", "__version__", *_errors]

# Time against temperature.
from ._native import temper_parameter

__all__ += ["temper_parameter"]

# Curves.

# Steels.

# Hardness.

# The oven.

# Plans.
