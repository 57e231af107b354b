"""The measured tempers that ship with the crate, as arrays.

A steel is a heat: laboratory, name and full composition. 1065 and 4140 are two heats each.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

SHIPPED = Path(__file__).parents[2] / "src" / "data" / "temper_measured_1945_2010.csv"
ELEMENTS = ["C", "Mn", "P", "S", "Si", "Ni", "Cr", "Mo", "V", "Al", "Cu"]
LABORATORIES = ["Grange", "Hollomon", "Penha"]
UNSEEN = len(LABORATORIES)  # a laboratory that no row is from

# Left out of fit and score; both are under 20 HRC. The data's own notes call them a likely copying slip and suspicious.
DOUBTFUL = {("0.98%C - plain carbon steel", 602.0, 86400.0), ("AISI-SAE 1030", 593.3, 14400.0)}

Floats = NDArray[np.float64]


@dataclass
class Tempers:
    """Rows of measured or asked-for tempers; `steel` numbers heats, `programme` Grange and Baughman's programmes."""

    laboratory: NDArray[np.int64]
    temperature_c: Floats
    time_s: Floats
    hrc: Floats
    composition: Floats
    as_quenched: Floats
    steel: NDArray[np.int64]
    programme: NDArray[np.int64]
    row_weight: Floats | float = 1.0
    steel_scale: Floats | float = 1.0
    cache: tuple | None = field(default=None, repr=False, compare=False)

    def part(self, mask: NDArray) -> Tempers:
        """The rows of a mask or of indices."""
        per_row = ("laboratory", "temperature_c", "time_s", "hrc", "composition", "as_quenched", "steel", "programme")
        weights = {
            name: value[mask]
            for name in ("row_weight", "steel_scale")
            if isinstance(value := getattr(self, name), np.ndarray)
        }
        return replace(self, cache=None, **{name: getattr(self, name)[mask] for name in per_row}, **weights)

    def without_as_quenched(self) -> Tempers:
        return replace(self, cache=None, as_quenched=np.full(len(self.hrc), np.nan))

    def of_unseen_laboratory(self) -> Tempers:
        n = len(self.hrc)
        return replace(self, cache=None, laboratory=np.full(n, UNSEEN), programme=np.full(n, -1))

    def groups(self) -> list[NDArray[np.int64]]:
        """The rows of each steel."""
        return [np.flatnonzero(self.steel == s) for s in np.unique(self.steel)]


@dataclass
class Heats:
    """What is known of the heats apart from their rows."""

    names: list[str]
    laboratory: list[int]
    composition: Floats


def load(path: Path = SHIPPED) -> tuple[Tempers, Heats]:
    """The shipped rows without the two doubtful ones."""
    with path.open(encoding="utf-8") as file:
        rows = [
            row
            for row in csv.DictReader(line for line in file if not line.startswith("#"))
            if (row["steel"], float(row["temper_c"]), float(row["time_s"])) not in DOUBTFUL
        ]
    laboratory = [next(i for i, lab in enumerate(LABORATORIES) if row["source"].startswith(lab)) for row in rows]
    composition = np.array([[float(row[e]) for e in ELEMENTS] for row in rows])
    keys = [(lab, row["steel"], *alloy) for lab, row, alloy in zip(laboratory, rows, composition, strict=True)]
    heats = list(dict.fromkeys(keys))
    steel = np.array([heats.index(key) for key in keys])
    time_s = np.array([float(row["time_s"]) for row in rows])
    # Grange and Baughman's three programmes show in the holds: ten, or four, or one hour with a few others.
    holds = [len(set(time_s[steel == s])) for s in range(len(heats))]
    kinds = {10: 0, 4: 1}
    programme = [-1 if lab else kinds.get(holds[s], 2) for lab, s in zip(laboratory, steel, strict=True)]
    tempers = Tempers(
        laboratory=np.array(laboratory),
        temperature_c=np.array([float(row["temper_c"]) for row in rows]),
        time_s=time_s,
        hrc=np.array([float(row["hrc"]) for row in rows]),
        composition=composition,
        as_quenched=np.array([float(row["initial_hrc"] or "nan") for row in rows]),
        steel=steel,
        programme=np.array(programme),
    )
    return tempers, Heats([key[1] for key in heats], [key[0] for key in heats], np.array([key[2:] for key in heats]))
