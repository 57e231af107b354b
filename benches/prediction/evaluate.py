"""Answers from the written coefficients, by other code than the crate's: what the crate is tested against.

    python benches/prediction/evaluate.py

Asks the queries of tests/data/tempered_reference.csv again and writes the answers beside them. It knows nothing of the
fit; readings are solved for in the full matrix form, where the crate collapses the weights onto a few functions first.
"""

from __future__ import annotations

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

ROOT = Path(__file__).parents[2]
COEFFICIENTS = ROOT / "src" / "data" / "tempered_fit_2026.toml"
REFERENCE = ROOT / "tests" / "data" / "tempered_reference.csv"
ELEMENTS = ["Mn", "Si", "Ni", "Cr", "Mo", "V", "P", "Al"]
SATURATING = {"Mn": 1.0, "Cr": 1.0, "Mo": 0.25}
Floats = NDArray[np.float64]
Reading = tuple[float, float, float]  # °C, h, HRC


def soft_minimum(a: float, b: float, width: float) -> float:
    return min(a, b) - width * math.log1p(math.exp(-abs(a - b) / width))


class Evaluator:
    """One composition, perhaps with an as-quenched reading."""

    def __init__(self, file: dict[str, Any], composition: dict[str, float], as_quenched_hrc: float | None) -> None:
        self.file, self.known = file, as_quenched_hrc is not None
        q = file["physics"]
        self.percent = {name: composition.get(name, 0.0) for name in ("C", *ELEMENTS, "Cu", "W", "Co", "Nb", "Ti")}
        c = self.percent["C"]
        saturation = q["c_saturation"] - q["c_saturation_per_cr"] * self.percent["Cr"]
        dissolved = soft_minimum(c, saturation, q["c_saturation_width"])
        self.c = q["c0"] - q["c1"] * dissolved
        self.s = (math.sqrt(dissolved) - 0.70) / 0.15
        fall = q["aq_span"] * math.exp(-q["aq_rate"] * dissolved)
        self.as_quenched = q["aq_plateau"] - fall
        self.deviation = 0.0 if as_quenched_hrc is None else as_quenched_hrc - self.as_quenched
        self.level = math.hypot(file["own"]["scale"][0], file["own"]["carbon"] * q["aq_rate"] * fall)
        self.amount = {name: self.percent[name] for name in ELEMENTS}
        for name, reference in SATURATING.items():
            scale = q[f"{name.lower()}_saturation"]
            self.amount[name] = math.expm1(-self.percent[name] / scale) / math.expm1(-reference / scale)
        v = self.percent["V"]
        self.amount["V"] = soft_minimum(v, q["vc_product"] / max(c, 0.05), 0.005) / 0.15 if v > 0 else 0.0
        self.amount["P"] /= 0.03

        self.has, self.alone = self.neighbours()

    def neighbours(self) -> tuple[Floats, float]:
        """How much of what the measured steels share this one has, and the share that none has, as a root."""
        near, places = self.file["near"], self.placed(np.array(self.file["training"]["compositions"]))
        squares = ((places[:, None] - places) ** 2).sum(-1)
        shared = np.exp(-0.5 * squares / near["length"] ** 2) + near["nugget"] * np.eye(len(places))
        like = np.exp(-0.5 * ((places - self.here()) ** 2).sum(-1) / near["length"] ** 2)
        left = 1.0 - like @ np.linalg.solve(shared, like)
        return np.linalg.solve(np.linalg.cholesky(shared), like), math.sqrt(max(left, 0.0))

    def placed(self, percents: Floats) -> Floats:
        return np.concatenate([np.sqrt(percents[..., :1]), percents[..., 1:]], -1) / np.array(
            self.file["training"]["scale"]
        )

    def here(self) -> Floats:
        return self.placed(np.array([self.percent[name] for name in self.file["training"]["elements"]]))

    def one_hour_equivalent(self, temperature_c: float, time_h: float) -> float:
        return (temperature_c + 273.15) * (self.c + math.log10(time_h)) / self.c - 273.15

    def columns(self, temperature_c: float, time_h: float) -> tuple[float, Floats, Floats]:
        """Prior mean, population columns, own columns."""
        q, t, s, d = self.file["physics"], self.file["tables"], self.s, self.deviation
        lt, x = math.log10(time_h), self.one_hour_equivalent(temperature_c, time_h)
        place = (min(max(x, q["x_lo"]), q["x_hi"]) - q["x_lo"]) / (q["x_hi"] - q["x_lo"])
        f = np.sin(np.arange(1, 15) * math.pi * place)
        added = {
            name: np.interp(x, t["increment_x"], t["increment_hv"][name]) * self.amount[name] * q["increment_scale"]
            for name in ELEMENTS
        }
        plain = self.as_quenched - np.interp(x, t["drop_x"], t["drop"])
        hrc = np.interp(np.interp(plain, t["hv_hrc"], t["hv"]) + sum(added.values()), t["hv"], t["hv_hrc"])
        per_hv = 1.0 / np.interp(hrc, t["slope_hrc"], t["slope_hv"])
        fade = 1.0 / (1.0 + math.exp((x - q["fade_centre"]) / q["fade_width"]))
        population = [f[:10] * power for power in (1.0, s, s * s - 1, s**3)]
        population += [[1.0, s], [d * fade, d * (1 - fade), d * fade * (1 - fade)]]
        for name in ELEMENTS:
            population.append([added[name] * per_hv])
            if name != "P":
                population.append(f[:7] * self.amount[name] * per_hv)
            if name in SATURATING:
                population.append(f[:6] * self.amount[name] * per_hv * s)
        near = self.file["near"]
        tilt = (x - near["centre_c"]) / near["width_c"]
        population += [self.has, self.has * tilt, self.has * (tilt * tilt - 1), f[:8] * lt]
        steel = [[1.0], f, [lt, lt * (x - 400) / 200, 0.0 if self.known else fade]]
        own = np.concatenate([*steel, [1.0], f[:8], f[:6] * lt, f[:5] * (lt * lt - 1)]) * self.file["own"]["scale"]
        own[0] = self.level
        own = np.concatenate([own, self.alone * np.array(near["scale"]) * [1, tilt, tilt * tilt - 1]])
        return float(hrc + d * fade), np.concatenate(population), own

    def noise(self, hrc: float) -> float:
        n = self.file["noise"]
        return n["reading"] * math.sqrt(1 + (n["low_factor"] ** 2 - 1) / (1 + math.exp(min(hrc - 20.0, 700.0))))

    def distance(self) -> float:
        measured = self.placed(np.array(self.file["training"]["compositions"]))
        return float(np.sqrt(((measured - self.here()) ** 2).sum(1)).min())

    def beyond(self, hrc: float) -> float:
        """Variance of elements beyond what was measured, and of elements never measured."""
        t = self.file["tables"]
        per_hv = 1.0 / np.interp(hrc, t["slope_hrc"], t["slope_hv"])
        sizes = [
            self.file["widen"][name] * max(self.percent[name] - high, 0.0)
            for name, (_, high) in self.file["training"]["range"].items()
            if name in self.file["widen"]
        ]
        sizes += [per * self.percent[name] for name, per in self.file["widen_unmeasured"].items()]
        return float(sum((size * per_hv) ** 2 for size in sizes))

    def birge(self, off: Floats, covariance: Floats, expected: Floats, noise: Floats, far: float) -> float:
        """Birge's ratio of readings whose chi-square against the prediction before them is beyond its 95 %, else 1."""
        beyond = np.sqrt([self.beyond(hrc) for hrc in expected])
        whole = far * (covariance + np.outer(beyond, beyond)) + noise
        chi_square = off @ np.linalg.solve(whole, off)
        return 1.0 if stats.chi2.sf(chi_square, len(off)) >= 0.05 else math.sqrt(chi_square / len(off))

    def predict(self, temperature_c: float, time_h: float, readings: list[Reading]) -> dict[str, float]:
        beta = np.array(self.file["population"]["beta"])
        triangle = np.array([[*row, *[0.0] * (len(beta) - len(row))] for row in self.file["population"]["factor"]])
        asked = [(temperature_c, time_h), *((celsius, hours) for celsius, hours, _ in readings)]
        prior, population, own = zip(*(self.columns(*temper) for temper in asked), strict=True)
        mean = np.array(prior) + np.array(population) @ beta
        spread, along = np.array(own), np.array(population) @ triangle
        covariance = along @ along.T + spread @ spread.T
        hrc, variance, birge = mean[0], covariance[0, 0], 1.0
        distance, widen = self.distance(), self.file["widen_distance"]
        far = 1.0 + widen["rate"] * max(distance - widen["free"], 0.0) ** 2
        if readings:
            read = np.array([reading[2] for reading in readings])
            known = covariance[1:, 1:] + np.diag([self.noise(reading) ** 2 for reading in read])
            birge = self.birge(read - mean[1:], covariance[1:, 1:], mean[1:], known - covariance[1:, 1:], far)
            gain = np.linalg.solve(known, covariance[1:, 0])
            hrc, variance = hrc + gain @ (read - mean[1:]), variance - gain @ covariance[1:, 0]
        variance += self.beyond(hrc)
        if not readings:
            variance *= far
        u = birge * math.sqrt(variance + self.noise(hrc) ** 2)
        factors = self.file["interval"]
        k68, k95 = factors["k68_as_quenched" if self.known else "k68_composition"], factors["k95"]
        return {
            "mean": hrc, "u": u, "u_true": birge * math.sqrt(variance), "lo68": hrc - k68 * u, "hi68": hrc + k68 * u,
            "lo95": hrc - k95 * u, "hi95": hrc + k95 * u, "distance": distance,
            "one_hour_equivalent_c": self.one_hour_equivalent(temperature_c, time_h),
        }  # fmt: skip


def main() -> None:
    file = tomllib.loads(COEFFICIENTS.read_text(encoding="utf-8"))
    text = REFERENCE.read_text(encoding="utf-8").splitlines()
    head = [line for line in text if line.startswith("#")]
    reader = csv.DictReader(line for line in text if not line.startswith("#"))
    rows = list(reader)
    for row in rows:
        composition = {
            name: float(percent) for name, percent in (part.split("=") for part in row["composition"].split())
        }
        readings = [tuple(map(float, part.split(":"))) for part in row["readings"].split()]
        as_quenched = float(row["as_quenched_hrc"]) if row["as_quenched_hrc"] else None
        made = Evaluator(file, composition, as_quenched).predict(
            float(row["temperature_c"]), float(row["time_h"]), readings
        )
        row.update({name: f"{value:.9f}" for name, value in made.items()})
    with REFERENCE.open("w", encoding="utf-8", newline="") as out:
        out.writelines(f"{line}\n" for line in head)
        writer = csv.DictWriter(out, reader.fieldnames or [], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    print(f"wrote {len(rows)} answers into {REFERENCE.name}")


if __name__ == "__main__":
    main()
