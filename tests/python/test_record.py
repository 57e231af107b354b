"""The record for the file: JSON by its published schema, HTML and one page of PDF, bad paths."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import afterquench as aq
from acceptance import DATA

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "record.schema.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def job() -> dict[str, Any]:
    curve = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5])
    log = aq.read_log(DATA / "scenario_b" / "oven_log.csv", corrections={"part_side": (-0.5, 0.5)})
    tester = aq.tester_from_block([59.4, 59.7, 59.5, 59.8, 59.6], "HRC", 60.2, 0.5)
    readings = aq.Readings([58.7, 58.9, 54.0], "HRC", 2.2, place=["flat", "flat", "bevel"], tester=tester)
    return {
        "plan": aq.plan(curve, (58, 60)),
        "log": log,
        "history": log.history(c=(15, 20)),
        "readings": readings,
        "decision": aq.decide(readings, 58, 60),
        "title": "Six <chisels> & a gauge",
        "notes": ["for the file"],
    }


def test_json_keeps_its_schema(job: dict[str, Any], tmp_path: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    made = json.loads(aq.report.write_record(tmp_path / "job.json", **job).read_text(encoding="utf-8"))
    jsonschema.validate(made, SCHEMA)
    assert made["decision"]["verdict"] == job["decision"].verdict
    assert made["received"]["two_hour_equivalent"]["value"] == job["history"].estimate.value
    assert len(made["log"]["repairs"]) == len(job["log"].repairs)
    assert made["readings"]["doubts"][0]["reading"] == 54.0
    assert made["versions"]["afterquench"] == aq.__version__
    assert [text for text in made["cautions"] if "Local codes" in text] == made["cautions"][:1]


@pytest.mark.parametrize("part", ["plan", "log", "history", "readings", "decision"])
def test_each_part_alone_is_a_record(job: dict[str, Any], part: str) -> None:
    jsonschema.validate(aq.report.record_for_file(**{part: job[part]}), SCHEMA)


def test_the_first_caution_is_the_plans_with_and_without_a_plan(job: dict[str, Any]) -> None:
    alone = aq.report.record_for_file(decision=job["decision"])["cautions"]
    assert alone == job["plan"].cautions[:1]


def test_parts_to_leave_and_readings_that_are_none() -> None:
    curve = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5])
    leave = aq.retemper(curve, 59.0, (58, 60), previous=[(200, 2)])
    bad = aq.Readings([54.0], "HRC", place="bevel")
    made = aq.report.record_for_file(plan=leave, readings=bad)
    jsonschema.validate(made, SCHEMA)
    assert made["plan"]["best"] is None
    assert "hardness" not in made["readings"]


def test_the_schema_refuses_what_is_no_record(job: dict[str, Any]) -> None:
    made = aq.report.record_for_file(**job)
    for wrong in ({"schema": "another"}, {"extra": 1}, {"decision": made["decision"] | {"verdict": "perhaps"}}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(made | wrong, SCHEMA)


def test_html_says_everything_and_escapes(job: dict[str, Any], tmp_path: Path) -> None:
    text = aq.report.write_record(tmp_path / "job.html", **job).read_text(encoding="utf-8")
    assert "Six &lt;chisels&gt; &amp; a gauge" in text
    for part in ("Decision", "Repairs to the log", "What the steel got", "bevel", "not decided", aq.__version__):
        assert part in text, part
    assert "<script" not in text
    assert "0 rows" not in text


def test_no_certainty_is_printed(tmp_path: Path) -> None:
    """INVENTED curve and limits so wide that the chance rounds to one."""
    curve = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5])
    text = aq.report.write_record(tmp_path / "job.html", plan=aq.plan(curve, (56, 62))).read_text(encoding="utf-8")
    assert "chance inside over 99 %, too soft under 1 %" in text


def test_pdf_is_one_page(job: dict[str, Any], tmp_path: Path) -> None:
    page = aq.report.write_record(tmp_path / "job.pdf", **job).read_bytes()
    assert page.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", page)) == 1
    assert len(page) > 5000


def test_bad_records_are_refused(job: dict[str, Any], tmp_path: Path) -> None:
    for path in ("job.docx", "job", "nowhere/job.json"):
        with pytest.raises(aq.RefusedError):
            aq.report.write_record(tmp_path / path, **job)
    with pytest.raises(aq.RefusedError, match="nothing"):
        aq.report.write_record(tmp_path / "job.json")
    leave = aq.retemper(job["plan"].steel, 59.0, (58, 60), previous=[(200, 2)])
    with pytest.raises(aq.RefusedError, match="nothing to do"):
        leave.sheet(tmp_path / "sheet.html")
    assert list(tmp_path.iterdir()) == []
