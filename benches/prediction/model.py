"""The model of hardness after a temper, as columns of a linear model: docs/prediction.md has the equations.

`columns` gives prior mean, population columns, a steel's own columns and reading noise for given hyper-parameters.
Weights of all columns are standard normal; the scale of a column carries what is believed of its size.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from data import ELEMENTS, UNSEEN, Floats, Tempers, load
from scipy.linalg import solve_triangular

# Hyper-parameter: prior mean and standard deviation; ln_ names are natural logarithms. Judgement unless said otherwise.
PRIORS: dict[str, tuple[float, float]] = {
    # C = c0 - c1 %C after Hollomon and Jaffe (1945), hours
    "c0": (21.3, 0.7),
    "c1": (5.8, 1.0),
    # time constant of a coupon's heating at 500 °C by laboratory, s, and its power of the absolute temperature
    "ln_tau_grange": (np.log(4.0), 0.7),
    "ln_tau_hollomon": (np.log(4.0), 0.7),
    "ln_tau_penha": (np.log(10.0), 1.0),
    "tau_power": (2.0, 1.0),
    # carbon that austenite dissolves, and how chromium lowers it
    "ln_c_saturation": (np.log(0.9), 0.06),
    "c_saturation_per_cr": (0.2, 0.04),
    # carbon and one-hour-equivalent temperature: length and four scales
    "ln_base_length": (np.log(150.0), 0.3),
    "ln_base": (np.log(4.0), 0.5),
    "ln_base_s": (np.log(4.0), 0.5),
    "ln_base_s2": (np.log(1.5), 0.5),
    "ln_base_s3": (np.log(0.5), 0.5),
    # elements
    "ln_increment": (np.log(0.8), 0.25),
    "ln_increment_spread": (np.log(0.25), 0.3),
    "ln_mn_saturation": (np.log(1.2), 0.3),
    "ln_cr_saturation": (np.log(2.0), 0.4),
    "ln_mo_saturation": (np.log(0.25), 0.4),
    "ln_element_length": (np.log(180.0), 0.3),
    "ln_element": (np.log(0.3), 0.5),
    "ln_element_carbon": (np.log(0.25), 0.6),
    # what steels of like composition share, and no smooth effect of their elements tells
    "ln_near": (np.log(0.6), 0.5),
    # a steel's own deviation: level, shape and its length, slope in time and its change, as-quenched, carbon
    "ln_own_level": (np.log(0.8), 0.5),
    "ln_own_shape": (np.log(0.8), 0.5),
    "ln_own_length": (np.log(120.0), 0.4),
    "ln_own_time": (np.log(0.3), 0.6),
    "ln_own_time_slope": (np.log(0.3), 0.6),
    "ln_own_quenched": (np.log(1.0), 0.4),
    # standard error of the carbon analysis, %C: the printed hundredth and the laboratories' agreement
    "ln_own_carbon": (np.log(0.01), 0.5),
    # a laboratory's surface
    "ln_lab_level": (np.log(0.7), 0.5),
    "ln_lab_shape": (np.log(0.7), 0.5),
    "ln_lab_length": (np.log(150.0), 0.3),
    "ln_lab_time": (np.log(0.4), 0.6),
    "ln_lab_time2": (np.log(0.3), 0.6),
    "ln_lab_short": (np.log(1.0), 0.6),
    "ln_lab_penha": (0.3, 0.4),
    # time beyond the parameter; test programmes; the break in the ten-hold programme
    "ln_time": (np.log(0.4), 0.6),
    "ln_programme": (np.log(0.5), 0.6),
    "ln_break": (np.log(0.5), 0.6),
    # one reading by laboratory, HRC; larger at short holds and under 20 HRC; Penha's steels
    "ln_noise_grange": (np.log(0.6), 0.3),
    "ln_noise_hollomon": (np.log(1.0), 0.3),
    "ln_noise_penha": (np.log(1.6), 0.3),
    "ln_noise_short": (np.log(1.5), 0.3),
    "ln_noise_low": (np.log(1.7), 0.3),
    "ln_own_penha": (0.3, 0.4),
}
NAMES = list(PRIORS)
PRIOR_MEAN = np.array([mean for mean, _ in PRIORS.values()])
PRIOR_SD = np.array([sd for _, sd in PRIORS.values()])
TIMING = NAMES[:8]  # act through one-hour equivalent and dissolved carbon only
PENHA = 2

# Steels count as alike by distance in these units (the root of the carbon for C) and share deviations over this length.
DISTANCE_SCALE = {"C": 0.08, "Mn": 0.5, "Si": 0.5, "Ni": 1.5, "Cr": 0.5, "Mo": 0.15, "V": 0.1, "Al": 0.6}
NEAR_LENGTH = 0.75
NEAR_NUGGET = 0.01  # of the shared variance, a heat's own
# A shared deviation is a level, a tilt t = (x - centre) / width and a bend t² - 1, of these relative sizes.
NEAR_CENTRE_C, NEAR_WIDTH_C = 350.0, 250.0
NEAR_SIZES = (1.0, 0.7, 0.5)

# Sine functions on the one-hour-equivalent temperature, -160 to 960 °C: so many for the population and for a steel.
CENTRE_C, HALF_WIDTH_C = 400.0, 560.0
POPULATION_SINES, OWN_SINES = 10, 14

# Hardness increments of the elements, HV at an amount of the element, over the one-hour-equivalent temperature. From
# memory of published charts of one-hour tempers: prior means only, the fit corrects them.
INCREMENT_C = np.array([0, 100, 204, 260, 316, 371, 427, 482, 538, 593, 649, 704, 900.0])
INCREMENTS: dict[str, tuple[float, list[float]]] = {
    "Mn": (1.0, [0, 2, 10, 18, 28, 43, 43, 43, 43, 43, 43, 40, 30]),
    "Si": (1.0, [0, 8, 20, 45, 67, 57, 45, 38, 35, 35, 35, 33, 30]),
    "Ni": (1.0, [4, 6, 8, 8, 8, 8, 8, 8, 8, 8, 8, 8, 8]),
    "Cr": (1.0, [0, 2, 10, 25, 50, 65, 75, 72, 62, 52, 45, 38, 20]),
    "Mo": (0.25, [0, 0, 2, 4, 8, 15, 25, 33, 42, 52, 50, 35, 15]),
    "V": (0.15, [0, 0, 2, 4, 8, 15, 25, 38, 55, 75, 75, 60, 30]),
    "P": (0.03, [7] * 13),
    "Al": (1.0, [12] * 13),
}
# By how much an increment may stray from its chart, HV at the same amount (judgement).
STRAY = {"Mn": 40.0, "Si": 45.0, "Ni": 8.0, "Cr": 60.0, "Mo": 45.0, "V": 60.0, "P": 7.0, "Al": 25.0}
SATURATING = ("Mn", "Cr", "Mo")
WITH_CARBON = ("Cr", "Mn", "Mo")

# Fall from the as-quenched hardness of a plain carbon steel, HRC (judgement; the fit corrects it).
DROP_C = np.array([-200, 50, 204, 316, 427, 538, 649, 760, 900.0])
DROP_HRC = np.array([0, 0, 4.5, 11, 19, 28, 37.5, 47, 59.0])
# ASTM E140 table 1, HRC and HV, carried below 20 HRC by its own trend for the shape only; and its slope dHV/dHRC.
E140_HRC = np.array([-30, -10, 0, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 68, 75.0])
E140_HV = np.array([90, 134, 160, 192, 214, 238, 266, 302, 345, 392, 446, 513, 595, 697, 832, 940, 1230.0])
SLOPE_HRC = np.array([17.5, 22.5, 27.5, 32.5, 37.5, 42.5, 47.5, 52.5, 57.5, 62.5, 67.5])
SLOPE_HV = np.array([5.2, 5.6, 7.2, 8.6, 9.4, 10.8, 13.4, 16.4, 20.4, 27.0, 34.0])

# As-quenched hardness of martensite: 67.5 - 47 exp(-3.84 %C), HRC (a fit by eye to tables of fully hardened steel).
QUENCHED_PLATEAU, QUENCHED_SPAN, QUENCHED_RATE = 67.5, 47.0, 3.84
FADE_C, FADE_WIDTH_C = 300.0, 80.0
SATURATION_WIDTH = 0.06
# Only dissolved vanadium counts: log10 [V][C] = 6.72 - 9500 / T in austenite at 860 °C (solubility, from memory).
VC_PRODUCT = 10 ** (6.72 - 9500 / 1133.15)

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


def softmin(a: Floats, b: Floats, width: float = SATURATION_WIDTH) -> Floats:
    """The lesser of two, rounded off where they meet."""
    return np.minimum(a, b) - width * np.log1p(np.exp(-np.abs(a - b) / width))


def spectrum(sines: int, length: float) -> Floats:
    """Scales of the sine functions that make a squared-exponential covariance of unit variance."""
    frequency = np.arange(1, sines + 1) * np.pi / (2 * HALF_WIDTH_C)
    return np.sqrt(np.sqrt(2 * np.pi) * length) * np.exp(-0.25 * (length * frequency) ** 2)


def spectrum_slope(sines: int, length: float) -> Floats:
    """Derivative of the logarithm of these scales by that of the length."""
    frequency = np.arange(1, sines + 1) * np.pi / (2 * HALF_WIDTH_C)
    return 0.5 - 0.5 * (length * frequency) ** 2


def sines(x: Floats) -> Floats:
    phase = np.clip(x, CENTRE_C - HALF_WIDTH_C, CENTRE_C + HALF_WIDTH_C) - CENTRE_C + HALF_WIDTH_C
    order = np.arange(1, OWN_SINES + 1)
    return np.sin(order * np.pi * phase[:, None] / (2 * HALF_WIDTH_C)) / np.sqrt(HALF_WIDTH_C)


def element(d: Tempers, name: str) -> Floats:
    return d.composition[:, ELEMENTS.index(name)]


def dissolved_carbon(d: Tempers, p: dict[str, float]) -> Floats:
    return softmin(element(d, "C"), np.exp(p["ln_c_saturation"]) - p["c_saturation_per_cr"] * element(d, "Cr"))


def one_hour_equivalent(d: Tempers, p: dict[str, float]) -> tuple[Floats, Floats]:
    """Temperature in °C that does the same in an hour, a coupon's heating allowed for; and log10 of the hours."""
    constant = p["c0"] - p["c1"] * dissolved_carbon(d, p)
    kelvin = d.temperature_c + 273.15
    # A laboratory never seen states the metal's own hold: no lag.
    log_tau = np.array([p["ln_tau_grange"], p["ln_tau_hollomon"], p["ln_tau_penha"], -9.0])[d.laboratory]
    tau = np.exp(log_tau) * (kelvin / 773.0) ** -p["tau_power"]
    log_hours = np.log10(d.time_s / 3600.0)
    share = 0.5 * (_NODES + 1)
    moment = d.time_s[:, None] * share**2  # nodes denser at the start
    metal = kelvin[:, None] - (kelvin[:, None] - 293.15) * np.exp(-moment / tau[:, None])
    rate = 10.0 ** (-(constant + log_hours)[:, None] * (kelvin[:, None] / metal - 1.0))
    held = np.where(d.laboratory == UNSEEN, 1.0, (rate * share * _WEIGHTS).sum(1))
    x = kelvin * (constant + log_hours + np.log10(np.maximum(held, 1e-3))) / constant - 273.15
    return x, log_hours


