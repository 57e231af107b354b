"""Do the 95 % intervals that coupons give hold the truth in 95 of 100 shops? Writes docs/calibration_coupons.md.

Run it with `python benches/calibration_coupons.py`; everything is seeded. Steel, tester and oven of every shop are
drawn; the truth is known, since it is made up.
"""

from __future__ import annotations

import math
import sys
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import repeat
from pathlib import Path
from typing import Any

import numpy as np

import afterquench as aq

PAGE = Path(__file__).parents[1] / "docs" / "calibration_coupons.md"
SHOPS = 2_000

HEAD = """# Are the intervals of coupons honest?

{shops} invented shops for each row, seed {seed}: steel (level, slope, curvature, C), tester (a bias with u = 0.25
HRC), scatter of coupons (0.15 to 0.5 HRC), three readings each and, where it says so, the temperature of each
coupon are drawn; then `fit_coupons` is called as anyone would call it. The table gives the share of the 95 %
intervals that held the truth, in per cent; the chance error of such a share is half a per cent for {shops} shops.
Written by `benches/calibration_coupons.py`.

| coupons | level | slope | C, all | C where determined | determined | temperature | re-temper |
|---|---|---|---|---|---|---|---|
"""

FOOT = """
*C, all* counts the profile's interval whether or not it closes inside 10 to 30; *C where determined* only the
answers that are numbers, *determined* how many those are. Picking the campaigns whose interval closes is a
selection: the rarer a number is, the farther its share may lie from 95 %.

*Temperature* is `temperature_for_estimate`: the temperature that gives a hardness in two hours. *Re-temper* is
`temperature_estimate` of `retemper`'s best schedule on the fitted curve, for a part of the same bar that was tempered
at 190 °C for 2 h and measured once (u = 0.4 HRC); place, sensor, controller and timer of both tempers are drawn as
`retemper` assumes them, and the truth is the set temperature that would have given the hardness exactly.

A campaign with fewer than four coupons to spare leans on what is believed of their scatter (0.4 HRC in the root mean
square, as if from four degrees of freedom). No such interval can hold in every shop alike. The slope from three
coupons, one to spare, by what they really scatter ({shops} shops each):

| scatter of coupons, HRC | {scatters} |
|---|{rules}|
| slope held, % | {by_scatter} |

So it holds over the shops drawn above, is too wide for a steady one and too narrow for one that scatters by more than
is believed; `coupon_sd_hrc` says what a shop knows of itself, and four coupons to spare need no belief.

Many bars (`pool_batches`, eight bars of three coupons, sd between bars 0.2 to 1 HRC, {shops} times): the interval
of the mean held the truth in {mean:.1f} %, that of the sd between bars in {between:.1f} %, that of the next bar in
{following:.1f} %.
"""


@dataclass(frozen=True)
class Layout:
    """Which coupons a kind of shop runs."""

    name: str
    temperatures: tuple[float, ...]
    hours: tuple[float, ...]
    each: int
    curved: bool = False
    u_temperature: float = 0.0

    def holds(self) -> np.ndarray:
        return np.array([(t, h) for t in self.temperatures for h in self.hours for _ in range(self.each)])


LAYOUTS = [
    Layout("5 temperatures, 2 h, twice", (175, 200, 225, 250, 275), (2.0,), 2),
    Layout("3 temperatures, 2 h, once", (175, 200, 225), (2.0,), 1),
    Layout("4 temperatures, 2 h, once", (175, 200, 225, 250), (2.0,), 1),
    Layout("6 temperatures, 2 h, once", (150, 175, 200, 225, 250, 275), (2.0,), 1),
    Layout("4 temperatures, 0.5, 2 and 8 h", (175, 200, 225, 250), (0.5, 2.0, 8.0), 1),
    Layout("5 temperatures, 0.5, 4 and 32 h, twice", (175, 200, 225, 250, 300), (0.5, 4.0, 32.0), 2),
    Layout("the same, curved", (175, 200, 225, 250, 300), (0.5, 4.0, 32.0), 2, curved=True),
    Layout("the same, each ± 3 °C", (175, 200, 225, 250, 300), (0.5, 4.0, 32.0), 2, u_temperature=3.0),
]


