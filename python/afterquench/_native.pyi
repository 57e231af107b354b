from collections.abc import Mapping, Sequence
from typing import Any, Literal, TypeAlias, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

__version__: str

_Policy: TypeAlias = Literal["raise", "nan"]

# --- ufuncs and estimates

class Model:
    @property
    def arguments(self) -> tuple[str, ...]: ...
    @property
    def raising(self) -> np.ufunc: ...
    @property
    def giving_nan(self) -> np.ufunc: ...
    def refuse(self, elements: list[list[float]], accept_out_of_range: bool) -> None: ...

class Estimate:
    def __new__(cls, value: float, u: float, unit: str) -> Estimate: ...
    @property
    def value(self) -> float: ...
    @property
    def u(self) -> float: ...
    @property
    def unit(self) -> str: ...
    @property
    def components(self) -> dict[str, float]: ...
    @property
    def assumptions(self) -> list[str]: ...
    @property
    def tables(self) -> list[str]: ...
    @property
    def extrapolated(self) -> bool: ...
    def interval(self, coverage: float = 0.95) -> tuple[float, float]: ...
    def probability_inside(self, lower: float | None = None, upper: float | None = None) -> float: ...

# --- time against temperature

@overload
def temper_parameter(temperature_c: float, time_h: float, *, c: float, out_of_range: _Policy | None = None) -> float: ...
@overload
def temper_parameter(
    temperature_c: ArrayLike,
    time_h: ArrayLike,
    *,
    c: ArrayLike,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...

# --- curves

# --- steels

# --- hardness

# --- the oven

# --- plans
