"""The sheet: one self-contained file, whole or not at all, readable without us."""

from __future__ import annotations

import sys
from html.parser import HTMLParser

import pytest

import afterquench as aq


@pytest.fixture
def plan() -> aq.Plan:
    """INVENTED curve."""
    return aq.plan(aq.TemperingCurve([150, 200, 250, 300, 400], [62.6, 60.4, 57.8, 55.5, 50.2]), (58, 60))


class Page(HTMLParser):
    """What a browser would fetch and show, and whether tags close."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.fetched: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag not in {"meta", "br", "img", "link", "input"}:
            self.open.append(tag)
        self.fetched += [
            value for name, value in attrs if name in {"src", "href"} and not value.startswith(("#", "data:"))
        ]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def read(path) -> tuple[Page, str]:
    page = Page()
    page.feed(path.read_text(encoding="utf-8"))
    assert page.open == []
    return page, " ".join(" ".join(page.text).split())


def test_sheet_holds_everything(plan, tmp_path):
    path = plan.sheet(tmp_path / "sheet.html", title="Punches & dies <lot 3> (INVENTED)")
    page, text = read(path)
    assert page.fetched == []
    for part in (
        "Punches & dies <lot 3>",
        "58 to 60 HRC",
        f"{plan.best.temperature_c:.0f} °C",
        "chance inside 83 %",
        "Local codes and licensed practice come first",
        "Verify with a coupon",
        "What does the same",
        "What a change is worth",
        "Tempering temperature (°C)",
        aq.__version__,
        *(assumption for assumption in plan.assumptions if "'" not in assumption),
    ):
        assert part in text, part
    assert [child.name for child in tmp_path.iterdir()] == ["sheet.html"]


@pytest.mark.parametrize(("steel", "window"), [("1084", (59, 61)), ("4140", (40, 42)), ("O1", (60, 62))])
def test_the_legend_of_the_sheet_fits_its_picture(monkeypatch, tmp_path, steel, window):
    from matplotlib.figure import Figure

    drawn = []
    save = Figure.savefig
    monkeypatch.setattr(
        Figure, "savefig", lambda figure, *args, **kw: (drawn.append(figure), save(figure, *args, **kw))
    )
    aq.plan(steel, window).sheet(tmp_path / "sheet.html")
    (figure,) = drawn
    (legend,) = figure.legends
    assert legend.get_window_extent().width < 0.95 * figure.bbox.width
    assert figure.axes[0].get_legend() is None


def test_next_temper_names_the_first_step(tmp_path):
    curve = aq.TemperingCurve([150, 200, 250, 300, 400], [62.6, 60.4, 57.8, 55.5, 50.2])
    made = aq.retemper(curve, 61.2, 60.0, previous=[(200, 2)])
    _, text = read(made.sheet(tmp_path / "next.html"))
    assert f"first step: {made.first_step.temperature_c:.0f} °C" in text


@pytest.mark.parametrize("steel", ["O1", "M2", "4140"])
def test_sheets_of_catalogue_steels(tmp_path, steel):
    low = {"O1": 60, "M2": 62, "4140": 40}[steel]
    made = aq.plan(steel, (low, low + 3))
    page, text = read(made.sheet(tmp_path / "sheet.html"))
    assert page.fetched == []
    assert steel in text
    assert "Temperatures sources warn of" in text


def test_a_failed_sheet_leaves_the_old_one(plan, tmp_path, monkeypatch):
    path = plan.sheet(tmp_path / "sheet.html")
    old = path.read_bytes()

    def fails(*_):
        raise OSError("disk full")

    monkeypatch.setattr(aq.report.os, "replace", fails)
    with pytest.raises(OSError, match="disk full"):
        plan.sheet(path)
    assert path.read_bytes() == old
    assert [child.name for child in tmp_path.iterdir()] == ["sheet.html"]


def test_directories_and_missing_folders_are_refused(plan, tmp_path):
    with pytest.raises(aq.RefusedError, match="is a directory"):
        plan.sheet(tmp_path)
    with pytest.raises(aq.RefusedError, match="there is no folder"):
        plan.sheet(tmp_path / "nowhere" / "sheet.html")
    with pytest.raises(aq.InvalidValueError, match="title"):
        plan.sheet(tmp_path / "sheet.html", title="  ")


@pytest.mark.parametrize("library", ["jinja2", "matplotlib"])
def test_missing_library_teaches(plan, tmp_path, monkeypatch, library):
    for name in [name for name in sys.modules if name == library or name.startswith(library + ".")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(aq.RefusedError, match=r'pip install "afterquench\[report\]"'):
        plan.sheet(tmp_path / "sheet.html")
    assert list(tmp_path.iterdir()) == []


def test_only_our_own_files_are_replaced(plan, tmp_path):
    mine = tmp_path / "index.html"
    mine.write_text("<!DOCTYPE html>\n<html><body>a page about afterquench</body></html>")
    for write in (plan.sheet, lambda path: aq.report.write_record(path, plan=plan)):
        with pytest.raises(aq.RefusedError, match="replace=True"):
            write(mine)
    assert "a page about" in mine.read_text()
    for path in ("log.csv", "sheet", "sheet.json"):
        with pytest.raises(aq.RefusedError, match=r"\.html or \.htm"):
            plan.sheet(tmp_path / path)
    assert [child.name for child in tmp_path.iterdir()] == ["index.html"]
    aq.report.write_plan_sheet(plan, mine, replace=True)
    assert "58 to 60 HRC" in mine.read_text(encoding="utf-8")
    plan.sheet(mine)
    empty = tmp_path / "empty.htm"
    empty.touch()
    plan.sheet(empty)


@pytest.mark.parametrize("ending", [".json", ".html", ".pdf"])
def test_a_record_replaces_a_record_and_nothing_else(plan, tmp_path, ending):
    path = aq.report.write_record(tmp_path / f"job{ending}", plan=plan)
    aq.report.write_record(path, plan=plan, title="Again")
    for foreign in (b'{"mine": 1}', b"%PDF-1.4 mine", b"<!DOCTYPE html><p>mine"):
        path.write_bytes(foreign)
        with pytest.raises(aq.RefusedError, match="no sheet or record of ours"):
            aq.report.write_record(path, plan=plan)
        assert path.read_bytes() == foreign
    aq.report.write_record(path, plan=plan, replace=True)
