"""Every error class rendered once, from a real call, into docs/errors.md; run as a script it rewrites that page."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

import afterquench as aq
from afterquench import errors

PAGE = Path(__file__).parents[2] / "docs" / "errors.md"

HEAD = """# What a refusal looks like

Every refusal is an exception of ours with fields, and its text says which model, which argument, the value, the bound
and whose bound it is, and what to do. Each also derives from the built-in that fits. This page is written by
`tests/python/test_error_gallery.py`, which fails when it no longer says what the calls say.
"""

# A call for each class, as a user might write it.
CALLS: dict[str, str] = {
    "OutOfRangeError": 'aq.convert_hardness(75, "HRC", "HV")',
    "InvalidValueError": "aq.temper_parameter(200, 0, c=20)",
    "MissingArgumentError": "aq.temper_parameter(200, 2)",
    "ArgumentTypeError": 'aq.temper_parameter("hot", 2, c=20)',
    "UnknownNameError": 'aq.steel("5210")',
    "SeveralAnswersError": (
        "aq.TemperingCurve([150, 300, 400, 525, 600], [61.5, 58.2, 58.3, 60.6, 51.5]).temperature_for(59, 2)"
    ),
    "NoAnswerError": 'aq.retemper("O1", measured_hrc=58, target_hrc=61, previous=[(200, 2)])',
    "NotDeterminedError": 'aq.steel("H11").hardness_after(550, 2)',
    "RefusedError": 'aq.convert_hardness_estimate(aq.convert_hardness_estimate(700, "HV", "HRC"), "HRC", "HRA")',
    "DataFileError": 'aq.read_log(b"elapsed_s,part_side_degc\\n")',
}


def raised(call: str) -> aq.AfterquenchError:
    with pytest.raises(aq.AfterquenchError) as caught:
        eval(call, {"aq": aq})
    return caught.value


def page() -> str:
    parts = [HEAD]
    for name, call in CALLS.items():
        error = raised(call)
        bases = " and ".join(f"`{base.__name__}`" for base in type(error).__bases__)
        fields = ", ".join(f"`{field}`" for field in vars(error))
        parts.append(f"## {name}\n\nA kind of {bases}; fields {fields}.\n\n```python\n{call}\n```\n\n> {error}\n")
    return "\n".join(parts)


def test_every_class_is_shown() -> None:
    kinds = {name for name in errors.__all__ if name not in {"AfterquenchError", "AfterquenchWarning"}}
    assert set(CALLS) == kinds


@pytest.mark.parametrize(("name", "call"), CALLS.items(), ids=CALLS)
def test_call_raises_its_class_with_fields(name: str, call: str) -> None:
    error = raised(call)
    assert type(error).__name__ == name
    assert vars(error).keys() >= getattr(errors, name).__annotations__.keys()
    again = pickle.loads(pickle.dumps(error))
    assert (type(again), str(again), vars(again)) == (type(error), str(error), vars(error))


def test_page_says_what_the_calls_say() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