@lru_cache
def measured() -> tuple[Floats, Floats]:
    """Places of the measured heats, and the lower triangle of what they share. Of them only compositions count here."""
    places = place(load()[1].composition)
    shared = likeness(places, places) + NEAR_NUGGET * np.eye(len(places))
    return places, np.linalg.cholesky(shared)


def place(composition: Floats) -> Floats:
    """Compositions in the units in which steels behave alike."""
    percent = composition[:, [ELEMENTS.index(name) for name in DISTANCE_SCALE]]
    percent[:, 0] = np.sqrt(percent[:, 0])
    return percent / np.array(list(DISTANCE_SCALE.values()))


def likeness(a: Floats, b: Floats) -> Floats:
    return np.exp(-0.5 * ((a[:, None] - b) ** 2).sum(-1) / NEAR_LENGTH**2)


def neighbours(d: Tempers) -> tuple[Floats, Floats]:
    """By row: how much of each shared normal variable a composition has, and what no measured heat shares with it."""
    places, triangle = measured()
    alloys, rows = np.unique(d.composition, axis=0, return_inverse=True)
    has = solve_triangular(triangle, likeness(places, place(alloys)), lower=True).T
    left = np.sqrt(np.maximum(1.0 - (has**2).sum(1), 0.0))
    return has[rows.ravel()], left[rows.ravel()]


