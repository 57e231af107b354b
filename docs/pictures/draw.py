"""Draws the pictures that README shows, from data that ships with the package or the invented demo shop."""

from __future__ import annotations

from pathlib import Path

import matplotlib.pyplot as plt

import afterquench as aq

HERE = Path(__file__).parent
SHOP = HERE.parents[1] / "notebooks" / "demo_shop"


def save(name: str) -> None:
    """Writes the current figure beside this file, without the date that would change every time."""
    plt.gcf().savefig(HERE / name, dpi=110, bbox_inches="tight", metadata={"Software": None})
    plt.close()


def main() -> None:
    """Draws all."""
    plan = aq.plan("O1", target_hrc=(60, 62), as_quenched_hrc=65)
    aq.plot.tempering_curve("O1", window_hrc=(60, 62), hazards=plan.hazards)
    save("curve.png")
    aq.plot.log(aq.read_log(SHOP / "oven_log.csv", corrections=SHOP / "channels.csv"))
    save("log.png")


if __name__ == "__main__":
    main()
