"""Draws ovens, parts and days at work: the invented population that the calibration is about."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# W/m²K, shortest to longest lag, as `OvenLog.soak` states them for its surroundings.
FILM_BAND = {"still air": (8.0, 20.0), "fan air": (20.0, 60.0)}
# s, as `OvenLog.history` states it for a log of the air and nothing known of the part.
LAG_BAND_S = (200.0, 450.0)
# °C, flat, as the assumptions state it: the air at the part against the air at its sensor.
POSITION_DELTA_C = 5.0
# °C, one standard deviation, as the assumptions state it: the probe beside the part against the part.
BESIDE_DELTA_C = 1.0
# J/m³K of steel.
VOLUMETRIC_HEAT = 3.925e6

ENDINGS = ("cooled shut", "door ajar", "taken out")
KNOWLEDGE = ("part side", "air, part known", "air, nothing known")


@dataclass(frozen=True)
class Ovens:
    """A number of ovens, each with its part and its day; one element an oven."""

    knowledge: npt.NDArray[np.int64]  # index into KNOWLEDGE
    fan: Flags
    setpoint_c: Floats
    ambient_c: Floats
    # Heat balance, W, J/K and W/K.
    power: Floats
    element_capacity: Floats
    element_to_air: Floats
    air_capacity: Floats
    air_to_rack: Floats
    rack_capacity: Floats
    air_to_wall: Floats
    wall_capacity: Floats
    wall_loss: Floats
    door_loss: Floats
    # Controller: on-off where hysteresis > 0, else proportional-integral.
    hysteresis_delta_c: Floats
    gain: Floats
    integral_s: Floats
    integral_limit: Floats
    winds_up: Flags
    # Part and sensors.
    thickness_mm: Floats
    film: Floats
    part_capacity: Floats
    position_delta_c: Floats
    view_factor: Floats
    beside_delta_c: Floats
    probe_weight: Floats
    probe_lag_s: Floats
    air_lag_s: Floats
    probe_outside: Flags
    # The day, s.
    load_s: Floats  # 0: in the cold oven from the start
    door_s: Floats  # (n, 3), NaN where not opened
    door_for_s: Floats  # (n, 3)
    off_s: Floats
    end_s: Floats
    ending: npt.NDArray[np.int64]  # index into ENDINGS
    c: Floats

    def __len__(self) -> int:
        return self.c.size

    def lag_s(self) -> Floats:
        """Time constant of the part."""
        return VOLUMETRIC_HEAT * self.thickness_mm / 2000 / self.film


def draw(rng: np.random.Generator, n: int) -> Ovens:
    """Draws n ovens, parts and days."""

    def flat(low: float, high: float) -> Floats:
        return rng.uniform(low, high, n)

    def spread(low: float | Floats, high: float | Floats) -> Floats:
        return np.exp(rng.uniform(np.log(low), np.log(high), n))

    def chance(p: float) -> Flags:
        return rng.random(n) < p

    knowledge = rng.choice(3, n, p=(0.6, 0.28, 0.12))
    fan = chance(0.5)
    still_low, still_high = FILM_BAND["still air"]
    fan_low, fan_high = FILM_BAND["fan air"]
    film = spread(np.where(fan, fan_low, still_low), np.where(fan, fan_high, still_high))
    lag = spread(*LAG_BAND_S)
    thickness = np.where(knowledge == 2, lag * film * 2000 / VOLUMETRIC_HEAT, np.round(spread(2.0, 8.0), 1))

    setpoint = np.where(chance(0.7), np.round(flat(150, 280)), np.round(flat(380, 580)))
    ambient = flat(10, 30)
    size = spread(0.5, 3.0)
    wall_loss = size * spread(0.8, 2.5)
    holding_power = wall_loss * (setpoint - ambient)
    # A hot oven is seldom as much too strong as a cool one: its heater would glow.
    power = holding_power * np.where(setpoint < 300, spread(1.8, 6.0), spread(1.6, 3.0))

    on_off = chance(0.4)
    winds_up = ~on_off & chance(0.4)

    preheated = chance(0.5)
    load = np.where(preheated, np.round(flat(2400, 4800)), 0.0)
    first = np.where(preheated, load + 900, 5400)
    off = np.round(first + 3600 * spread(0.7, 3.0))
    ending = rng.choice(3, n, p=(0.4, 0.3, 0.3))
    end = off + np.where(ending == 2, 0, np.round(flat(1800, 5400)))
    door = np.stack([np.where(preheated, load - 2, np.nan), first + (off - first) * flat(0, 0.9), flat(0, 1)], 1)
    door[:, 1] = np.where(chance(0.4), door[:, 1], np.nan)
    door[:, 2] = np.where(chance(0.15), first + (off - first) * door[:, 2], np.nan)
    return Ovens(
        knowledge=knowledge,
        fan=fan,
        setpoint_c=setpoint,
        ambient_c=ambient,
        power=power,
        element_capacity=size * spread(300, 2500),
        element_to_air=size * flat(5, 12),
        air_capacity=size * flat(80, 120),
        air_to_rack=size * flat(5, 10),
        rack_capacity=size * flat(600, 2000),
        air_to_wall=size * spread(5, 14),
        wall_capacity=size * spread(3000, 9000),
        wall_loss=wall_loss,
        door_loss=size * flat(5, 10),
        hysteresis_delta_c=np.where(on_off, spread(0.5, 5), 0.0),
        gain=spread(0.01, 0.06),
        integral_s=np.where(winds_up, spread(200, 700), spread(600, 1800)),
        integral_limit=np.where(winds_up, flat(0.8, 1.3), 1.0),
        winds_up=winds_up,
        thickness_mm=thickness,
        film=film,
        part_capacity=size * flat(150, 600),
        position_delta_c=flat(-POSITION_DELTA_C, POSITION_DELTA_C),
        view_factor=np.where(chance(0.2), flat(0.0, 0.02), 0.0),
        beside_delta_c=rng.normal(0, 0.7 * BESIDE_DELTA_C, n),
        probe_weight=flat(0.6, 1.0),
        probe_lag_s=flat(3, 20),
        air_lag_s=spread(5, 60),
        probe_outside=chance(0.3),
        load_s=load,
        door_s=door,
        door_for_s=np.round(rng.uniform(10, 40, (n, 3))),
        off_s=off,
        end_s=end,
        ending=ending,
        c=flat(15, 20),
    )
