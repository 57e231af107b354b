"""Results kept between runs by the code, data and libraries they follow from: what is unchanged is not run twice."""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Callable, Iterable
from importlib.metadata import version
from pathlib import Path
from typing import TypeVar

HERE = Path(__file__).parent
OUT = HERE.parents[1] / "target" / "prediction"
T = TypeVar("T")


def state(files: Iterable[Path], libraries: Iterable[str]) -> str:
    """A name for the contents of these files under the installed versions of these libraries."""
    seen = hashlib.sha256()
    for file in files:
        seen.update(file.read_bytes())
    for library in libraries:
        seen.update(f"{library} {version(library)}".encode())
    return seen.hexdigest()[:12]


def kept(what: str, code: str, make: Callable[[], T]) -> T:
    """The result of `make`, from the disk if the same code has made it before."""
    place = OUT / "kept" / f"{what.replace(' ', '-').replace(',', '')}-{code}.pickle"
    if place.exists():
        return pickle.loads(place.read_bytes())
    made = make()
    place.parent.mkdir(parents=True, exist_ok=True)
    unfinished = place.with_suffix(".unfinished")
    unfinished.write_bytes(pickle.dumps(made))
    unfinished.replace(place)
    return made
