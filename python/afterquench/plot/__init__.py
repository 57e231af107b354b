"""Pictures: each function draws on one Axes and gives it back; nothing is shown, and no global style is touched.

Matplotlib is imported at the first call. Install it with ``pip install "afterquench[plot]"``.
"""

from ._curve import equivalence_map, tempering_curve
from ._log import log
from ._readings import readings

__all__ = ["equivalence_map", "log", "readings", "tempering_curve"]
