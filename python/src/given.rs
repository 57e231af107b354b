//! The plain arguments of calls, each by its name, so that what is no number or no text is refused in words.
//!
//! Left to itself the binding layer says "must be real number, not list" and neither which argument nor what to do.

use pyo3::prelude::*;
use pyo3::types::{PyInt, PyString};

use crate::arguments::{argument_type, number};

type Any<'py> = Bound<'py, PyAny>;

/// A text.
fn text<'a>(function: &str, argument: &str, given: &'a Any<'_>) -> PyResult<&'a str> {
    let Ok(text) = given.cast::<PyString>() else {
        let why = format!("a {} is no text", kind_of(given));
        let hint = format!("Write it in quotes, as {argument}=\"...\"; the docstring lists what it may be");
        return Err(argument_type(given.py(), function, argument, why, hint));
    };
    text.to_str()
}

/// A whole number.
fn whole<'py, T: FromPyObjectOwned<'py>>(function: &str, argument: &str, given: &Any<'py>) -> PyResult<T> {
    given.extract::<T>().map_err(|_| {
        let (why, hint) = if given.is_instance_of::<PyInt>() {
            ("it is a whole number beyond what can be counted here".to_owned(), "Give a small positive one")
        } else {
            (format!("a {} is no whole number", kind_of(given)), "Give a whole number, as 2")
        };
        argument_type(given.py(), function, argument, why, hint.to_owned())
    })
}

/// Two numbers.
fn pair(function: &str, argument: &str, given: &Any<'_>) -> PyResult<(f64, f64)> {
    given.extract().map_err(|_| {
        let why = format!("a {} is no pair of numbers", kind_of(given));
        argument_type(given.py(), function, argument, why, format!("Write {argument}=(a, b), two numbers in brackets"))
    })
}

/// True or False.
fn truth(function: &str, argument: &str, given: &Any<'_>) -> PyResult<bool> {
    given.extract().map_err(|_| {
        let why = format!("a {} is neither True nor False", kind_of(given));
        argument_type(given.py(), function, argument, why, format!("Write {argument}=True or {argument}=False"))
    })
}

/// Names in a list; one text is no list of its letters.
fn names(function: &str, argument: &str, given: &Any<'_>) -> PyResult<Vec<String>> {
    let names = if given.is_instance_of::<PyString>() { None } else { given.extract().ok() };
    names.ok_or_else(|| {
        let why = format!("a {} is no list of names", kind_of(given));
        argument_type(given.py(), function, argument, why, format!("Write {argument}=[\"a\", \"b\"]"))
    })
}

fn kind_of(given: &Any<'_>) -> String {
    given.get_type().name().map_or_else(|_| "thing".to_owned(), |name| name.to_string())
}

fn optional<'a, 'py, T>(given: &'a Any<'py>, read: impl FnOnce(&'a Any<'py>) -> PyResult<T>) -> PyResult<Option<T>> {
    if given.is_none() { Ok(None) } else { read(given).map(Some) }
}

/// A function for each argument of a call, for `from_py_with`.
macro_rules! given {
    ($($call:ident $function:literal {
        $(number $($number:ident)+;)?
        $(maybe_number $($maybe_number:ident)+;)?
        $(text $($text:ident)+;)?
        $(maybe_text $($maybe_text:ident)+;)?
        $(whole $($whole:ident: $type:ty)+;)?
        $(pair $($pair:ident)+;)?
        $(maybe_pair $($maybe_pair:ident)+;)?
        $(truth $($truth:ident)+;)?
        $(names $($names:ident)+;)?
    })*) => {
        $(
            pub mod $call {
                use super::*;
                $($(pub fn $number(given: &Any<'_>) -> PyResult<f64> {
                    number($function, stringify!($number), given)
                })+)?
                $($(pub fn $maybe_number(given: &Any<'_>) -> PyResult<Option<f64>> {
                    optional(given, |given| number($function, stringify!($maybe_number), given))
                })+)?
                $($(pub fn $text<'a>(given: &'a Any<'_>) -> PyResult<&'a str> {
                    super::text($function, stringify!($text), given)
                })+)?
                $($(pub fn $maybe_text<'a>(given: &'a Any<'_>) -> PyResult<Option<&'a str>> {
                    optional(given, |given| super::text($function, stringify!($maybe_text), given))
                })+)?
                $($(pub fn $whole(given: &Any<'_>) -> PyResult<$type> {
                    super::whole($function, stringify!($whole), given)
                })+)?
                $($(pub fn $pair(given: &Any<'_>) -> PyResult<(f64, f64)> {
                    super::pair($function, stringify!($pair), given)
                })+)?
                $($(pub fn $truth(given: &Any<'_>) -> PyResult<bool> {
                    super::truth($function, stringify!($truth), given)
                })+)?
                $($(pub fn $maybe_pair(given: &Any<'_>) -> PyResult<Option<(f64, f64)>> {
                    optional(given, |given| super::pair($function, stringify!($maybe_pair), given))
                })+)?
                $($(pub fn $names(given: &Any<'_>) -> PyResult<Vec<String>> {
                    super::names($function, stringify!($names), given)
                })+)?
            }
        )*
    };
}

