"""How a command's answer comes to be, with a bar where it takes long, and is shown: readable, or as JSON."""

from __future__ import annotations

import math
import textwrap
import threading
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, TypeVar

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn
from rich.table import Table

import afterquench as aq

from ._answers import to_json
from ._options import in_options

_Result = TypeVar("_Result")
_Report = Callable[[int, int], object]

# Work that ends within a second needs no bar.
_PATIENCE_S = 1.0


class Listing:
    """A table of texts."""

    def __init__(self, *columns: str) -> None:
        self.columns = columns
        self.rows: list[tuple[str, ...]] = []

    def add_row(self, *cells: str) -> None:
        """Adds a row, a cell for each column."""
        self.rows.append(cells)

    def drawn(self, said: Callable[[str], str]) -> Table:
        """As the terminal shows it, each cell as `said` turns it."""
        table = Table(box=None, header_style="bold", pad_edge=False, padding=(0, 2, 0, 0))
        for column in self.columns:
            table.add_column(column, overflow="fold")
        for cells in self.rows:
            table.add_row(*(said(cell) for cell in cells))
        return table


@dataclass
class Answer:
    """What a command found: one line, a table, what was assumed; and the same as data."""

    headline: str
    data: dict[str, Any]
    table: Listing | None = None
    notes: Sequence[str] = field(default_factory=list)

    def as_json(self, warned: Sequence[str]) -> str:
        """The answer for machines, in the library's own words."""
        return to_json({"answer": self.headline, **self.data, "warnings": list(warned)})

    def show(self, warned: Sequence[str], said: Callable[[str], str]) -> None:
        """Prints it, with the library's words as `said` turns them."""
        console = Console(highlight=False, markup=False)
        console.print(self.headline, style="bold")
        if self.table is not None:
            console.print(self.table.drawn(said))
        for note in self.notes:
            text = textwrap.fill(f"- {said(note)}", console.width, subsequent_indent="  ")
            console.print(text, style="dim")
        for warning in warned:
            Console(stderr=True, highlight=False, markup=False).print(f"warning: {said(warning)}", style="yellow")


class Number(click.ParamType[float]):
    """A number as people write it: not-a-number and infinity are slips here, not values."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number.", param, ctx)
        return number


NUMBER = Number()


@contextmanager
def _collected() -> Iterator[list[str]]:
    """Warnings of ours as texts, shown with the answer instead of with a line of source code."""
    texts: list[str] = []
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", aq.AfterquenchWarning)
        yield texts
    texts += [str(warning.message) for warning in caught if issubclass(warning.category, aq.AfterquenchWarning)]


def answering(make: Callable[..., Answer]) -> Callable[..., None]:
    """Runs a command's body and shows its answer; every command has `--json` through it."""

    @click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")
    def command(as_json: bool, **arguments: Any) -> None:
        asked = click.get_current_context().command
        try:
            with _collected() as warned:
                answer = make(**arguments)
        except aq.AfterquenchError as error:
            raise click.ClickException(in_options(str(error), asked)) from error
        if as_json:
            click.echo(answer.as_json(warned))
        else:
            answer.show(warned, lambda text: in_options(text, asked))

    command.__doc__ = make.__doc__
    command.__name__ = make.__name__
    # click keeps the options that decorators below this one declared in this attribute.
    command.__click_params__ += getattr(make, "__click_params__", [])  # type: ignore[attr-defined]
    return command


def with_progress(what: str, work: Callable[[_Report], _Result]) -> _Result:
    """Does the work, with a bar on stderr once it takes longer than a second.

    The work is handed a function it may call with how much is done out of how much; the bar moves by it.
    """
    outcome: list[_Result] = []
    failure: list[BaseException] = []
    reported: dict[str, int] = {}

    def report(done: int, total: int) -> None:
        reported.update(completed=done, total=total)

    def run() -> None:
        try:
            outcome.append(work(report))
        except BaseException as error:
            failure.append(error)

    worker = threading.Thread(target=run, daemon=True)
    worker.start()
    worker.join(_PATIENCE_S)
    if worker.is_alive():
        columns = (SpinnerColumn(), TextColumn(what), BarColumn(), TimeElapsedColumn())
        with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
            bar = progress.add_task(what, total=None)
            while worker.is_alive():
                progress.update(bar, **reported)  # type: ignore[arg-type]
                worker.join(0.1)
    if failure:
        raise failure[0]
    return outcome[0]
