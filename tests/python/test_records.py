"""Every public model has a record, and the record's bounds are the bounds the calls keep."""

from __future__ import annotations

import inspect
import math
from typing import TYPE_CHECKING, Any

import pytest

import afterquench as aq
from acceptance import demo_curve

if TYPE_CHECKING:
    from collections.abc import Callable

# Which record each public model call reads. A new call that takes out_of_range must be added here with its record.
RECORD_OF = {
    "temper_parameter": "temper.parameter",
    "equivalent_time": "temper.equivalence",
    "equivalent_temperature": "temper.equivalence",
    "two_hour_equivalent": "temper.equivalence",
    "implied_activation_energy": "temper.implied_activation_energy",
    "constant_from_carbon": "temper.constant_from_carbon",
    "constant_from_seconds": "temper.parameter",
    "constant_to_seconds": "temper.parameter",
    "convert_hardness": "hardness.conversion",
    "curvature_correction": "hardness.curvature",
    "minimum_thickness_mm": "hardness.minimum_thickness",
    "as_quenched_hardness": "steel.as_quenched",
    "hardness_from_composition": "steel.tempered",
    "temperature_to_emf": "oven.thermocouple",
    "emf_to_temperature": "oven.thermocouple",
    "seebeck_coefficient": "oven.thermocouple",
    "thermocouple_tolerance": "oven.thermocouple_tolerance",
    "pt100_resistance": "oven.pt100",
    "pt100_temperature": "oven.pt100",
    "pt100_tolerance": "oven.pt100_tolerance",
    "sensor_correction": "oven.sensor_correction",
    "wrong_type_temperature": "oven.wrong_type",
    "rockwell_hardness": "hardness.definitions",
}


def text_of(model: Any, field: str) -> Any:
    return model[field] if isinstance(model, dict) or hasattr(model, "keys") else getattr(model, field)


MODELS = {text_of(model, "id"): model for model in aq.models()}


def model_calls() -> list[str]:
    """Public functions that take a policy, the _estimate twins counted with their plain call."""
    found = []
    for name in aq.__all__:
        function = getattr(aq, name)
        if not callable(function) or inspect.isclass(function):
            continue
        try:
            parameters = inspect.signature(function).parameters
        except ValueError:
            continue
        if "out_of_range" in parameters:
            found.append(name.removesuffix("_estimate"))
    return sorted(set(found))


@pytest.mark.parametrize("name", model_calls())
def test_every_model_call_has_a_record(name: str) -> None:
    assert name in RECORD_OF, f"{name} takes out_of_range, so it is a model: give it a record and name it here"
    assert any(known == RECORD_OF[name] or known.startswith(RECORD_OF[name] + ".") for known in MODELS), RECORD_OF[name]


@pytest.mark.parametrize("name", MODELS)
def test_a_record_can_be_read_and_cited(name: str) -> None:
    model = MODELS[name]
    for field in ("id", "formula", "unit", "sources", "not_for"):
        assert text_of(model, field) is not None
    assert str(text_of(model, "formula")).strip()
    cited = str(aq.cite(name))
    assert len(cited) > 10
    assert "unknown" not in cited.lower()


def test_the_records_make_a_table() -> None:
    frame = aq.models().to_frame()
    assert len(frame) == len(MODELS)
    assert set(frame["id"]) == set(MODELS)


BOUNDED: list[tuple[str, Callable[..., Any], float, float]] = [
    ("constant_from_carbon", aq.constant_from_carbon, 0.15, 1.2),
    ("convert_hardness", lambda x, **k: aq.convert_hardness(x, "HRC", "HV", **k), 20.0, 68.0),
    ("curve", lambda x, **k: demo_curve("80CrV2-demo").hardness_after(x, 2.0, **k), 150.0, 400.0),
]


@pytest.mark.parametrize(("name", "call", "low", "high"), BOUNDED, ids=[name for name, *_ in BOUNDED])
def test_ends_are_inside_and_their_neighbours_outside(
    name: str, call: Callable[..., Any], low: float, high: float
) -> None:
    assert math.isfinite(call(low)), name
    assert math.isfinite(call(high))
    for outside in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        with pytest.raises(aq.OutOfRangeError) as caught:
            call(outside)
        assert (caught.value.value, caught.value.low, caught.value.high) == (outside, low, high)
        assert caught.value.stated_by
        assert math.isnan(call(outside, out_of_range="nan"))


def test_bounds_in_the_records_are_those_of_the_calls() -> None:
    ranges = {
        row["argument"] if isinstance(row, dict) else row.argument: row
        for row in text_of(MODELS["temper.constant_from_carbon"], "ranges")
    }
    row = ranges["carbon_percent"]
    assert (text_of(row, "low"), text_of(row, "high")) == (0.15, 1.2)