given! {
    plan "plan" {
        number time_h position_delta_c sensor_delta_c controller_delta_c time_spread_min;
        maybe_number oven_limit_c thickness_mm u_curve u_batch;
        text surroundings;
        whole cycles: i64;
    }
    retemper "retemper" {
        number time_h u_measured position_delta_c sensor_delta_c controller_delta_c time_spread_min;
        maybe_number oven_limit_c;
    }
    explain_soft "explain_soft" {
        number u_measured;
        maybe_number u_curve u_batch;
        maybe_pair held place_delta_c;
    }
    common_window "common_window" {
        number time_h position_delta_c sensor_delta_c controller_delta_c time_spread_min;
        whole cycles: i64;
    }
    decide "decide" {
        maybe_number lower upper u_conversion;
        text scale table;
    }
    acceptance_zone "acceptance_zone" {
        number u;
        maybe_number lower upper;
    }
    monitor "monitor" {
        number weight width u_reference;
        maybe_number limit centre;
    }
    process_capability "process_capability" {
        number mean standard_deviation;
        maybe_number lower upper;
    }
    fit_coupons "fit_coupons" {
        maybe_number repeatability_sd_hrc coupon_sd_hrc;
        text shape;
        maybe_text name;
        names leave_out;
    }
    pool_batches "pool_batches" {
        maybe_number coupon_sd_hrc;
        text method;
    }
    design_coupons "design_coupons" {
        number u_run_temperature_c cost_per_oven_hour cost_per_coupon warm_up_h;
        maybe_number u_level u_slope u_c scatter_hrc slope c u_tester temperature_c time_h;
        pair times_h;
        maybe_pair temperatures_c;
        truth parabola;
    }
    convert_hardness "convert_hardness" {
        text from_scale to_scale table bracketed;
        maybe_text out_of_range;
    }
    convert_hardness_estimate "convert_hardness_estimate" {
        maybe_number u_conversion;
        text from_scale to_scale table bracketed;
    }
    readings "Readings" {
        maybe_number thickness_mm diameter_mm edge_distance_mm resolution roughness_um;
        text scale;
    }
    readings_estimate "Readings.estimate" {
        maybe_number u_conversion;
        text table;
        maybe_text scale;
    }
    monte_carlo "Readings.monte_carlo" {
        maybe_number u_conversion;
        text table;
        maybe_text scale;
        whole draws: usize seed: u64;
    }
    tester_from_block "tester_from_block" {
        number block_value block_expanded_uncertainty_k2;
        text scale;
    }
    minimum_thickness_mm "minimum_thickness_mm" {
        text scale;
        maybe_text rule out_of_range;
    }
    thickness_rules "thickness_rules" {
        number value;
        text scale;
    }
    minimum_edge_distance_mm "minimum_edge_distance_mm" {
        number value;
        text scale;
    }
    minimum_spacing_mm "minimum_spacing_mm" {
        number value;
        text scale;
    }
    curvature_correction "curvature_correction" {
        text scale;
        maybe_text out_of_range;
    }
    brinell_hardness "brinell_hardness" {
        number force_kgf ball_mm diameter_mm;
    }
    vickers_hardness "vickers_hardness" {
        number force_kgf diagonal_um;
    }
    vickers_diagonal_um "vickers_diagonal_um" {
        number force_kgf hardness_hv;
    }
    knoop_hardness "knoop_hardness" {
        number force_kgf diagonal_um;
    }
    rockwell_hardness "rockwell_hardness" {
        number depth_mm;
        text scale;
        maybe_text out_of_range;
    }
    estimate "Estimate" {
        number value u;
        text unit;
    }
    readings_needed "readings_needed" {
        number half_width sd coverage;
    }
}
