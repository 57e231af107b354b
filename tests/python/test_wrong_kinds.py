"""Every argument of the calls of the bench, given what is no value for it: answered, or refused in the package's words.

What is refused for its kind names the call, the argument as Python knows it, what was given and what to give.
"""

from __future__ import annotations

import datetime
import math
import typing
import warnings
from typing import Any

import numpy as np
import pandas as pd
import pytest

import afterquench as aq

if typing.TYPE_CHECKING:
    from collections.abc import Callable

CURVE = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5], as_quenched_hrc=65)
PLAN = aq.plan(CURVE, (58, 60))
GOT = aq.combine([(200, 2)], c=20)
TESTER = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
READINGS = aq.Readings([59.0, 59.2], "HRC", thickness_mm=3, place="flat", tester=TESTER)
ESTIMATE = aq.Estimate(58.0, 0.3, "HRC")
COUPONS = {
    "coupon": list("abcd"),
    "temper_degc": [175, 200, 225, 250],
    "hold_h": [2] * 4,
    "hrc": [61.5, 60.6, 59.1, 58.0],
}
CHECKS = {"date": ["2031-01-05", "2031-02-05", "2031-03-05"], "value": [0.1, 0.2, 0.6]}
LEVELS = {"batch": list("abc"), "level_hrc": [0.4, -0.5, 0.1], "u_hrc": [0.2] * 3}
HOLD = {
    "time_h": 2.0,
    "position_delta_c": 5.0,
    "sensor_delta_c": 1.5,
    "controller_delta_c": 1.0,
    "time_spread_min": 3.0,
}
BY = {"table": "astm-e140-1", "u_conversion": 5.0}

CALLS: dict[str, tuple[Callable[..., Any], dict[str, Any]]] = {
    "plan": (
        aq.plan,
        {
            "steel": CURVE,
            "target_hrc": (58, 60),
            "as_quenched_hrc": 64,
            "oven_limit_c": 300,
            "thickness_mm": 5,
            "surroundings": "fan air",
            "cycles": 1,
            "c": 20,
            "u_curve": 0.3,
            "u_batch": 0.3,
        }
        | HOLD,
    ),
    "retemper": (
        aq.retemper,
        {
            "steel": CURVE,
            "measured_hrc": 61.2,
            "target_hrc": (59, 60),
            "previous": [(200, 2)],
            "u_measured": 0.4,
            "oven_limit_c": 300,
            "c": 20,
        }
        | HOLD,
    ),
    "decide": (
        aq.decide,
        {
            "readings_or_estimate": [59.0, 59.5],
            "lower": 58,
            "upper": 60,
            "scale": "HRC",
            "guard_band": "2u",
            "u": 0.4,
            "table": "astm-e140-1",
            "u_conversion": 0.5,
        },
    ),
    "acceptance_zone": (aq.acceptance_zone, {"lower": 58, "upper": 60, "u": 0.4, "guard_band": "2u"}),
    "monitor": (
        aq.monitor,
        {"frame": CHECKS, "limit": 3, "centre": 0.1, "weight": 0.2, "width": 3.0, "u_reference": 0.0},
    ),
    "process_capability": (aq.process_capability, {"mean": 16, "standard_deviation": 2, "lower": 8, "upper": 20}),
    "fit_coupons": (
        aq.fit_coupons,
        {
            "coupons": COUPONS,
            "curve": None,
            "steel": None,
            "c": 20,
            "shape": "auto",
            "repeatability_sd_hrc": 0.2,
            "coupon_sd_hrc": 0.3,
            "tester": TESTER,
            "leave_out": [],
            "name": "own",
        },
    ),
    "design_coupons": (
        aq.design_coupons,
        {
            "plan": [(175, 2, 2), (250, 2, 2)],
            "scatter_hrc": 0.3,
            "slope": -0.05,
            "c": 19.0,
            "parabola": False,
            "u_run_temperature_c": 0.0,
            "u_tester": 0.0,
            "temperature_c": 200.0,
            "time_h": 2.0,
            "temperatures_c": (175, 250),
            "times_h": (0.5, 32.0),
            "warm_up_h": 1.0,
        },
    ),
    "pool_batches": (aq.pool_batches, {"frame": LEVELS, "method": "reml", "coupon_sd_hrc": 0.3}),
    "common_window": (
        aq.common_window,
        {"load": [(CURVE, (58, 60)), (CURVE, (58.5, 60))], "cycles": 1, "c": 20} | HOLD,
    ),
    "explain_soft": (
        aq.explain_soft,
        {
            "reading": 58.0,
            "plan": PLAN,
            "log": GOT,
            "held": (200, 2),
            "as_quenched_hrc": 65,
            "place_delta_c": (-5, 5),
            "u_measured": 0.4,
            "c": 20,
            "u_curve": 0.3,
            "u_batch": 0.3,
        },
    ),
    "convert_hardness": (
        aq.convert_hardness,
        {
            "value": 60.0,
            "from_scale": "HRC",
            "to_scale": "HV",
            "table": "astm-e140-1",
            "out_of_range": "raise",
            "bracketed": "warn",
        },
    ),
    "convert_hardness_estimate": (
        aq.convert_hardness_estimate,
        {"value": 60.0, "from_scale": "HRC", "to_scale": "HV", "bracketed": "warn"} | BY,
    ),
    "Readings": (
        aq.Readings,
        {
            "values": [59.0, 59.2],
            "scale": "HRC",
            "thickness_mm": 3.0,
            "diameter_mm": 20.0,
            "edge_distance_mm": 5.0,
            "place": "flat",
            "tester": TESTER,
            "resolution": 0.1,
            "roughness_um": 0.4,
        },
    ),
    "Readings.estimate": (READINGS.estimate, {"scale": "HV"} | BY),
    "Readings.monte_carlo": (READINGS.monte_carlo, {"scale": "HV", "draws": 1000, "seed": 1} | BY),
    "tester_from_block": (
        aq.tester_from_block,
        {"values": [59.4, 59.7], "scale": "HRC", "block_value": 60.2, "block_expanded_uncertainty_k2": 0.5},
    ),
    "tester_from_blocks": (aq.tester_from_blocks, {"blocks": [TESTER]}),
    "compare_results": (aq.compare_results, {"first": ESTIMATE, "second": ESTIMATE}),
    "minimum_thickness_mm": (aq.minimum_thickness_mm, {"scale": "HRC", "value": 60.0, "rule": "largest"}),
    "thickness_rules": (aq.thickness_rules, {"scale": "HRC", "value": 60.0}),
    "minimum_edge_distance_mm": (aq.minimum_edge_distance_mm, {"scale": "HRC", "value": 60.0}),
    "minimum_spacing_mm": (aq.minimum_spacing_mm, {"scale": "HRC", "value": 60.0}),
    "curvature_correction": (aq.curvature_correction, {"scale": "HRC", "value": 40.0, "diameter_mm": 13.0}),
    "rockwell_hardness": (aq.rockwell_hardness, {"scale": "HRC", "depth_mm": 0.08}),
    "vickers_hardness": (aq.vickers_hardness, {"force_kgf": 10, "diagonal_um": 160.0}),
    "brinell_hardness": (aq.brinell_hardness, {"force_kgf": 3000, "ball_mm": 10, "diameter_mm": 3.0}),
    "knoop_hardness": (aq.knoop_hardness, {"force_kgf": 0.5, "diagonal_um": 100.0}),
    "readings_needed": (aq.readings_needed, {"half_width": 0.3, "sd": 0.4, "coverage": 0.95}),
    "Estimate": (aq.Estimate, {"value": 1.0, "u": 0.1, "unit": "HRC"}),
}

