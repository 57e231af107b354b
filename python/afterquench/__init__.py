"""Tempering metallurgy: plan a temper, read what the steel got, judge the hardness, learn from coupons."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .errors import *  # noqa: F403
from .errors import __all__ as _errors
from ._native import Estimate, __version__, set_threads, threads

__all__ = ["Estimate", "__version__", "set_threads", "threads", *_errors]

# Time against temperature.
from ._native import (
    History,
    accumulate,
    combine,
    constant_from_carbon,
    constant_from_carbon_estimate,
    constant_from_seconds,
    constant_to_seconds,
    equivalent_temperature,
    equivalent_temperature_estimate,
    equivalent_time,
    equivalent_time_activation,
    mean_kinetic_temperature,
    equivalent_time_estimate,
    implied_activation_energy,
    implied_activation_energy_estimate,
    temper_parameter,
    temper_parameter_estimate,
    two_hour_equivalent,
    two_hour_equivalent_estimate,
)

__all__ += [
    "History",
    "accumulate",
    "combine",
    "constant_from_carbon",
    "constant_from_carbon_estimate",
    "constant_from_seconds",
    "constant_to_seconds",
    "equivalent_temperature",
    "equivalent_temperature_estimate",
    "equivalent_time",
    "equivalent_time_activation",
    "mean_kinetic_temperature",
    "equivalent_time_estimate",
    "implied_activation_energy",
    "implied_activation_energy_estimate",
    "temper_parameter",
    "temper_parameter_estimate",
    "two_hour_equivalent",
    "two_hour_equivalent_estimate",
]

# Statistics that laboratories ask for by name.
from ._native import effective_degrees_of_freedom, grubbs, grubbs_critical, student_factor

__all__ += ["effective_degrees_of_freedom", "grubbs", "grubbs_critical", "student_factor"]

# Curves.
from ._native import Root, TemperingCurve

__all__ += ["Root", "TemperingCurve"]

# A shop's own coupons.
from ._native import (
    BatchPool,
    CouponDesign,
    CouponFit,
    NotDetermined,
    design_coupons,
    fit_coupons,
    pool_batches,
)

__all__ += [
    "BatchPool",
    "CouponDesign",
    "CouponFit",
    "NotDetermined",
    "design_coupons",
    "fit_coupons",
    "pool_batches",
]

# Steels.
from ._native import (
    CompositionSteel,
    HardeningJudgement,
    Hazard,
    Steel,
    ToughnessSeries,
    as_quenched_hardness,
    as_quenched_hardness_estimate,
    hazards_of_composition,
    hardness_from_composition,
    hardness_from_composition_estimate,
    judge_hardening,
    martensite_start,
    steel,
    steels,
    temper_colours,
    toughness,
)

__all__ += [
    "CompositionSteel",
    "HardeningJudgement",
    "Hazard",
    "Steel",
    "ToughnessSeries",
    "as_quenched_hardness",
    "as_quenched_hardness_estimate",
    "hazards_of_composition",
    "hardness_from_composition",
    "hardness_from_composition_estimate",
    "judge_hardening",
    "martensite_start",
    "steel",
    "steels",
    "temper_colours",
    "toughness",
]

# What models say of themselves.
from ._native import cite, models

__all__ += ["cite", "models"]

# Questions that a caution with its source answers.
from ._native import Advice, advice, advice_topics

__all__ += ["Advice", "advice", "advice_topics"]

# Hardness.
from ._native import (
    Comparison,
    ConversionTable,
    Decision,
    Decisions,
    Doubt,
    HardnessList,
    HardnessScale,
    Readings,
    Tester,
    TesterBlocks,
    acceptance_zone,
    brinell_hardness,
    compare_results,
    conversion_tables,
    convert_hardness,
    convert_hardness_estimate,
    curvature_correction,
    decide,
    hardness_scales,
    knoop_hardness,
    mean_half_width,
    minimum_edge_distance_mm,
    minimum_spacing_mm,
    minimum_thickness_mm,
    readings_needed,
    rockwell_hardness,
    tester_from_block,
    tester_from_blocks,
    thickness_rules,
    vickers_diagonal_um,
    vickers_hardness,
)

__all__ += [
    "Comparison",
    "ConversionTable",
    "Decision",
    "Decisions",
    "Doubt",
    "HardnessList",
    "HardnessScale",
    "Readings",
    "Tester",
    "TesterBlocks",
    "acceptance_zone",
    "brinell_hardness",
    "compare_results",
    "conversion_tables",
    "convert_hardness",
    "convert_hardness_estimate",
    "curvature_correction",
    "decide",
    "hardness_scales",
    "knoop_hardness",
    "mean_half_width",
    "minimum_edge_distance_mm",
    "minimum_spacing_mm",
    "minimum_thickness_mm",
    "readings_needed",
    "rockwell_hardness",
    "tester_from_block",
    "tester_from_blocks",
    "thickness_rules",
    "vickers_diagonal_um",
    "vickers_hardness",
]

# The oven.
from ._native import (
    Gap,
    OvenLog,
    Repair,
    Soak,
    biot_number,
    dip_delta_c,
    lost_hold_min,
    radiation_offset_delta_c,
    read_history,
    join_logs,
    read_log,
    swing_amplitude_delta_c,
    time_constant_s,
    time_to_within,
)

__all__ += [
    "Gap",
    "OvenLog",
    "Repair",
    "Soak",
    "biot_number",
    "dip_delta_c",
    "lost_hold_min",
    "radiation_offset_delta_c",
    "read_history",
    "join_logs",
    "read_log",
    "swing_amplitude_delta_c",
    "time_constant_s",
    "time_to_within",
]

# How even an oven is.
from ._native import OvenNeeded, PublishedLimit, Survey, SurveyPlace, survey

__all__ += ["OvenNeeded", "PublishedLimit", "Survey", "SurveyPlace", "survey"]

# What is wrong with a sensor.
from ._native import Fault, SensorExplanation, explain_sensor, wrong_type_temperature

__all__ += ["Fault", "SensorExplanation", "explain_sensor", "wrong_type_temperature"]

# Sensors.
from ._native import (
    emf_to_temperature,
    pt100_resistance,
    pt100_temperature,
    pt100_tolerance,
    seebeck_coefficient,
    sensor_correction,
    sensor_correction_estimate,
    temperature_to_emf,
    thermocouple_tolerance,
)

__all__ += [
    "emf_to_temperature",
    "pt100_resistance",
    "pt100_temperature",
    "pt100_tolerance",
    "seebeck_coefficient",
    "sensor_correction",
    "sensor_correction_estimate",
    "temperature_to_emf",
    "thermocouple_tolerance",
]

# Heat into a part.
from ._native import (
    Through,
    conductivity_w_mk,
    is_through,
    radiant_part_c,
    radiation_coefficient_w_m2k,
    section_modes,
    section_temperature_c,
    specific_heat_j_kgk,
)

__all__ += [
    "Through",
    "conductivity_w_mk",
    "is_through",
    "radiant_part_c",
    "radiation_coefficient_w_m2k",
    "section_modes",
    "section_temperature_c",
    "specific_heat_j_kgk",
]

# The oven while it runs, how it behaves, and its controller.
from ._native import (
    Behaviour,
    ControllerSettings,
    DoorEvent,
    OvenModel,
    OvenWatch,
    controller_settings,
    heat_up_time_s,
    identify_oven,
    identify_two_point,
    on_off_swing,
    step_metrics,
    half_rule,
    loop_margins,
    overshoot_percent,
    settings_of_ultimate,
    ultimate_point,
    ultimate_point_of_lags,
)

__all__ += [
    "Behaviour",
    "ControllerSettings",
    "DoorEvent",
    "OvenModel",
    "OvenWatch",
    "controller_settings",
    "heat_up_time_s",
    "identify_oven",
    "identify_two_point",
    "on_off_swing",
    "step_metrics",
    "half_rule",
    "loop_margins",
    "overshoot_percent",
    "settings_of_ultimate",
    "ultimate_point",
    "ultimate_point_of_lags",
]

# Plans.
from ._native import Cause, Explanation, Plan, Schedule, explain_soft, plan, retemper

__all__ += ["Cause", "Explanation", "Plan", "Schedule", "explain_soft", "plan", "plot", "report", "retemper"]

# Drift.
from ._native import Monitor, monitor, process_capability

__all__ += ["Monitor", "monitor", "process_capability"]


# Several steels in one load.
from ._native import CommonWindow, common_window

__all__ += ["CommonWindow", "common_window"]

# Pictures and sheets: modules that are imported at their first use, so that importing the package stays cheap.
if TYPE_CHECKING:
    from . import plot as plot
    from . import report as report
else:

    def __getattr__(name: str) -> object:
        if name in {"plot", "report"}:
            import importlib

            return importlib.import_module(f".{name}", __name__)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    """What is public; the modules that are imported at their first use are offered before it."""
    return sorted(__all__)