def near_shapes(x: Floats) -> list[Floats]:
    tilt = (x - NEAR_CENTRE_C) / NEAR_WIDTH_C
    return [size * shape for size, shape in zip(NEAR_SIZES, (np.ones_like(x), tilt, tilt**2 - 1), strict=True)]


def amounts(d: Tempers, p: dict[str, float]) -> dict[str, Floats]:
    """How much of each element's increment a composition has."""
    made = {}
    for name, (reference, _) in INCREMENTS.items():
        percent = element(d, name)
        if name in SATURATING:
            saturation = np.exp(p[f"ln_{name.lower()}_saturation"])
            made[name] = np.expm1(-percent / saturation) / np.expm1(-reference / saturation)
        elif name == "V":
            soluble = VC_PRODUCT / np.maximum(element(d, "C"), 0.05)
            made[name] = softmin(percent, soluble, 0.005) / reference * (percent > 0)
        else:
            made[name] = percent / reference
    return made


@dataclass
class Columns:
    """Prior mean, population columns, a steel's own columns, noise variance, and which hyper-parameter scales what."""

    mean: Floats
    population: Floats
    own: Floats
    noise: Floats
    shared: int  # so many of the population columns the predictor keeps; the rest are laboratories and programmes
    population_scale: dict[str, list[slice]]
    own_scale: dict[str, slice]
    population_length: dict[str, list[tuple[slice, Floats]]]  # with the derivative of ln scale by ln length
    own_length: dict[str, list[tuple[slice, Floats]]]


