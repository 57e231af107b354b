"""What the type checkers must conclude; checked by mypy and pyright, never run."""

from typing import Any, assert_type

import numpy as np

import afterquench as aq

assert_type(aq.temper_parameter(200, 2, c=20), float)
assert_type(aq.temper_parameter(np.ones(3), 2.0, c=20), Any)
assert_type(aq.Estimate(60.0, 0.5, "HRC").interval(), tuple[float, float])