@dataclass(frozen=True)
class Steel:
    """The truth of one shop."""

    level: float
    slope: float
    curvature: float
    c: float

    @classmethod
    def drawn(cls, rng: np.random.Generator, curved: bool) -> Steel:
        bend = rng.uniform(0.0, 1.2e-4) if curved else 0.0
        return cls(rng.normal(60.0, 1.0), -rng.uniform(0.035, 0.065), bend, rng.uniform(15.0, 20.0))

    def own(self, celsius: Any, hours: Any) -> Any:
        """The temperature that does the same in two hours."""
        return (celsius + 273.15) * (self.c + np.log10(hours)) / (self.c + math.log10(2.0)) - 273.15

    def hardness(self, celsius: Any, hours: Any) -> Any:
        x = self.own(celsius, hours) - 200.0
        return self.level + self.slope * x + self.curvature * x * x

    def slope_at(self, celsius: float) -> float:
        return self.slope + 2.0 * self.curvature * (celsius - 200.0)

    def temperature_for(self, hrc: float) -> float:
        x = np.linspace(-150.0, 200.0, 7001)
        falling = self.slope + 2.0 * self.curvature * x < 0
        curve = self.level + self.slope * x + self.curvature * x * x
        return 200.0 + float(np.interp(-hrc, -curve[falling], x[falling]))


def shop(
    layout: Layout, rng: np.random.Generator, with_retemper: bool = True, scatter: float | None = None
) -> dict[str, bool]:
    """One shop: which intervals held the truth."""
    steel, drawn = Steel.drawn(rng, layout.curved), rng.uniform(0.15, 0.5)
    scatter = drawn if scatter is None else scatter
    holds = layout.holds()
    celsius, hours = holds[:, 0], holds[:, 1]
    got = celsius + layout.u_temperature * rng.standard_normal(len(holds))
    u_tester = 0.25
    bias = u_tester * rng.standard_normal()
    mean = steel.hardness(got, hours) + scatter * rng.standard_normal(len(holds)) + bias
    table: dict[str, Any] = {"temper_degc": celsius, "hold_h": hours}
    table |= {f"r{k}": np.round(mean + 0.3 * rng.standard_normal(len(holds)), 1) for k in (1, 2, 3)}
    if layout.u_temperature:
        table["u_temperature_c"] = np.full(len(holds), layout.u_temperature)
    fit = aq.fit_coupons(table, tester=aq.Estimate(0.0, u_tester, "HRC"))
    held: dict[str, bool] = {}

    def inside(name: str, ends: tuple[float, float], truth: float) -> None:
        held[name] = ends[0] <= truth <= ends[1]

    at = fit.temperature_c
    inside("level", fit.level.interval(), float(steel.hardness(at, fit.time_h)))
    if isinstance(fit.slope, aq.Estimate):
        inside("slope", fit.slope.interval(), steel.slope_at(at))
    if isinstance(fit.c, aq.Estimate):
        inside("c", fit.c.interval(), steel.c)
        held["c determined"] = held["c"]
    elif fit.c.range_95 is not None:
        inside("c", fit.c.range_95, steel.c)
    wanted = fit.curve.hardness_after(at, 2.0, c=17.5)
    inside("temperature", fit.temperature_for_estimate(wanted, 2.0).interval(), steel.temperature_for(wanted))
    if with_retemper:
        held |= retempered(fit, steel, scatter, rng)
    return held


def oven_error(rng: np.random.Generator) -> float:
    """Place, sensor and controller as plans assume them, °C."""
    return float((rng.uniform(-1.0, 1.0, 3) * (5.0, 1.5, 1.0)).sum())


