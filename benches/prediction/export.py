"""Writes the coefficients: the fit's own columns are scaled for N(0, 1) weights, the predictor's are bare."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import model as m
import numpy as np
from data import ELEMENTS, Floats, Heats

PROVENANCE = {
    "id": "tempered_fit_2026",
    "source": "fitted to the measured tempers of 31 steels: R. A. Grange and R. W. Baughman (1956), J. H. Hollomon and "
    "L. D. Jaffe (1945), R. N. Penha (2010), as collected in the open data set Tempering data for carbon and low alloy "
    "steels (CC BY 4.0)",
    "at": "temper_measured_1945_2010.csv, rows without the two doubtful ones",
    "fitted_by": "benches/prediction/fit.py: normal weights, hyper-parameters by evidence times prior, interval "
    "factors from steels left out",
    "units": "degC, h, weight per cent, HRC, HV",
    "doubts": [
        "prior sizes of the element increments are from memory; the fit corrects them where steels were measured",
        "limits under [refuse] and all widening are judgement, without a source",
        "no steel with secondary hardening was measured",
    ],
}

# All below is judgement, without a source: where a composition is refused, and how an interval widens beyond the data.
REFUSE: dict[str, Any] = {
    "stainless_cr": 10.5,
    "high_speed_mo_eq": 1.0,
    "min_c": 0.2,
    "max": {
        "C": 1.2, "Mn": 2.2, "Si": 2.2, "Ni": 4.5, "Cr": 2.0, "Mo": 0.6, "V": 0.3, "Al": 1.5, "Cu": 0.5, "P": 0.08,
        "S": 0.12, "W": 0.7, "Co": 0.5, "Nb": 0.1, "Ti": 0.1, "B": 0.006, "N": 0.03,
    },
}  # fmt: skip
RANGE = {"temperature_c": [100.0, 705.0], "time_h": [10 / 60, 32.0]}
WIDEN = {"Mn": 20.0, "Si": 20.0, "Ni": 8.0, "Cr": 40.0, "Mo": 100.0, "V": 250.0, "Al": 20.0, "Cu": 30.0}
WIDEN_UNMEASURED = {"W": 40.0, "Co": 30.0, "Nb": 400.0, "Ti": 300.0}
WIDEN_DISTANCE = {"free": 2.0, "rate": 0.1}


def column_scales(p: dict[str, float]) -> tuple[Floats, Floats]:
    """What a weight of a scaled column is multiplied by to become one of a bare column: population's, a steel's own."""

    def sines(length: str, count: int, *scales: str) -> Floats:
        size = np.exp(sum(p[name] for name in scales))
        return m.spectrum(count, np.exp(p[length])) / np.sqrt(m.HALF_WIDTH_C) * size

    def plain(name: str) -> list[float]:
        return [np.exp(p[name])]

    bases = ("ln_base", "ln_base_s", "ln_base_s2", "ln_base_s3")
    population = [sines("ln_base_length", m.POPULATION_SINES, name) for name in bases]
    population += [[4.0, 4.0], [0.3, 0.2, 1.0]]
    for name in m.INCREMENTS:
        population.append(plain("ln_increment_spread"))
        if name != "P":
            population.append(sines("ln_element_length", 7, "ln_element") * m.STRAY[name])
        if name in m.WITH_CARBON:
            population.append(sines("ln_element_length", 6, "ln_element_carbon") * m.STRAY[name])
    heats = len(m.measured()[0])
    population += [np.full(heats, size * np.exp(p["ln_near"])) for size in m.NEAR_SIZES]
    population.append(sines("ln_lab_length", 8, "ln_time"))
    own = [
        plain("ln_own_level"),
        sines("ln_own_length", m.OWN_SINES, "ln_own_shape"),
        *map(plain, ("ln_own_time", "ln_own_time_slope", "ln_own_quenched", "ln_lab_level")),
        sines("ln_lab_length", 8, "ln_lab_shape"),
        sines("ln_lab_length", 6, "ln_lab_time"),
        sines("ln_lab_length", 5, "ln_lab_time2"),
    ]
    return np.concatenate(population), np.concatenate(own)


def write(
    path: Path, theta: Floats, weights: Floats, covariance: Floats, heats: Heats, factors: dict[str, float]
) -> None:
    p = dict(zip(m.NAMES, theta, strict=True))
    scale, own = column_scales(p)
    assert len(scale) == len(weights)
    factor = np.linalg.cholesky(covariance) * scale[:, None]
    x = heats.composition
    tree: dict[str, Any] = {
        "provenance": PROVENANCE,
        "physics": {
            "c0": p["c0"],
            "c1": p["c1"],
            "c_saturation": np.exp(p["ln_c_saturation"]),
            "c_saturation_per_cr": p["c_saturation_per_cr"],
            "c_saturation_width": m.SATURATION_WIDTH,
            "mn_saturation": np.exp(p["ln_mn_saturation"]),
            "cr_saturation": np.exp(p["ln_cr_saturation"]),
            "mo_saturation": np.exp(p["ln_mo_saturation"]),
            "vc_product": m.VC_PRODUCT,
            "increment_scale": np.exp(p["ln_increment"]),
            "aq_plateau": m.QUENCHED_PLATEAU,
            "aq_span": m.QUENCHED_SPAN,
            "aq_rate": m.QUENCHED_RATE,
            "fade_centre": m.FADE_C,
            "fade_width": m.FADE_WIDTH_C,
            "x_lo": m.CENTRE_C - m.HALF_WIDTH_C,
            "x_hi": m.CENTRE_C + m.HALF_WIDTH_C,
        },
        "tables": {
            "drop_x": m.DROP_C,
            "drop": m.DROP_HRC,
            "increment_x": m.INCREMENT_C,
            "hv_hrc": m.E140_HRC,
            "hv": m.E140_HV,
            "slope_hrc": m.SLOPE_HRC,
            "slope_hv": m.SLOPE_HV,
            "increment_hv": {name: np.array(chart, float) for name, (_, chart) in m.INCREMENTS.items()},
        },
        "population": {
            "order": "base F1-10, s F1-10, (s^2-1) F1-10, s^3 F1-10, 1, s, 3 as-quenched; each of Mn Si Ni Cr Mo V P "
            "Al: prior shape, F1-7 (not P), s F1-6 (Cr Mn Mo); what like steels share: level, tilt, bend; lt F1-8",
            "beta": weights * scale,
            "factor": [row[: i + 1] for i, row in enumerate(factor)],
        },
        "own": {
            "order": "1, F1-14, lt, lt (x-400)/200, fade | laboratory: 1, F1-8, lt F1-6, (lt^2-1) F1-5",
            "scale": own,
            "carbon": np.exp(p["ln_own_carbon"]),
        },
        "near": {
            "length": m.NEAR_LENGTH,
            "nugget": m.NEAR_NUGGET,
            "centre_c": m.NEAR_CENTRE_C,
            "width_c": m.NEAR_WIDTH_C,
            "scale": [size * np.exp(p["ln_near"]) for size in m.NEAR_SIZES],
        },
        "noise": {
            "reading": np.exp(0.5 * (p["ln_noise_grange"] + p["ln_noise_hollomon"])),
            "low_factor": np.exp(p["ln_noise_low"]),
        },
        "interval": factors,
        "refuse": REFUSE,
        "range": RANGE,
        "training": {
            "elements": list(m.DISTANCE_SCALE),
            "scale": list(m.DISTANCE_SCALE.values()),
            "compositions": x[:, [ELEMENTS.index(name) for name in m.DISTANCE_SCALE]],
            "range": {name: [x[:, i].min(), x[:, i].max()] for i, name in enumerate(ELEMENTS)},
        },
        "widen": WIDEN,
        "widen_unmeasured": WIDEN_UNMEASURED,
        "widen_distance": WIDEN_DISTANCE,
    }
    path.write_text("\n".join(line for name, table in tree.items() for line in lines(name, table)), encoding="utf-8")


def lines(name: str, table: dict[str, Any]) -> list[str]:
    """A TOML table with its sub-tables behind it."""
    inner = {key: value for key, value in table.items() if isinstance(value, dict)}
    made = [f"[{name}]", *(f"{key} = {value_of(value)}" for key, value in table.items() if key not in inner), ""]
    return made + [line for key, value in inner.items() for line in lines(f"{name}.{key}", value)]


def value_of(value: Any) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list | np.ndarray):
        return "[" + ", ".join(map(value_of, value)) + "]"
    # Twelve digits: more than another processor's sums agree in, fewer than make the file heavy.
    return repr(float(f"{float(value):.12g}"))