WRONG: dict[str, Any] = {
    "a text": "hot",
    "None": None,
    "a list": [1.0, 2.0],
    "a ragged list": [[1.0], [2.0, 3.0]],
    "a list of texts": ["a", "b"],
    "no elements": np.array([]),
    "an empty list": [],
    "complex": 1 + 2j,
    "a time": datetime.datetime(2026, 3, 3),
    "negative": -1,
    "infinite": math.inf,
    "minus infinity": -math.inf,
    "NaN": math.nan,
    "0-d array": np.array(1.0),
    "0-d text": np.array("x"),
    "a dict": {},
    "an object": object(),
    "bytes": b"x",
    "a huge number": 10**400,
    "a truth": True,
    "three numbers": (1, 2, 3),
    "a set": {1, 2},
    "a frame": pd.DataFrame({"a": [1]}),
}

ARGUMENTS = [(call, argument) for call, (_, arguments) in CALLS.items() for argument in arguments]


@pytest.mark.parametrize("call", CALLS)
def test_the_right_kinds_are_answered(call: str) -> None:
    function, arguments = CALLS[call]
    assert function(**arguments) is not None


def refusal(function: Callable[..., Any], arguments: dict[str, Any]) -> Exception | None:
    """What a call raises, if anything."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            function(**arguments)
        except Exception as error:
            return error
    return None


@pytest.mark.parametrize(("call", "argument"), ARGUMENTS)
def test_wrong_kinds_are_refused_in_words(call: str, argument: str) -> None:
    function, arguments = CALLS[call]
    for name, wrong in WRONG.items():
        error = refusal(function, arguments | {argument: wrong})
        if isinstance(error, aq.ArgumentTypeError):
            assert argument in str(error.argument), f"{name}: {error}"
            assert str(error).startswith(f"{call}: "), f"{name}: {error}"
            assert len(error.hint) > 10, f"{name}: {error}"
        elif isinstance(error, FileNotFoundError):
            # A text stands for a path there, and Python's own words for a file that is not there are the usual ones.
            assert (name, argument in {"coupons", "plan", "frame"}) == ("a text", True)
        else:
            assert error is None or isinstance(error, aq.AfterquenchError), f"{name}: {error!r}"
            assert error is None or len(str(error)) > 30, f"{name}: {error}"


@pytest.mark.parametrize(
    ("call", "argument", "wrong"),
    [
        ("plan", "time_spread_min", -1),
        ("retemper", "time_spread_min", math.nan),
        ("common_window", "time_spread_min", -1),
        ("fit_coupons", "coupon_sd_hrc", -1),
        ("fit_coupons", "repeatability_sd_hrc", math.inf),
        ("readings_needed", "half_width", -1),
        ("tester_from_block", "block_value", math.inf),
        ("explain_soft", "reading", "soft"),
        ("pool_batches", "frame", 3),
        ("decide", "readings_or_estimate", "hot"),
    ],
)
def test_the_argument_is_named_as_python_knows_it(call: str, argument: str, wrong: object) -> None:
    function, arguments = CALLS[call]
    with pytest.raises((aq.ArgumentTypeError, aq.InvalidValueError)) as caught:
        function(**arguments | {argument: wrong})
    assert caught.value.argument == argument