def retempered(fit: aq.CouponFit, steel: Steel, scatter: float, rng: np.random.Generator) -> dict[str, bool]:
    """A part of the same bar, tempered at 190 °C, measured once, tempered again for a hardness between."""
    part = scatter * rng.standard_normal()
    said = (190.0, 2.0)
    first = (190.0 + oven_error(rng), 2.0 + 0.05 * rng.uniform(-1.0, 1.0))
    reading = float(steel.hardness(*first)) + part + 0.4 * rng.standard_normal()
    goal = reading - 1.0
    try:
        best = aq.retemper(fit.curve, reading, (goal - 0.5, goal + 0.5), previous=[said], u_measured=0.4).best
    except aq.AfterquenchError:
        return {}
    off = oven_error(rng)
    hours = best.time_h + 0.05 * rng.uniform(-1.0, 1.0)

    def harder_than_meant(set_c: float) -> bool:
        # The rule of the parameter: what is in the part already, as time at the second temperature.
        second = set_c + off
        already = aq.equivalent_time(*first, second, c=steel.c)
        return float(steel.hardness(second, hours + already)) + part > best.hrc.value

    low, high = best.temperature_c - 100.0, best.temperature_c + 100.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if harder_than_meant(middle) else (low, middle)
    needed = best.temperature_estimate
    return {} if needed is None else {"retemper": is_in(needed.interval(), low)}


def batches(rng: np.random.Generator) -> dict[str, bool]:
    """Eight batches of three coupons at one hold."""
    between, scatter = rng.uniform(0.2, 1.0), rng.uniform(0.15, 0.5)
    offset = between * rng.standard_normal(8)
    batch = np.repeat(np.arange(8), 3)
    table = {
        "batch": [f"bar {b}" for b in batch],
        "temper_degc": np.full(24, 200.0),
        "hold_h": np.full(24, 2.0),
        "hrc": 60.0 + offset[batch] + scatter * rng.standard_normal(24),
    }
    pool = aq.pool_batches(table)
    following = 60.0 + between * rng.standard_normal()
    return {
        "mean": is_in(pool.mean.interval(), 60.0),
        "between": is_in(pool.between_batch_sd.interval(), between),
        "next": is_in(pool.next_batch.interval(), following),
    }


def is_in(ends: tuple[float, float], truth: float) -> bool:
    return ends[0] <= truth <= ends[1]


def shares(runs: list[dict[str, bool]]) -> dict[str, float]:
    """How often each interval held, per cent."""
    held: dict[str, list[bool]] = defaultdict(list)
    for run in runs:
        for name, value in run.items():
            held[name].append(value)
    return {name: 100.0 * float(np.mean(values)) for name, values in held.items()} | {
        "determined": 100.0 * sum("c determined" in run for run in runs) / len(runs)
    }


def row(number: int, shops: int, seed: int) -> str:
    """One layout as a row of the table."""
    layout, rng = LAYOUTS[number], np.random.default_rng([seed, number])
    made = shares([shop(layout, rng) for _ in range(shops)])
    cells = [f"{made[n]:.1f}" if n in made else "–" for n in ("level", "slope", "c", "c determined")]
    cells += [f"{made['determined']:.0f}", f"{made['temperature']:.1f}", f"{made['retemper']:.1f}"]
    return f"| {layout.name} | {' | '.join(cells)} |"


SCATTERS = (0.15, 0.3, 0.5, 0.8)


def foot(shops: int, seed: int) -> str:
    """What stands below the table: scatters one by one, and the batches."""
    rng = np.random.default_rng([seed, 98])
    three = next(layout for layout in LAYOUTS if len(layout.holds()) == 3)
    held = [shares([shop(three, rng, False, scatter) for _ in range(shops)])["slope"] for scatter in SCATTERS]
    rng = np.random.default_rng([seed, 99])
    pooled = shares([batches(rng) for _ in range(shops)])
    return FOOT.format(
        shops=f"{shops:,}",
        scatters=" | ".join(f"{scatter:g}" for scatter in SCATTERS),
        rules="|".join("---" for _ in SCATTERS),
        by_scatter=" | ".join(f"{one:.1f}" for one in held),
        mean=pooled["mean"],
        between=pooled["between"],
        following=pooled["next"],
    )


def main(shops: int = SHOPS, seed: int = 41) -> None:
    """Runs every layout, a process each, and writes the page."""
    with ProcessPoolExecutor() as pool:
        last = pool.submit(foot, shops, seed)
        rows = list(pool.map(row, range(len(LAYOUTS)), repeat(shops), repeat(seed)))
    head = HEAD.format(shops=f"{shops:,}", seed=seed)
    PAGE.write_text("".join([head, *(f"{one}\n" for one in rows), last.result()]), encoding="utf-8")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