@dataclass
class _Stack:
    """Columns side by side, each block multiplied by its hyper-parameter."""

    p: dict[str, float]
    blocks: list[Floats] = field(default_factory=list)
    scaled_by: dict[str, list[slice]] = field(default_factory=dict)
    lengths: dict[str, list[tuple[slice, Floats]]] = field(default_factory=dict)
    width: int = 0

    def add(self, block: Floats, scale: str | None = None, length: str | None = None, sines_from: int = 0) -> None:
        """Columns under a scale; from column `sines_from` on they are the sines of a length, first to last."""
        place = slice(self.width, self.width + block.shape[1])
        if scale is not None:
            block = block * np.exp(self.p[scale])
            self.scaled_by.setdefault(scale, []).append(place)
        if length is not None:
            part = slice(place.start + sines_from, place.stop)
            slope = spectrum_slope(part.stop - part.start, np.exp(self.p[length]))
            self.lengths.setdefault(length, []).append((part, slope))
        self.blocks.append(block)
        self.width = place.stop


def timing(d: Tempers, theta: Floats) -> tuple[Floats, Floats, Floats]:
    """One-hour equivalent, log10 of the hours and dissolved carbon: all that some hyper-parameters act through."""
    key = tuple(theta[: len(TIMING)])
    if d.cache is None or d.cache[0] != key:
        p = dict(zip(NAMES, theta, strict=True))
        d.cache = (key, (*one_hour_equivalent(d, p), dissolved_carbon(d, p)))
    return d.cache[1]


def columns(d: Tempers, theta: Floats) -> Columns:
    return columns_at(d, theta, *timing(d, theta))


