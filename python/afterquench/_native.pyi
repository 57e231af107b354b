import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, Self, TypeAlias, final, overload

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from ._rows import Rows

__version__: str

_Policy: TypeAlias = Literal["raise", "nan"]
_Widening: TypeAlias = Literal["raise", "extrapolate"]
_Belief: TypeAlias = float | tuple[float, float] | Estimate

# Anything a ufunc takes, Series, DataArrays, dask and polars objects included; they come back as themselves.
_Arrays: TypeAlias = Any

# --- ufuncs and estimates

@final
class Model:
    @property
    def arguments(self) -> tuple[str, ...]: ...
    @property
    def raising(self) -> np.ufunc: ...
    @property
    def giving_nan(self) -> np.ufunc: ...
    def refuse(self, elements: list[list[float]], accept_out_of_range: bool) -> None: ...

def set_threads(count: int | None) -> None: ...
def threads() -> int: ...

@final
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

# --- statistics

def student_factor(coverage: float, degrees_of_freedom: float) -> float: ...
def effective_degrees_of_freedom(u: ArrayLike, degrees_of_freedom: ArrayLike) -> float: ...
def grubbs_critical(n: int, alpha: float = 0.05, sides: Literal[1, 2] = 2) -> float: ...
def grubbs(values: ArrayLike, alpha: float = 0.05, sides: Literal[1, 2] = 2) -> tuple[int, float, float]: ...

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
def mean_kinetic_temperature(
    temperature_c: ArrayLike, activation_energy_kj_mol: float, weights: ArrayLike | None = None
) -> float: ...
def equivalent_time_activation(
    time_s: ArrayLike, temperature_c: ArrayLike, activation_energy_kj_mol: float, reference_c: float
) -> float: ...

@final
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

_Branch: TypeAlias = Literal["falling", "rising", "over-ageing"]

@final
class Root:
    @property
    def temperature_c(self) -> float: ...
    @property
    def side(self) -> _Branch: ...
    @property
    def caution(self) -> str | None: ...
    def __float__(self) -> float: ...

