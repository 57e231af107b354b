"""Runs the ovens second by second, and integrates what each part really got.

Lumped heat balances of element, air, rack, wall and part, each state taken exponentially to the balance of its second,
so that no step is too long for a light one:

    element  C_e dTe/dt = P duty - h_ea (Te - Ta)
    air      C_a dTa/dt = h_ea (Te - Ta) + h_ar (Tr - Ta) + h_aw (Tw - Ta) + h_p (Tp - Ta) + h_door (Tamb - Ta)
    wall     C_w dTw/dt = h_aw (Ta - Tw) - loss (Tw - Tamb)
    part     rho c V/A dTp/dt = h (Ta + position - Tp) + (F/2) emissivity sigma (Te^4 - Tp^4)
    probe    lag dS/dt = w Tp + (1 - w) (Ta + position) + beside - S

What the part got is the tempering parameter T (C + log10 t), stepped by equivalent times: the time at the present
temperature that would have left what there is already, plus the second that passes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from oven_truth.ovens import VOLUMETRIC_HEAT, Floats, Ovens

KELVIN = 273.15
STEFAN_BOLTZMANN = 5.670374e-8
EMISSIVITY = 0.8


@dataclass(frozen=True)
class Runs:
    """What happened, one row a second and one column an oven; the sensors are still without fault."""

    air_sensor_c: np.ndarray
    probe_c: np.ndarray
    part_c: np.ndarray
    duty: np.ndarray
    two_hour_equivalent_c: Floats


def stepped_parameter(parameter: Floats, temperature_c: Floats, seconds: float, c: Floats) -> Floats:
    """The parameter after so many seconds more at a temperature; NaN is a part that has had nothing yet."""
    kelvin = temperature_c + KELVIN
    had_h = np.where(np.isnan(parameter), 0.0, 10.0 ** np.clip(parameter / kelvin - c, -300, 300))
    return kelvin * (c + np.log10(had_h + seconds / 3600))


def two_hour_equivalent(parameter: Floats, c: Floats) -> Floats:
    """The flat temperature that leaves this parameter in two hours."""
    return parameter / (c + np.log10(2.0)) - KELVIN


def run(ovens: Ovens) -> Runs:
    """Runs every oven to the end of its day."""
    o = ovens
    n, seconds = len(o), int(o.end_s.max()) + 1
    ambient = o.ambient_c
    element, air, rack, wall, part, air_sensor = (ambient.copy() for _ in range(6))
    probe = ambient.copy()
    integral = np.zeros(n)
    duty = np.zeros(n)
    parameter = np.full(n, np.nan)
    hot_side = o.setpoint_c - ambient
    on_off = o.hysteresis_delta_c > 0
    air_toward = 1 - np.exp(-1 / o.air_lag_s)
    probe_toward = 1 - np.exp(-1 / o.probe_lag_s)
    door_from, door_to = o.door_s, o.door_s + o.door_for_s
    seen = np.empty((4, seconds, n), dtype=np.float32)

    for second in range(seconds):
        loaded = second >= o.load_s
        on = second < o.off_s
        short = o.setpoint_c - air_sensor
        switched = np.where(short > o.hysteresis_delta_c, 1.0, np.where(short < -o.hysteresis_delta_c, 0.0, duty))
        wanted = o.gain * (short + integral)
        limit = o.integral_limit / o.gain
        saturated = (wanted > 1) & (short > 0) | (wanted < 0) & (short < 0)
        integral = np.where(
            saturated & ~o.winds_up, integral, np.clip(integral + short / o.integral_s, -0.1 * limit, limit)
        )
        duty = np.where(on, np.where(on_off, switched, np.clip(wanted, 0, 1)), 0.0)

        opened = ((second >= door_from) & (second < door_to)).any(1)
        ajar = ~on & (o.ending == 1)
        door = o.door_loss * np.where(opened, 1.0, np.where(ajar, 0.12, 0.0))

        place = o.position_delta_c * np.clip((air - ambient) / hot_side, 0, 1)
        film = o.film * (0.9 + 0.2 * np.clip((air - ambient) / hot_side, 0, 1))
        areal = VOLUMETRIC_HEAT * o.thickness_mm / 2000
        to_part = np.where(loaded, o.part_capacity * film / areal, 0.0)
        glow = o.view_factor / 2 * EMISSIVITY * STEFAN_BOLTZMANN * ((element + KELVIN) ** 4 - (part + KELVIN) ** 4)

        element_next = toward(element, o.power * duty + o.element_to_air * air, o.element_to_air, o.element_capacity)
        air_next = toward(
            air,
            o.element_to_air * element + o.air_to_rack * rack + o.air_to_wall * wall + to_part * part + door * ambient,
            o.element_to_air + o.air_to_rack + o.air_to_wall + to_part + door,
            o.air_capacity,
        )
        rack = toward(rack, o.air_to_rack * air, o.air_to_rack, o.rack_capacity)
        wall = toward(wall, o.air_to_wall * air + o.wall_loss * ambient, o.air_to_wall + o.wall_loss, o.wall_capacity)
        part_next = np.where(loaded, toward(part, film * (air + place) + glow, film, areal), ambient)

        beside = o.beside_delta_c * np.clip((part - ambient) / hot_side, 0, 1)
        before = np.where(o.probe_outside, ambient, air + place)
        probe_sees = np.where(loaded, o.probe_weight * part + (1 - o.probe_weight) * (air + place) + beside, before)
        air_sensor = air_sensor + air_toward * (air - air_sensor)
        probe = probe + probe_toward * (probe_sees - probe)
        counted = loaded & (second <= o.end_s)
        parameter = np.where(counted, stepped_parameter(parameter, (part + part_next) / 2, 1.0, o.c), parameter)
        element, air, part = element_next, air_next, part_next
        seen[:, second] = air_sensor, probe, part, duty
    return Runs(seen[0], seen[1], seen[2], seen[3], two_hour_equivalent(parameter, o.c))


def toward(state: Floats, inflow: Floats, conductance: Floats, capacity: Floats) -> Floats:
    """One second of capacity dT/dt = inflow - conductance T, exact where inflow and conductance stand."""
    balance = inflow / conductance
    return balance + (state - balance) * np.exp(-conductance / capacity)
