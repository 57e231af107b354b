from collections.abc import Mapping, Sequence
from typing import Any, Literal, TypeAlias, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

__version__: str

_Policy: TypeAlias = Literal["raise", "nan"]
_Widening: TypeAlias = Literal["raise", "extrapolate"]
_Belief: TypeAlias = float | tuple[float, float] | Estimate

# Anything a ufunc takes, Series, DataArrays, dask and polars objects included; they come back as themselves.
_Arrays: TypeAlias = Any

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
def temper_parameter(
    temperature_c: float,
    time_h: float,
    *,
    c: float,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def temper_parameter(
    temperature_c: _Arrays,
    time_h: _Arrays,
    *,
    c: _Arrays,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def equivalent_time(
    temperature_c: float,
    time_h: float,
    new_temperature_c: float,
    *,
    c: float,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def equivalent_time(
    temperature_c: _Arrays,
    time_h: _Arrays,
    new_temperature_c: _Arrays,
    *,
    c: _Arrays,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def equivalent_temperature(
    temperature_c: float,
    time_h: float,
    new_time_h: float,
    *,
    c: float,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def equivalent_temperature(
    temperature_c: _Arrays,
    time_h: _Arrays,
    new_time_h: _Arrays,
    *,
    c: _Arrays,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def two_hour_equivalent(
    temperature_c: float,
    time_h: float,
    *,
    c: float,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def two_hour_equivalent(
    temperature_c: _Arrays,
    time_h: _Arrays,
    *,
    c: _Arrays,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def implied_activation_energy(
    temperature_c: float,
    time_h: float,
    *,
    c: float,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def implied_activation_energy(
    temperature_c: _Arrays,
    time_h: _Arrays,
    *,
    c: _Arrays,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def constant_from_carbon(
    carbon_percent: float,
    *,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def constant_from_carbon(
    carbon_percent: _Arrays,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def constant_from_seconds(
    c_s: float,
    *,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def constant_from_seconds(
    c_s: _Arrays,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def constant_to_seconds(
    c: float,
    *,
    out_of_range: _Policy | None = None,
    out: None = None,
    where: None = None,
) -> float: ...
@overload
def constant_to_seconds(
    c: _Arrays,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
def temper_parameter_estimate(
    temperature_c: float | Estimate,
    time_h: float | Estimate,
    *,
    c: _Belief | None = None,
    out_of_range: _Widening | None = None,
) -> Estimate: ...
def equivalent_time_estimate(
    temperature_c: float | Estimate,
    time_h: float | Estimate,
    new_temperature_c: float,
    *,
    c: _Belief | None = None,
    out_of_range: _Widening | None = None,
) -> Estimate: ...
def equivalent_temperature_estimate(
    temperature_c: float | Estimate,
    time_h: float | Estimate,
    new_time_h: float,
    *,
    c: _Belief | None = None,
    out_of_range: _Widening | None = None,
) -> Estimate: ...
def two_hour_equivalent_estimate(
    temperature_c: float | Estimate,
    time_h: float | Estimate,
    *,
    c: _Belief | None = None,
    out_of_range: _Widening | None = None,
) -> Estimate: ...
def implied_activation_energy_estimate(
    temperature_c: float | Estimate,
    time_h: float | Estimate,
    *,
    c: _Belief | None = None,
    out_of_range: _Widening | None = None,
) -> Estimate: ...
def constant_from_carbon_estimate(
    carbon_percent: float | Estimate, *, out_of_range: _Widening | None = None
) -> Estimate: ...
def equivalent_time_activation(
    time_s: ArrayLike, temperature_c: ArrayLike, activation_energy_kj_mol: float, reference_c: float
) -> float: ...

class History:
    @property
    def c(self) -> Any: ...
    @property
    def constants(self) -> NDArray[np.float64]: ...
    @property
    def parameter(self) -> Any: ...
    @property
    def two_hour_equivalent_c(self) -> Any: ...
    @property
    def estimate(self) -> Estimate: ...
    @property
    def seconds(self) -> float: ...
    @property
    def contributions(self) -> list[dict[str, Any]]: ...
    def equivalent_hours(self, reference_c: float) -> Any: ...
    def then(self, time_s: ArrayLike, temperature_c: ArrayLike) -> History: ...

def accumulate(time_s: ArrayLike, temperature_c: ArrayLike, *, c: _Belief | ArrayLike) -> History: ...
def combine(holds: Sequence[tuple[float, float]], *, c: _Belief | ArrayLike) -> History: ...

# --- curves

# --- steels

# --- hardness

# --- the oven

# --- plans