def columns_at(d: Tempers, theta: Floats, x: Floats, log_hours: Floats, carbon: Floats) -> Columns:
    p = dict(zip(NAMES, theta, strict=True))
    s = (np.sqrt(carbon) - 0.70) / 0.15
    basis = sines(x)
    ten = basis[:, :POPULATION_SINES]
    lt = log_hours[:, None]
    one = np.ones((len(x), 1))

    quenched = QUENCHED_PLATEAU - QUENCHED_SPAN * np.exp(-QUENCHED_RATE * carbon)
    known = np.isfinite(d.as_quenched)
    deviation = np.where(known, d.as_quenched - quenched, 0.0)
    fade = 1 / (1 + np.exp((x - FADE_C) / FADE_WIDTH_C))
    amount = amounts(d, p)
    increment = {
        name: np.interp(x, INCREMENT_C, chart) * amount[name] * np.exp(p["ln_increment"])
        for name, (_, chart) in INCREMENTS.items()
    }
    # Increments add in HV, where charts have them.
    base_hv = np.interp(quenched - np.interp(x, DROP_C, DROP_HRC), E140_HRC, E140_HV)
    hrc = np.interp(base_hv + sum(increment.values()), E140_HV, E140_HRC)
    per_hv = 1.0 / np.interp(hrc, SLOPE_HRC, SLOPE_HV)

    stack = _Stack(p)
    base = ten * spectrum(POPULATION_SINES, np.exp(p["ln_base_length"]))
    for name, power in (("ln_base", one[:, 0]), ("ln_base_s", s), ("ln_base_s2", s * s - 1), ("ln_base_s3", s**3)):
        stack.add(base * power[:, None], name, "ln_base_length")
    stack.add(np.stack([np.full_like(s, 4.0), 4.0 * s], 1))
    stack.add(
        np.stack([deviation * fade * 0.3, deviation * (1 - fade) * 0.2, deviation * fade * (1 - fade)], 1),
    )
    shape = (ten * spectrum(POPULATION_SINES, np.exp(p["ln_element_length"])))[:, :7]
    for name in INCREMENTS:
        stray = (amount[name] * per_hv * STRAY[name])[:, None]
        stack.add((increment[name] * per_hv)[:, None], "ln_increment_spread")
        if name != "P":
            stack.add(shape * stray, "ln_element", "ln_element_length")
        if name in WITH_CARBON:
            stack.add(shape[:, :6] * stray * s[:, None], "ln_element_carbon", "ln_element_length")
    near, alone = neighbours(d)
    shapes = near_shapes(x)
    stack.add(np.concatenate([near * shape[:, None] for shape in shapes], 1), "ln_near")
    lab_shape = ten * spectrum(POPULATION_SINES, np.exp(p["ln_lab_length"]))
    stack.add(lab_shape[:, :8] * lt, "ln_time", "ln_lab_length")
    shared = stack.width

    for programme in range(3):
        here = (d.programme == programme)[:, None]
        stack.add(here * np.concatenate([one, lab_shape[:, :7]], 1), "ln_programme", "ln_lab_length", 1)
        stack.add(here * lab_shape[:, :5] * lt * 0.7, "ln_programme", "ln_lab_length")
    # All five steels of the ten-hold programme step between one and two hours, as if the furnace had changed.
    later = (d.programme == 0) & (d.time_s > 5000)
    stack.add(np.concatenate([one, lab_shape[:, :5]], 1) * later[:, None], "ln_break", "ln_lab_length", 1)
    short = np.exp(-d.time_s / 60.0)[:, None]
    warm = ((d.temperature_c - 350.0) / 200.0)[:, None]
    for laboratory in range(UNSEEN):
        here = (d.laboratory == laboratory)[:, None] * (np.exp(p["ln_lab_penha"]) if laboratory == PENHA else 1.0)
        start = stack.width
        stack.add(here * one, "ln_lab_level")
        stack.add(here * lab_shape[:, :8], "ln_lab_shape", "ln_lab_length")
        stack.add(here * lab_shape[:, :6] * lt, "ln_lab_time", "ln_lab_length")
        stack.add(here * lab_shape[:, :5] * (lt * lt - 1), "ln_lab_time2", "ln_lab_length")
        stack.add(here * short * np.concatenate([one, warm, warm * warm - 1], 1), "ln_lab_short")
        if laboratory == PENHA:
            stack.scaled_by["ln_lab_penha"] = [slice(start, stack.width)]

    own = _Stack(p)
    own.add(one, "ln_own_level")
    own.add(basis * spectrum(OWN_SINES, np.exp(p["ln_own_length"])), "ln_own_shape", "ln_own_length")
    own.add(lt, "ln_own_time")
    own.add(lt * (x[:, None] - 400) / 200, "ln_own_time_slope")
    own.add((fade * ~known)[:, None], "ln_own_quenched")
    own.add((QUENCHED_SPAN * QUENCHED_RATE * np.exp(-QUENCHED_RATE * carbon))[:, None], "ln_own_carbon")
    own.add(alone[:, None] * np.stack(shapes, 1), "ln_near")
    own_columns = (
        np.concatenate(own.blocks, 1) * np.where(d.laboratory == PENHA, np.exp(p["ln_own_penha"]), 1.0)[:, None]
    )
    own_scale = {name: places[0] for name, places in own.scaled_by.items()}
    if (d.laboratory == UNSEEN).all():
        # A laboratory never seen: its surface is as unknown as the steel's own deviation.
        unseen = _Stack(p)
        unseen.add(one, "ln_lab_level")
        unseen.add(lab_shape[:, :8], "ln_lab_shape", "ln_lab_length")
        unseen.add(lab_shape[:, :6] * lt, "ln_lab_time", "ln_lab_length")
        unseen.add(lab_shape[:, :5] * (lt * lt - 1), "ln_lab_time2", "ln_lab_length")
        own_columns = np.concatenate([own_columns, *unseen.blocks], 1)
    return Columns(
        mean=hrc + deviation * fade,
        population=np.concatenate(stack.blocks, 1),
        own=own_columns * d.steel_scale,
        noise=noise(d, p) / d.row_weight,
        shared=shared,
        population_scale=stack.scaled_by,
        own_scale=own_scale,
        population_length=stack.lengths,
        own_length=own.lengths,
    )


def noise(d: Tempers, p: dict[str, float]) -> Floats:
    """Variance of one reading; of an unseen laboratory between Grange's and Hollomon's."""
    grange, hollomon = p["ln_noise_grange"], p["ln_noise_hollomon"]
    sd = np.exp(np.array([grange, hollomon, p["ln_noise_penha"], 0.5 * (grange + hollomon)]))[d.laboratory]
    short = np.exp(-d.time_s / 60.0)
    low = 1 / (1 + np.exp(d.hrc - 20.0))
    return sd**2 * (1 + (np.exp(2 * p["ln_noise_short"]) - 1) * short) * (1 + (np.exp(2 * p["ln_noise_low"]) - 1) * low)