@final
class TemperingCurve:
    def __new__(
        cls,
        temperature_c: ArrayLike,
        hrc: ArrayLike,
        time_h: float = 2.0,
        c: _Belief | None = None,
        *,
        as_quenched_hrc: float | Estimate | None = None,
        u_curve: float | None = None,
        u_batch: float | None = None,
        name: str | None = None,
        source: str | None = None,
    ) -> TemperingCurve: ...
    @property
    def name(self) -> str: ...
    @property
    def temperature_c(self) -> NDArray[np.float64]: ...
    @property
    def hrc(self) -> NDArray[np.float64]: ...
    @property
    def time_h(self) -> float: ...
    @property
    def time_is_stated(self) -> bool: ...
    @property
    def c(self) -> _Belief | None: ...
    @property
    def c_interval(self) -> tuple[float, float] | None: ...
    @property
    def u_curve(self) -> float: ...
    @property
    def u_curve_found(self) -> str: ...
    @property
    def u_batch(self) -> float: ...
    @property
    def as_quenched_hrc(self) -> Estimate | None: ...
    @property
    def range_c(self) -> tuple[float, float]: ...
    @property
    def has_secondary_hardening(self) -> bool: ...
    @property
    def sources(self) -> list[str]: ...
    @property
    def is_fitted(self) -> bool: ...
    @property
    def notes(self) -> list[str]: ...
    @property
    def grade(self) -> str | None: ...
    @property
    def austenitize_c(self) -> tuple[float, float] | None: ...
    @property
    def origin(self) -> str | None: ...
    @overload
    def hardness_after(
        self,
        temperature_c: float,
        time_h: float,
        as_quenched_hrc: float | None = None,
        *,
        c: float | None = None,
        out_of_range: _Policy | None = None,
    ) -> float: ...
    @overload
    def hardness_after(
        self,
        temperature_c: ArrayLike,
        time_h: ArrayLike,
        as_quenched_hrc: ArrayLike | None = None,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def hardness_after_estimate(
        self,
        temperature_c: float | Estimate,
        time_h: float | Estimate,
        as_quenched_hrc: float | Estimate | None = None,
        *,
        c: _Belief | None = None,
        u_curve: float | None = None,
        u_batch: float | None = None,
        position_delta_c: float = 5.0,
        sensor_delta_c: float = 1.5,
        controller_delta_c: float = 1.0,
        time_delta_min: float = 3.0,
        out_of_range: Literal["raise", "extrapolate"] | None = None,
    ) -> Estimate: ...
    @overload
    def temperature_for(
        self,
        hrc: float,
        time_h: float,
        as_quenched_hrc: float | None = None,
        branch: _Branch | None = None,
        *,
        c: float | None = None,
        out_of_range: _Policy | None = None,
    ) -> float: ...
    @overload
    def temperature_for(
        self,
        hrc: ArrayLike,
        time_h: ArrayLike,
        as_quenched_hrc: ArrayLike | None = None,
        branch: _Branch | None = None,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def temperatures_for(
        self, hrc: float, time_h: float, as_quenched_hrc: float | None = None, *, c: float | None = None
    ) -> list[Root]: ...
    @overload
    def slope(
        self, temperature_c: float, time_h: float, *, c: float | None = None, out_of_range: _Policy | None = None
    ) -> float: ...
    @overload
    def slope(
        self,
        temperature_c: ArrayLike,
        time_h: ArrayLike,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def to_frame(self) -> pd.DataFrame: ...

# --- a shop's own coupons

# A path, an open file, bytes, a DataFrame of pandas or polars, or a dict of columns.
_Coupons: TypeAlias = Any

@final
class NotDetermined:
    @property
    def what(self) -> str: ...
    @property
    def why(self) -> str: ...
    @property
    def would_determine(self) -> str: ...
    @property
    def range_95(self) -> tuple[float, float] | None: ...
    def __bool__(self) -> bool: ...
    def __float__(self) -> float: ...

@final
class CouponFit:
    @property
    def curve(self) -> TemperingCurve: ...
    @property
    def level(self) -> Estimate: ...
    @property
    def slope(self) -> Estimate | NotDetermined: ...
    @property
    def c(self) -> Estimate | NotDetermined: ...
    @property
    def is_offset(self) -> bool: ...
    @property
    def temperature_c(self) -> float: ...
    @property
    def time_h(self) -> float: ...
    @property
    def shape(self) -> str: ...
    @property
    def doubtful(self) -> list[str]: ...
    @property
    def doubts(self) -> list[dict[str, Any]]: ...
    @property
    def used(self) -> list[str]: ...
    @property
    def residuals(self) -> dict[str, float]: ...
    @property
    def scatter_hrc(self) -> float: ...
    @property
    def coupon_sd_hrc(self) -> float: ...
    @property
    def repeatability_sd_hrc(self) -> float: ...
    @property
    def degrees_of_freedom(self) -> float: ...
    @property
    def notes(self) -> list[str]: ...
    def hardness_after_estimate(self, temperature_c: float, time_h: float) -> Estimate: ...
    def temperature_for_estimate(self, hrc: float, time_h: float) -> Estimate: ...
    def to_frame(self) -> pd.DataFrame: ...

def fit_coupons(
    coupons: _Coupons,
    *,
    curve: TemperingCurve | None = None,
    steel: str | Steel | None = None,
    c: _Belief | None = None,
    shape: Literal["auto", "straight", "parabola"] = "auto",
    repeatability_sd_hrc: float | None = None,
    coupon_sd_hrc: float | None = None,
    tester: Tester | TesterBlocks | Estimate | None = None,
    leave_out: Sequence[str] = ...,
    name: str | None = None,
) -> CouponFit: ...

@final
class CouponDesign:
    @property
    def runs(self) -> list[tuple[float, float, int]]: ...
    @property
    def u_level(self) -> float: ...
    @property
    def u_slope(self) -> float: ...
    @property
    def u_c(self) -> float: ...
    @property
    def coupons(self) -> int: ...
    @property
    def oven_hours(self) -> float: ...
    @property
    def cost(self) -> float: ...
    @property
    def notes(self) -> list[str]: ...
    def to_frame(self) -> pd.DataFrame: ...

def design_coupons(
    plan: Sequence[tuple[float, float] | tuple[float, float, int]] | CouponFit | _Coupons | None = None,
    *,
    u_level: float | None = None,
    u_slope: float | None = None,
    u_c: float | None = None,
    scatter_hrc: float | None = None,
    slope: float | None = None,
    c: float | None = None,
    parabola: bool = False,
    u_run_temperature_c: float = 0.0,
    u_tester: float | None = None,
    temperature_c: float | None = None,
    time_h: float | None = None,
    temperatures_c: tuple[float, float] | None = None,
    times_h: tuple[float, float] = ...,
    cost_per_oven_hour: float = 1.0,
    cost_per_coupon: float = 1.0,
    warm_up_h: float = 1.0,
) -> CouponDesign: ...

@final
class BatchPool:
    @property
    def mean(self) -> Estimate: ...
    @property
    def between_batch_sd(self) -> Estimate: ...
    @property
    def next_batch(self) -> Estimate: ...
    @property
    def batches(self) -> list[dict[str, Any]]: ...
    @property
    def method(self) -> str: ...
    @property
    def p_same(self) -> float: ...
    def to_frame(self) -> pd.DataFrame: ...

def pool_batches(
    frame: _Coupons,
    *,
    curve: TemperingCurve | None = None,
    steel: str | Steel | None = None,
    method: Literal["reml", "dersimonian-laird", "paule-mandel"] = "reml",
    c: _Belief | None = None,
    coupon_sd_hrc: float | None = None,
    tester: Tester | TesterBlocks | Estimate | None = None,
) -> BatchPool: ...

# --- steels

@final
class Hazard:
    @property
    def hazard(self) -> str: ...
    @property
    def steel_family(self) -> str: ...
    @property
    def from_c(self) -> float | None: ...
    @property
    def to_c(self) -> float | None: ...
    @property
    def rule(self) -> str: ...
    @property
    def source(self) -> str: ...
    @property
    def how(self) -> str: ...
    @property
    def note(self) -> str: ...
    def touches(self, temperature_c: float) -> bool: ...
    def as_dict(self) -> dict[str, Any]: ...

def hazards_of_composition(composition: Mapping[str, float]) -> list[Hazard]: ...

@final
class ToughnessSeries:
    @property
    def grade(self) -> str: ...
    @property
    def test(self) -> str: ...
    @property
    def source(self) -> str: ...
    @property
    def austenitize_c(self) -> float | None: ...
    @property
    def temperature_c(self) -> list[float | None]: ...
    @property
    def joule(self) -> list[float]: ...
    @property
    def hrc(self) -> list[float | None]: ...
    @property
    def notes(self) -> list[str]: ...

def toughness(steel: str) -> list[ToughnessSeries]: ...
def temper_colours() -> list[dict[str, Any]]: ...

_COLOURS_DEPEND_ON: str

@final
class Advice:
    @property
    def topic(self) -> str: ...
    @property
    def question(self) -> str: ...
    @property
    def says(self) -> list[str]: ...
    @property
    def sources(self) -> list[str]: ...
    @property
    def not_computed(self) -> str: ...
    @property
    def cautions(self) -> list[str]: ...

def advice(topic: str, steel: str | Steel | None = None) -> Advice: ...
def advice_topics() -> list[str]: ...

@final
class Steel:
    @property
    def name(self) -> str: ...
    @property
    def names(self) -> list[str]: ...
    @property
    def group(self) -> str: ...
    @property
    def composition(self) -> dict[str, float]: ...
    @property
    def composition_range(self) -> str: ...
    @property
    def hardening_c(self) -> tuple[float, float] | None: ...
    @property
    def quench(self) -> str: ...
    @property
    def as_quenched_hrc(self) -> Estimate | None: ...
    @property
    def answers_from(self) -> Literal["table", "composition", "nothing"]: ...
    @property
    def temper_range_c(self) -> tuple[float, float] | None: ...
    @property
    def ac1_c(self) -> float | None: ...
    @property
    def ms_c(self) -> float | None: ...
    @property
    def sources(self) -> list[str]: ...
    @property
    def note(self) -> str: ...
    @property
    def curves(self) -> list[TemperingCurve]: ...
    @property
    def hazards(self) -> list[Hazard]: ...
    def curve(self, source: str | None = None, austenitize_c: float | None = None) -> TemperingCurve: ...
    def by_composition(self) -> CompositionSteel: ...
    def given(self, readings: _Readings) -> CompositionSteel: ...
    @overload
    def hardness_after(
        self,
        temperature_c: float,
        time_h: float,
        as_quenched_hrc: float | None = None,
        *,
        c: float | None = None,
        out_of_range: _Policy | None = None,
    ) -> float: ...
    @overload
    def hardness_after(
        self,
        temperature_c: ArrayLike,
        time_h: ArrayLike,
        as_quenched_hrc: ArrayLike | None = None,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def hardness_after_estimate(
        self,
        temperature_c: float | Estimate,
        time_h: float | Estimate,
        as_quenched_hrc: float | Estimate | None = None,
        *,
        c: _Belief | None = None,
        u_curve: float | None = None,
        u_batch: float | None = None,
        position_delta_c: float = 5.0,
        sensor_delta_c: float = 1.5,
        controller_delta_c: float = 1.0,
        time_delta_min: float = 3.0,
        out_of_range: Literal["raise", "extrapolate"] | None = None,
    ) -> Estimate: ...
    @overload
    def temperature_for(
        self,
        hrc: float,
        time_h: float,
        as_quenched_hrc: float | None = None,
        branch: _Branch | None = None,
        *,
        c: float | None = None,
        out_of_range: _Policy | None = None,
    ) -> float: ...
    @overload
    def temperature_for(
        self,
        hrc: ArrayLike,
        time_h: ArrayLike,
        as_quenched_hrc: ArrayLike | None = None,
        branch: _Branch | None = None,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def temperatures_for(
        self, hrc: float, time_h: float, as_quenched_hrc: float | None = None, *, c: float | None = None
    ) -> list[Root]: ...
    def answers(self, temperature_c: float, time_h: float) -> list[tuple[TemperingCurve, Estimate]]: ...
    @overload
    def slope(
        self, temperature_c: float, time_h: float, *, c: float | None = None, out_of_range: _Policy | None = None
    ) -> float: ...
    @overload
    def slope(
        self,
        temperature_c: ArrayLike,
        time_h: ArrayLike,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def as_dict(self) -> dict[str, Any]: ...
    def __hash__(self) -> int: ...

_Readings: TypeAlias = Sequence[Sequence[float]] | NDArray[np.float64] | Mapping[str, ArrayLike] | pd.DataFrame

@final
class CompositionSteel:
    def __new__(
        cls,
        composition: Mapping[str, float],
        *,
        name: str | None = None,
        as_quenched_hrc: float | Estimate | None = None,
        readings: _Readings | None = None,
    ) -> CompositionSteel: ...
    @property
    def name(self) -> str: ...
    @property
    def composition(self) -> dict[str, float]: ...
    @property
    def as_quenched_hrc(self) -> Estimate: ...
    @property
    def readings(self) -> NDArray[np.float64]: ...
    @property
    def distance(self) -> float: ...
    @property
    def notes(self) -> list[str]: ...
    @property
    def interval_factors(self) -> tuple[float, float]: ...
    @property
    def c(self) -> _Belief | None: ...
    @property
    def time_h(self) -> float: ...
    @property
    def range_c(self) -> tuple[float, float]: ...
    @property
    def temperature_c(self) -> NDArray[np.float64]: ...
    @property
    def hrc(self) -> NDArray[np.float64]: ...
    @property
    def sources(self) -> list[str]: ...
    def given(self, readings: _Readings | TemperingCurve) -> CompositionSteel: ...
    @overload
    def u_hardness_after(
        self, temperature_c: float, time_h: float, *, out_of_range: _Policy | None = None
    ) -> float: ...
    @overload
    def u_hardness_after(
        self,
        temperature_c: ArrayLike,
        time_h: ArrayLike,
        *,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    @overload
    def hardness_after(
        self,
        temperature_c: float,
        time_h: float,
        as_quenched_hrc: float | None = None,
        *,
        c: float | None = None,
        out_of_range: _Policy | None = None,
    ) -> float: ...
    @overload
    def hardness_after(
        self,
        temperature_c: ArrayLike,
        time_h: ArrayLike,
        as_quenched_hrc: ArrayLike | None = None,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def hardness_after_estimate(
        self,
        temperature_c: float | Estimate,
        time_h: float | Estimate,
        as_quenched_hrc: float | Estimate | None = None,
        *,
        c: _Belief | None = None,
        u_curve: float | None = None,
        u_batch: float | None = None,
        position_delta_c: float = 5.0,
        sensor_delta_c: float = 1.5,
        controller_delta_c: float = 1.0,
        time_delta_min: float = 3.0,
        out_of_range: Literal["raise", "extrapolate"] | None = None,
    ) -> Estimate: ...
    @overload
    def temperature_for(
        self,
        hrc: float,
        time_h: float,
        as_quenched_hrc: float | None = None,
        branch: _Branch | None = None,
        *,
        c: float | None = None,
        out_of_range: _Policy | None = None,
    ) -> float: ...
    @overload
    def temperature_for(
        self,
        hrc: ArrayLike,
        time_h: ArrayLike,
        as_quenched_hrc: ArrayLike | None = None,
        branch: _Branch | None = None,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...
    def temperatures_for(
        self, hrc: float, time_h: float, as_quenched_hrc: float | None = None, *, c: float | None = None
    ) -> list[Root]: ...
    @overload
    def slope(
        self, temperature_c: float, time_h: float, *, c: float | None = None, out_of_range: _Policy | None = None
    ) -> float: ...
    @overload
    def slope(
        self,
        temperature_c: ArrayLike,
        time_h: ArrayLike,
        *,
        c: ArrayLike | None = None,
        out_of_range: _Policy | None = None,
        out: NDArray[np.float64] | None = None,
        where: ArrayLike | None = None,
    ) -> Any: ...

@final
class HardeningJudgement:
    @property
    def verdict(self) -> Literal["hardened", "not hardened", "not decided"]: ...
    @property
    def reading_hrc(self) -> float: ...
    @property
    def expected_hrc(self) -> Estimate: ...
    @property
    def lowest_hrc(self) -> float: ...
    @property
    def martensite(self) -> float | None: ...
    @property
    def why(self) -> str: ...
    @property
    def cautions(self) -> list[str]: ...

def judge_hardening(
    reading_hrc: float | Estimate, steel: str | Steel | CompositionSteel | float, *, u_reading: float = 0.5
) -> HardeningJudgement: ...
@overload
def hardness_from_composition(
    composition: Mapping[str, float],
    temperature_c: float,
    time_h: float,
    as_quenched_hrc: float | None = None,
    *,
    readings: _Readings | None = None,
    out_of_range: _Policy | None = None,
) -> float: ...
@overload
def hardness_from_composition(
    composition: Mapping[str, float],
    temperature_c: _Arrays,
    time_h: _Arrays,
    as_quenched_hrc: _Arrays | None = None,
    *,
    readings: _Readings | None = None,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
def hardness_from_composition_estimate(
    composition: Mapping[str, float],
    temperature_c: float | Estimate,
    time_h: float | Estimate,
    as_quenched_hrc: float | Estimate | None = None,
    *,
    readings: _Readings | None = None,
    out_of_range: _Widening | None = None,
) -> Estimate: ...
def steel(name: str) -> Steel: ...
def steels() -> Rows[Steel]: ...

_QuenchedTable: TypeAlias = Literal["hodge-orehoski", "astm-a255"]

@overload
def as_quenched_hardness(
    carbon_percent: float,
    martensite: float = 0.99,
    *,
    table: _QuenchedTable = "hodge-orehoski",
    out_of_range: _Policy | None = None,
) -> float: ...
@overload
def as_quenched_hardness(
    carbon_percent: ArrayLike,
    martensite: ArrayLike = 0.99,
    *,
    table: _QuenchedTable = "hodge-orehoski",
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
def as_quenched_hardness_estimate(
    carbon_percent: float, martensite: float = 0.99, *, table: _QuenchedTable = "hodge-orehoski"
) -> Estimate: ...
def martensite_start(
    composition: Mapping[str, float],
    source: Literal["andrews-linear", "steven-haynes", "capdevila"] = "andrews-linear",
) -> float: ...

# --- what models say of themselves

def models() -> Rows[dict[str, Any]]: ...
def cite(thing: Any) -> list[str]: ...

# --- hardness

_Bracketed: TypeAlias = Literal["warn", "raise", "accept"]
_ThicknessRule: TypeAlias = Literal["largest", "depth", "ten-depths", "fifteen-depths", "e18-table", "iso"]
_Verdict: TypeAlias = Literal["pass", "fail", "not decided"]

@final
class HardnessScale:
    @property
    def name(self) -> str: ...
    @property
    def method(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def low(self) -> float: ...
    @property
    def high(self) -> float: ...
    @property
    def stated_by(self) -> str: ...

@final
class ConversionTable:
    @property
    def name(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def source(self) -> str: ...
    @property
    def at(self) -> str: ...
    @property
    def scope(self) -> str: ...
    @property
    def checked_by(self) -> str: ...
    @property
    def doubts(self) -> list[str]: ...
    @property
    def scales(self) -> list[str]: ...
    def to_frame(self) -> Any: ...

@final
class HardnessList:
    def __len__(self) -> int: ...
    def __getitem__(self, index: int, /) -> Any: ...
    def to_frame(self) -> Any: ...

def hardness_scales() -> HardnessList: ...
def conversion_tables() -> HardnessList: ...
@overload
def convert_hardness(
    value: float,
    from_scale: str,
    to_scale: str,
    table: str = "astm-e140-1",
    out_of_range: _Policy | None = None,
    *,
    bracketed: _Bracketed = "warn",
) -> float: ...
@overload
def convert_hardness(
    value: ArrayLike,
    from_scale: str,
    to_scale: str,
    table: str = "astm-e140-1",
    out_of_range: _Policy | None = None,
    *,
    bracketed: _Bracketed = "warn",
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
def convert_hardness_estimate(
    value: float | Estimate,
    from_scale: str,
    to_scale: str,
    table: str = "astm-e140-1",
    *,
    u_conversion: float | None = None,
    bracketed: _Bracketed = "warn",
) -> Estimate: ...
@overload
def minimum_thickness_mm(
    scale: str, value: float, rule: _ThicknessRule | None = None, *, out_of_range: _Policy | None = None
) -> float: ...
@overload
def minimum_thickness_mm(
    scale: str,
    value: ArrayLike,
    rule: _ThicknessRule | None = None,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
def thickness_rules(scale: str, value: float) -> list[tuple[str, str, float]]: ...
@overload
def curvature_correction(
    scale: str, value: float, diameter_mm: float, *, out_of_range: _Policy | None = None
) -> float: ...
@overload
def curvature_correction(
    scale: str,
    value: ArrayLike,
    diameter_mm: ArrayLike,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
def minimum_edge_distance_mm(scale: str, value: float) -> float: ...
def minimum_spacing_mm(scale: str, value: float) -> float: ...
def brinell_hardness(force_kgf: float, ball_mm: float, diameter_mm: float) -> float: ...
def vickers_hardness(force_kgf: float, diagonal_um: float) -> float: ...
def vickers_diagonal_um(force_kgf: float, hardness_hv: float) -> float: ...
def knoop_hardness(force_kgf: float, diagonal_um: float) -> float: ...
def rockwell_hardness(scale: str, depth_mm: float, *, out_of_range: Literal["raise", "nan"] | None = None) -> float: ...

@final
class Tester:
    @property
    def scale(self) -> str: ...
    @property
    def block_value(self) -> float: ...
    @property
    def bias(self) -> Estimate: ...
    @property
    def repeatability(self) -> float: ...
    @property
    def range(self) -> float: ...
    @property
    def within_limits(self) -> bool | None: ...
    @property
    def limits(self) -> tuple[float, float, str] | None: ...
    @property
    def between(self) -> tuple[float, float] | None: ...
    @property
    def advice(self) -> str: ...

@final
class TesterBlocks:
    @property
    def testers(self) -> list[Tester]: ...
    @property
    def within_limits(self) -> bool | None: ...
    def at(self, value: float) -> Tester: ...

def tester_from_block(
    values: ArrayLike, scale: str, block_value: float, block_expanded_uncertainty_k2: float
) -> Tester: ...
def tester_from_blocks(blocks: Sequence[Tester]) -> TesterBlocks: ...

@final
class Doubt:
    @property
    def reading(self) -> float: ...
    @property
    def index(self) -> int: ...
    @property
    def status(self) -> Literal["doubtful", "not a valid reading"]: ...
    @property
    def rule(self) -> str: ...
    @property
    def whose(self) -> str: ...
    @property
    def instead(self) -> str: ...

@final
class Readings:
    def __new__(
        cls,
        values: ArrayLike,
        scale: str,
        thickness_mm: float | None = None,
        diameter_mm: float | None = None,
        edge_distance_mm: float | None = None,
        place: str | Sequence[str] | None = None,
        tester: Tester | TesterBlocks | None = None,
        *,
        resolution: float | None = None,
        roughness_um: float | None = None,
    ) -> Readings: ...
    @property
    def values(self) -> list[float]: ...
    @property
    def scale(self) -> str: ...
    @property
    def tester(self) -> Tester | None: ...
    @property
    def mean(self) -> float: ...
    @property
    def doubts(self) -> list[Doubt]: ...
    @property
    def status(self) -> Literal["valid", "doubtful", "not a valid reading"]: ...
    @property
    def cautions(self) -> list[str]: ...
    def estimate(
        self, scale: str | None = None, *, table: str = "astm-e140-1", u_conversion: float | None = None
    ) -> Estimate: ...
    def monte_carlo(
        self,
        scale: str | None = None,
        *,
        table: str = "astm-e140-1",
        u_conversion: float | None = None,
        draws: int = 1_000_000,
        seed: int = 1,
    ) -> Estimate: ...
    def __len__(self) -> int: ...

def readings_needed(half_width: float, sd: float, coverage: float = 0.95) -> int: ...
def mean_half_width(sd: float, n: int, coverage: float = 0.95) -> float: ...

@final
class Decision:
    @property
    def verdict(self) -> _Verdict: ...
    @property
    def p_inside(self) -> float: ...
    @property
    def guard_band(self) -> float: ...
    @property
    def accept_lower(self) -> float | None: ...
    @property
    def accept_upper(self) -> float | None: ...
    @property
    def why(self) -> str: ...
    @property
    def estimate(self) -> Estimate: ...

@final
class Decisions:
    @property
    def verdict(self) -> NDArray[np.str_]: ...
    @property
    def p_inside(self) -> NDArray[np.float64]: ...
    @property
    def guard_band(self) -> NDArray[np.float64]: ...
    @property
    def accept_lower(self) -> NDArray[np.float64] | None: ...
    @property
    def accept_upper(self) -> NDArray[np.float64] | None: ...
    def __len__(self) -> int: ...

@overload
def decide(
    readings_or_estimate: Readings | Estimate | float,
    lower: float | None = None,
    upper: float | None = None,
    scale: str = "HRC",
    guard_band: str | float | None = None,
    *,
    u: float | None = None,
    table: str = "astm-e140-1",
    u_conversion: float | None = None,
) -> Decision: ...
@overload
def decide(
    readings_or_estimate: ArrayLike,
    lower: float | None = None,
    upper: float | None = None,
    scale: str = "HRC",
    guard_band: str | float | None = None,
    *,
    u: ArrayLike,
    table: str = "astm-e140-1",
    u_conversion: float | None = None,
) -> Decisions: ...
def acceptance_zone(
    lower: float | None = None, upper: float | None = None, *, u: float, guard_band: str | float | None = None
) -> tuple[float | None, float | None, float]: ...

@final
class Comparison:
    @property
    def difference(self) -> Estimate: ...
    @property
    def e_n(self) -> float: ...
    @property
    def agree(self) -> bool: ...
    @property
    def why(self) -> str: ...

def compare_results(first: Estimate | Readings, second: Estimate | Readings) -> Comparison: ...

# --- the oven

_Surroundings: TypeAlias = Literal["fan air", "still air", "sand", "oil", "salt"]
_Gaps: TypeAlias = Literal["bound", "line", "refuse"]
_HeatCapacity: TypeAlias = Literal["constant", "en-1993-1-2"]
_Decided: TypeAlias = Literal["yes", "no", "not decided"]
_Place: TypeAlias = Literal["core", "surface"]

@final
class Repair:
    @property
    def kind(self) -> str: ...
    @property
    def channel(self) -> str | None: ...
    @property
    def rows(self) -> list[int]: ...
    @property
    def seconds(self) -> tuple[float, float] | None: ...
    @property
    def why(self) -> str: ...

@final
class Gap:
    @property
    def start_s(self) -> float: ...
    @property
    def end_s(self) -> float: ...
    @property
    def channel(self) -> str | None: ...

@final
class OvenLog:
    @property
    def channels(self) -> dict[str, str]: ...
    @property
    def repairs(self) -> tuple[Repair, ...]: ...
    @property
    def gaps(self) -> tuple[Gap, ...]: ...
    @property
    def load_s(self) -> float | None: ...
    @property
    def began(self) -> str | None: ...
    @property
    def file(self) -> str: ...
    @property
    def elapsed_s(self) -> NDArray[np.float64]: ...
    def values(self, role: str) -> NDArray[np.float64]: ...
    def to_frame(self) -> Any: ...
    def history(
        self,
        c: _Belief | None = None,
        *,
        lag_s: float | tuple[float, float] | None = None,
        gaps: _Gaps | None = None,
    ) -> History: ...
    def soak(
        self,
        thickness_mm: float | None = None,
        surroundings: _Surroundings = "fan air",
        *,
        diameter_mm: float | None = None,
        h_w_m2k: float | tuple[float, float, float] | Literal["fit"] | None = None,
        heat_capacity: _HeatCapacity = "constant",
        element: tuple[float, float, float] | None = None,
    ) -> Soak: ...
    def fitted_lag_s(self) -> Estimate: ...
    def faults(self) -> tuple[Fault, ...]: ...
    def behaviour(self, setpoint_c: float | None = None, within_delta_c: float = 5.0) -> Behaviour: ...

@final
class Soak:
    @property
    def start_of_hold(self) -> Estimate: ...
    @property
    def minutes_lost(self) -> Estimate: ...
    @property
    def time_constant_s(self) -> tuple[float, float, float]: ...
    @property
    def h_w_m2k(self) -> tuple[float, float, float]: ...
    @property
    def fitted_h_w_m2k(self) -> Estimate | None: ...
    @property
    def radiation_delta_c(self) -> float: ...
    @property
    def biot(self) -> float: ...
    @property
    def hold_c(self) -> float: ...
    def through(self, at_s: float | None = None, within_delta_c: float = 5.0) -> Through: ...
    def is_through(self, at_s: float | None = None, within_delta_c: float = 5.0) -> _Decided: ...
    def history(self, c: _Belief | None = None, *, gaps: _Gaps | None = None, place: _Place = "core") -> History: ...
    def to_frame(self) -> Any: ...

def read_history(
    source: Any,
    c: _Belief | None = None,
    *,
    lag_s: float | tuple[float, float] | None = None,
    gaps: _Gaps = "bound",
    unit: Literal["C", "F", "K", "0.1C"] | None = None,
    channels: Mapping[str, str] | None = None,
    corrections: Any = None,
    load_s: float | None = None,
    timezone: str | None = None,
    time_unit: Literal["s", "min", "h", "ms"] | None = None,
    restart_s: float | None = None,
    day_first: bool | None = None,
    progress: bool | Callable[[int, int], object] | None = None,
) -> History: ...
def join_logs(
    logs: Mapping[str, OvenLog],
    *,
    clock_ahead_s: Mapping[str, float] | None = None,
    pair_within_s: float | None = None,
    load_s: float | None = None,
) -> OvenLog: ...
def read_log(
    source: Any,
    *,
    unit: Literal["C", "F", "K", "0.1C"] | None = None,
    channels: Mapping[str, str] | None = None,
    corrections: Any = None,
    load_s: float | None = None,
    timezone: str | None = None,
    gaps: _Gaps = "bound",
    time_unit: Literal["s", "min", "h", "ms"] | None = None,
    restart_s: float | None = None,
    day_first: bool | None = None,
    progress: Callable[[int, int], object] | None = None,
) -> OvenLog: ...
def time_constant_s(
    thickness_mm: ArrayLike | None = None,
    surroundings: _Surroundings = "fan air",
    *,
    diameter_mm: ArrayLike | None = None,
    h_w_m2k: ArrayLike | None = None,
) -> Any: ...
def biot_number(
    thickness_mm: ArrayLike | None = None,
    surroundings: _Surroundings = "fan air",
    *,
    diameter_mm: ArrayLike | None = None,
    h_w_m2k: ArrayLike | None = None,
) -> Any: ...
def time_to_within(
    thickness_mm: ArrayLike | None,
    surroundings: _Surroundings,
    start_c: ArrayLike,
    oven_c: ArrayLike,
    within_delta_c: ArrayLike,
    *,
    diameter_mm: ArrayLike | None = None,
    h_w_m2k: ArrayLike | None = None,
    heat_capacity: _HeatCapacity = "constant",
    emissivity: ArrayLike | None = None,
) -> Any: ...
def section_modes(
    biot: float, count: int = 1, shape: Literal["plate", "round"] = "plate"
) -> tuple[NDArray[np.float64], NDArray[np.float64]]: ...
def section_temperature_c(
    time_s: float,
    thickness_mm: float | None,
    start_c: float,
    oven_c: float,
    *,
    diameter_mm: float | None = None,
    surroundings: _Surroundings = "fan air",
    h_w_m2k: float | None = None,
    place: _Place = "core",
    conductivity_w_mk: float = 30.0,
    heat_capacity_j_m3k: float = 3925000.0,
) -> float: ...

@final
class Through:
    @property
    def verdict(self) -> _Decided: ...
    @property
    def core(self) -> Estimate: ...
    @property
    def surface(self) -> Estimate: ...
    @property
    def time_s(self) -> Estimate: ...
    @property
    def biot(self) -> float: ...

def is_through(
    thickness_mm: float | None,
    surroundings: _Surroundings,
    start_c: float,
    oven_c: float,
    *,
    time_s: float,
    within_delta_c: float = 5.0,
    diameter_mm: float | None = None,
    h_w_m2k: float | tuple[float, float, float] | None = None,
) -> Through: ...
def specific_heat_j_kgk(temperature_c: ArrayLike) -> Any: ...
def conductivity_w_mk(temperature_c: ArrayLike) -> Any: ...
def radiation_coefficient_w_m2k(wall_c: ArrayLike, part_c: ArrayLike, emissivity: ArrayLike) -> Any: ...
def radiant_part_c(
    air_c: ArrayLike,
    wall_c: ArrayLike,
    element_c: ArrayLike,
    view_factor: ArrayLike,
    emissivity: ArrayLike,
    h_w_m2k: ArrayLike,
) -> Any: ...
def lost_hold_min(
    time_constant_s: ArrayLike,
    oven_c: ArrayLike,
    start_c: ArrayLike = 20.0,
    hold_h: ArrayLike = 3.0,
    *,
    c: ArrayLike,
) -> Any: ...
def swing_amplitude_delta_c(
    air_amplitude_delta_c: ArrayLike, period_s: ArrayLike, time_constant_s: ArrayLike
) -> Any: ...
def dip_delta_c(air_drop_delta_c: ArrayLike, duration_s: ArrayLike, time_constant_s: ArrayLike) -> Any: ...
def radiation_offset_delta_c(
    element_c: ArrayLike, part_c: ArrayLike, view_factor: ArrayLike, emissivity: ArrayLike, h_w_m2k: ArrayLike
) -> Any: ...

@final
class DoorEvent:
    @property
    def start_s(self) -> float: ...
    @property
    def before_c(self) -> float: ...
    @property
    def lowest_c(self) -> float: ...
    @property
    def drop_delta_c(self) -> float: ...
    @property
    def lowest_s(self) -> float: ...
    @property
    def recovered_s(self) -> float: ...

@final
class Behaviour:
    @property
    def setpoint_c(self) -> float: ...
    @property
    def channel(self) -> str: ...
    @property
    def reached_s(self) -> float | None: ...
    @property
    def overshoot_delta_c(self) -> float: ...
    @property
    def peak_s(self) -> float: ...
    @property
    def settled_s(self) -> float | None: ...
    @property
    def end_s(self) -> float: ...
    @property
    def within_delta_c(self) -> float: ...
    @property
    def steady_band_delta_c(self) -> tuple[float, float] | None: ...
    @property
    def droop_delta_c(self) -> Estimate | None: ...
    @property
    def swing_delta_c(self) -> float | None: ...
    @property
    def period_s(self) -> float | None: ...
    @property
    def doors(self) -> tuple[DoorEvent, ...]: ...
    @property
    def mean_duty_percent(self) -> float | None: ...
    @property
    def times_too_strong(self) -> Estimate | None: ...
    @property
    def part_less_air_delta_c(self) -> Estimate | None: ...
    def minutes_above(self, delta_c: float) -> float: ...

@final
class OvenWatch:
    def __new__(
        cls,
        c: _Belief | None = None,
        *,
        channel: Literal["air", "part_side"] = "air",
        lag_s: float | tuple[float, float] | None = None,
        correction: tuple[float, float] | None = None,
        start_c: float | None = None,
        longest_gap_s: float = 300.0,
    ) -> Self: ...
    def feed(self, time_s: ArrayLike, temperature_c: ArrayLike) -> None: ...
    @property
    def so_far(self) -> Estimate: ...
    @property
    def part_c(self) -> float: ...
    @property
    def seconds(self) -> float: ...
    @property
    def history(self) -> History: ...
    def left_min(self, target_c: float, at_c: float | None = None) -> Estimate: ...

_AntiWindup: TypeAlias = Literal["conditional", "back-calculation", "none"]

@final
class OvenModel:
    def __new__(cls, gain_c: float, tau_s: float, theta_s: float, ambient_c: float = 20.0) -> Self: ...
    @property
    def gain_c(self) -> Estimate: ...
    @property
    def tau_s(self) -> Estimate: ...
    @property
    def theta_s(self) -> Estimate: ...
    @property
    def ambient_c(self) -> float: ...
    @property
    def left_over_delta_c(self) -> float: ...
    def power_ratio(self, setpoint_c: float) -> float: ...

@final
class ControllerSettings:
    @property
    def rule(self) -> str: ...
    @property
    def source(self) -> str: ...
    @property
    def kc(self) -> float: ...
    @property
    def ti_s(self) -> float | None: ...
    @property
    def td_s(self) -> float | None: ...
    @property
    def proportional_band_delta_c(self) -> float: ...
    @property
    def anti_windup(self) -> _AntiWindup: ...
    @property
    def tried(self) -> dict[str, float]: ...
    @property
    def cautions(self) -> tuple[str, ...]: ...
    def course(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]: ...

def identify_oven(
    source: OvenLog | ArrayLike, temperature_c: ArrayLike | None = None, *, step: ArrayLike | None = None
) -> OvenModel: ...
def identify_two_point(time_28_s: float, time_63_s: float) -> tuple[float, float]: ...
def controller_settings(
    model: OvenModel,
    rule: str = "SIMC PI",
    *,
    setpoint_c: float = 200.0,
    sensor_lag_s: float = 0.0,
    anti_windup: _AntiWindup = "conditional",
) -> ControllerSettings: ...
def ultimate_point(model: OvenModel) -> tuple[float, float]: ...
def ultimate_point_of_lags(lags_s: ArrayLike, dead_time_s: float = 0.0, gain: float = 1.0) -> tuple[float, float]: ...
def settings_of_ultimate(
    ku: float, pu_s: float, rule: str = "Ziegler-Nichols ultimate PID"
) -> tuple[float, float | None, float | None]: ...
def half_rule(lags_s: ArrayLike, dead_time_s: float = 0.0, leads_s: ArrayLike | None = None) -> tuple[float, float]: ...
def loop_margins(
    model: OvenModel, kc: float, ti_s: float | None = None, td_s: float | None = None
) -> dict[str, float]: ...
def overshoot_percent(damping: float) -> float: ...
def on_off_swing(power_ratio: float, theta_s: float, tau_s: float, rise_delta_c: float) -> dict[str, float]: ...
def heat_up_time_s(power_ratio: float, theta_s: float, tau_s: float) -> float: ...
def step_metrics(time_s: ArrayLike, value: ArrayLike, start: float = 0.0, goal: float = 1.0) -> dict[str, float]: ...

# How even an oven is.
@final
class SurveyPlace:
    @property
    def name(self) -> str: ...
    @property
    def mean_c(self) -> float: ...
    @property
    def offset_delta_c(self) -> float: ...
    @property
    def low_c(self) -> float: ...
    @property
    def high_c(self) -> float: ...
    @property
    def stability_delta_c(self) -> float: ...
    @property
    def correction_delta_c(self) -> float: ...
    @property
    def u_delta_c(self) -> float: ...
    @property
    def readings(self) -> int: ...

@final
class PublishedLimit:
    @property
    def source(self) -> str: ...
    @property
    def item(self) -> str: ...
    @property
    def delta_c(self) -> float: ...
    @property
    def delta_f(self) -> float | None: ...
    @property
    def margin_delta_c(self) -> float: ...
    @property
    def origin(self) -> str: ...
    @property
    def note(self) -> str: ...

@final
class OvenNeeded:
    @property
    def low_c(self) -> float: ...
    @property
    def high_c(self) -> float: ...
    @property
    def allowed_delta_c(self) -> float: ...
    @property
    def found_delta_c(self) -> float: ...
    @property
    def share(self) -> float: ...
    @property
    def setting_change_delta_c(self) -> float: ...
    @property
    def places(self) -> list[str]: ...
    @property
    def places_after(self) -> list[str]: ...
    @property
    def assumptions(self) -> list[str]: ...

@final
class Survey:
    @property
    def setpoint_c(self) -> float: ...
    @property
    def steady_s(self) -> tuple[float, float]: ...
    @property
    def places(self) -> tuple[SurveyPlace, ...]: ...
    @property
    def mean_c(self) -> Estimate: ...
    @property
    def coldest(self) -> SurveyPlace: ...
    @property
    def hottest(self) -> SurveyPlace: ...
    @property
    def spread_of_means_delta_c(self) -> Estimate: ...
    @property
    def above_delta_c(self) -> float: ...
    @property
    def below_delta_c(self) -> float: ...
    @property
    def highest(self) -> tuple[str, float, float]: ...
    @property
    def lowest(self) -> tuple[str, float, float]: ...
    @property
    def highest_ever(self) -> tuple[str, float, float]: ...
    @property
    def spread_at_once_delta_c(self) -> float: ...
    @property
    def stability_delta_c(self) -> float: ...
    @property
    def control_offset_delta_c(self) -> float | None: ...
    @property
    def setting_change_delta_c(self) -> float: ...
    @property
    def best_places(self) -> list[str]: ...
    @property
    def limits(self) -> tuple[PublishedLimit, ...]: ...
    @property
    def sources(self) -> list[str]: ...
    @property
    def notes(self) -> tuple[str, ...]: ...
    def two_hour_equivalents(self, time_h: float = 2.0, *, c: _Belief | None = None) -> dict[str, Estimate]: ...
    def hardness(
        self,
        steel: str | Steel | TemperingCurve,
        time_h: float = 2.0,
        *,
        as_quenched_hrc: float | None = None,
        c: _Belief | None = None,
    ) -> dict[str, float]: ...
    def needed(
        self,
        steel: str | Steel | TemperingCurve,
        target_hrc: tuple[float, float],
        time_h: float = 2.0,
        *,
        as_quenched_hrc: float | None = None,
        c: _Belief | None = None,
    ) -> OvenNeeded: ...
    def to_frame(self) -> Any: ...

def survey(
    frame: Any,
    setpoint_c: float,
    corrections: Any = None,
    *,
    from_s: float | None = None,
    until_s: float | None = None,
    control: str | None = None,
    room_c: float | None = None,
) -> Survey: ...

# What is wrong with a sensor.
@final
class Fault:
    @property
    def kind(self) -> str: ...
    @property
    def channel(self) -> str | None: ...
    @property
    def rows(self) -> tuple[int, ...]: ...
    @property
    def seconds(self) -> tuple[float, float] | None: ...
    @property
    def size_delta_c(self) -> float | None: ...
    @property
    def why(self) -> str: ...

@final
class SensorExplanation:
    @property
    def kind(self) -> str: ...
    @property
    def wired(self) -> str: ...
    @property
    def set_as(self) -> str: ...
    @property
    def true_c(self) -> float: ...
    @property
    def off_delta_c(self) -> float: ...
    @property
    def why(self) -> str: ...

def explain_sensor(
    physical_mark_c: float, shown_c: float, *, terminals_c: float = 25.0, within_delta_c: float = 5.0
) -> tuple[SensorExplanation, ...]: ...
@overload
def wrong_type_temperature(
    shown_c: float,
    wired: _Couple,
    set_as: _Couple,
    terminals_c: float | None = None,
    *,
    out_of_range: _Policy | None = None,
) -> float: ...
@overload
def wrong_type_temperature(
    shown_c: ArrayLike,
    wired: _Couple,
    set_as: _Couple,
    terminals_c: ArrayLike | None = None,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...

# Sensors.
_Couple: TypeAlias = Literal["K", "J", "N", "T", "S"]

@overload
def temperature_to_emf(
    temperature_c: float,
    type: _Couple,
    reference_junction_c: float | None = None,
    *,
    out_of_range: _Policy | None = None,
) -> float: ...
@overload
def temperature_to_emf(
    temperature_c: ArrayLike,
    type: _Couple,
    reference_junction_c: ArrayLike | None = None,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def emf_to_temperature(
    mv: float, type: _Couple, reference_junction_c: float | None = None, *, out_of_range: _Policy | None = None
) -> float: ...
@overload
def emf_to_temperature(
    mv: ArrayLike,
    type: _Couple,
    reference_junction_c: ArrayLike | None = None,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def seebeck_coefficient(temperature_c: float, type: _Couple, *, out_of_range: _Policy | None = None) -> float: ...
@overload
def seebeck_coefficient(
    temperature_c: ArrayLike,
    type: _Couple,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def thermocouple_tolerance(
    type: str,
    class_: int | str,
    temperature_c: float,
    *,
    standard: Literal["iec-60584-1", "astm-e230"] = "iec-60584-1",
    out_of_range: _Policy | None = None,
) -> float: ...
@overload
def thermocouple_tolerance(
    type: str,
    class_: int | str,
    temperature_c: ArrayLike,
    *,
    standard: Literal["iec-60584-1", "astm-e230"] = "iec-60584-1",
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def pt100_resistance(
    temperature_c: float, nominal_ohm: float | None = None, *, out_of_range: _Policy | None = None
) -> float: ...
@overload
def pt100_resistance(
    temperature_c: ArrayLike,
    nominal_ohm: ArrayLike | None = None,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def pt100_temperature(
    ohm: float, nominal_ohm: float | None = None, *, out_of_range: _Policy | None = None
) -> float: ...
@overload
def pt100_temperature(
    ohm: ArrayLike,
    nominal_ohm: ArrayLike | None = None,
    *,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def pt100_tolerance(
    class_: Literal["AA", "A", "B", "C"],
    temperature_c: float,
    *,
    construction: Literal["wire-wound", "film"] = "wire-wound",
    out_of_range: _Policy | None = None,
) -> float: ...
@overload
def pt100_tolerance(
    class_: Literal["AA", "A", "B", "C"],
    temperature_c: ArrayLike,
    *,
    construction: Literal["wire-wound", "film"] = "wire-wound",
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
@overload
def sensor_correction(
    reading_c: float,
    shown_c: float | Sequence[float] | NDArray[np.float64],
    reference_c: float | Sequence[float] | NDArray[np.float64],
    *,
    within_delta_c: float = 0.0,
    out_of_range: _Policy | None = None,
) -> float: ...
@overload
def sensor_correction(
    reading_c: ArrayLike,
    shown_c: float | Sequence[float] | NDArray[np.float64],
    reference_c: float | Sequence[float] | NDArray[np.float64],
    *,
    within_delta_c: float = 0.0,
    out_of_range: _Policy | None = None,
    out: NDArray[np.float64] | None = None,
    where: ArrayLike | None = None,
) -> Any: ...
def sensor_correction_estimate(
    reading_c: float,
    shown_c: float | Sequence[float] | NDArray[np.float64],
    reference_c: float | Sequence[float] | NDArray[np.float64],
    u_delta_c: float | Sequence[float] | NDArray[np.float64],
    *,
    within_delta_c: float = 0.0,
) -> Estimate: ...

# --- plans

@final
class Schedule:
    @property
    def temperature_c(self) -> float: ...
    @property
    def time_h(self) -> float: ...
    @property
    def cycles(self) -> int: ...
    @property
    def hrc(self) -> Estimate: ...
    @property
    def temperature_estimate(self) -> Estimate | None: ...
    @property
    def p_inside(self) -> float: ...
    @property
    def p_too_soft(self) -> float: ...
    @property
    def window_c(self) -> tuple[float, float]: ...
    @property
    def sure_window_c(self) -> tuple[float, float] | None: ...
    @property
    def side(self) -> Literal["falling", "rising", "over-ageing"]: ...
    @property
    def cautions(self) -> list[str]: ...

@final
class Plan:
    @property
    def steel(self) -> str | Steel | TemperingCurve: ...
    @property
    def name(self) -> str: ...
    @property
    def target_hrc(self) -> tuple[float, float]: ...
    @property
    def inputs(self) -> dict[str, str]: ...
    @property
    def schedules(self) -> list[Schedule]: ...
    @property
    def best(self) -> Schedule | None: ...
    @property
    def first_step(self) -> Schedule | None: ...
    @property
    def leave(self) -> str | None: ...
    @property
    def equivalents(self) -> list[dict[str, Any]]: ...
    @property
    def sensitivity(self) -> list[dict[str, Any]]: ...
    @property
    def hazards(self) -> list[dict[str, Any]]: ...
    @property
    def cautions(self) -> list[str]: ...
    @property
    def assumptions(self) -> list[str]: ...
    def to_frame(self) -> pd.DataFrame: ...
    def sheet(self, path: str | os.PathLike[str], *, title: str | None = None) -> Path: ...

def plan(
    steel: str | Steel | TemperingCurve | CompositionSteel,
    target_hrc: tuple[float, float] | float,
    *,
    as_quenched_hrc: float | Estimate | None = None,
    oven_limit_c: float | None = None,
    thickness_mm: float | None = None,
    surroundings: Literal["fan air", "still air", "sand", "oil", "salt"] = "fan air",
    cycles: int = 1,
    time_h: float = 2.0,
    c: _Belief | None = None,
    u_curve: float | None = None,
    u_batch: float | None = None,
    position_delta_c: float = 5.0,
    sensor_delta_c: float = 1.5,
    controller_delta_c: float = 1.0,
    time_spread_min: float = 3.0,
) -> Plan: ...
def retemper(
    steel: str | Steel | TemperingCurve | CompositionSteel,
    measured_hrc: float | Estimate | Readings,
    target_hrc: tuple[float, float] | float,
    *,
    previous: Sequence[tuple[float, float] | Schedule] | Schedule | Plan | History | None = None,
    time_h: float = 2.0,
    u_measured: float = 0.4,
    oven_limit_c: float | None = None,
    c: _Belief | None = None,
    position_delta_c: float = 5.0,
    sensor_delta_c: float = 1.5,
    controller_delta_c: float = 1.0,
    time_spread_min: float = 3.0,
) -> Plan: ...

# --- several steels in one load

@final
class CommonWindow:
    @property
    def low(self) -> float | None: ...
    @property
    def high(self) -> float | None: ...
    @property
    def sure_window_c(self) -> tuple[float, float] | None: ...
    @property
    def temperature_c(self) -> float: ...
    @property
    def time_h(self) -> float: ...
    @property
    def cycles(self) -> int: ...
    @property
    def parts(self) -> list[dict[str, Any]]: ...
    @property
    def advice(self) -> list[str]: ...
    def __bool__(self) -> bool: ...

def common_window(
    load: Sequence[
        tuple[str | Steel | TemperingCurve, tuple[float, float] | float]
        | tuple[str | Steel | TemperingCurve, tuple[float, float] | float, float | None]
    ],
    *,
    time_h: float = 2.0,
    cycles: int = 1,
    c: _Belief | None = None,
    position_delta_c: float = 5.0,
    sensor_delta_c: float = 1.5,
    controller_delta_c: float = 1.0,
    time_spread_min: float = 3.0,
) -> CommonWindow: ...

@final
class Cause:
    @property
    def name(self) -> str: ...
    @property
    def effect(self) -> Estimate: ...
    @property
    def left_hrc(self) -> float: ...
    @property
    def fit(self) -> Literal["found", "explains it", "explains part of it", "does not explain it"]: ...
    @property
    def measured(self) -> bool: ...
    @property
    def reading_only(self) -> bool: ...
    @property
    def why(self) -> str: ...
    @property
    def check(self) -> str: ...

@final
class Explanation:
    @property
    def difference(self) -> Estimate: ...
    @property
    def planned_hrc(self) -> float: ...
    @property
    def causes(self) -> list[Cause]: ...
    @property
    def summary(self) -> str: ...
    @property
    def first_check(self) -> str: ...
    @property
    def remedy(self) -> str: ...
    @property
    def assumptions(self) -> list[str]: ...
    def to_frame(self) -> pd.DataFrame: ...

def explain_soft(
    reading: float | Estimate | Readings,
    plan: Plan,
    log: History | OvenLog | Soak | None = None,
    *,
    held: tuple[float, float] | None = None,
    as_quenched_hrc: float | Estimate | None = None,
    place_delta_c: tuple[float, float] | None = None,
    u_measured: float = 0.4,
    c: _Belief | None = None,
    u_curve: float | None = None,
    u_batch: float | None = None,
) -> Explanation: ...

@final
class Monitor:
    @property
    def verdict(self) -> Literal["drifting", "steady", "cannot say yet"]: ...
    @property
    def why(self) -> str: ...
    @property
    def slope(self) -> Estimate | None: ...
    @property
    def passes_limit(self) -> dict[str, Any] | None: ...
    @property
    def individuals(self) -> dict[str, Any]: ...
    @property
    def ewma(self) -> dict[str, Any]: ...
    @property
    def run_lengths(self) -> list[dict[str, Any]]: ...
    @property
    def cautions(self) -> list[str]: ...
    def to_frame(self) -> pd.DataFrame: ...
    def __len__(self) -> int: ...

def process_capability(
    mean: float, standard_deviation: float, *, lower: float | None = None, upper: float | None = None
) -> float: ...
def monitor(
    frame: pd.DataFrame | Mapping[str, Any],
    *,
    limit: float | None = None,
    centre: float | None = None,
    weight: float = 0.2,
    width: float = 3.0,
    u_reference: float = 0.0,
) -> Monitor: ...
