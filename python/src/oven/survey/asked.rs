//! What a survey is asked with: a frame, corrections, the steady time.

use afterquench::oven::{
    Correction, SurveyColumn, SurveyOptions, read_named_corrections, survey as analysed, survey_columns,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::{Any, Survey};
use crate::arguments::{argument_type, column};
use crate::errors::OrRaise;
use crate::oven::source::{content, table_text};

/// The columns of a frame, a mapping, or a plain CSV file.
fn columns_of(frame: &Any<'_>) -> PyResult<Vec<SurveyColumn>> {
    let py = frame.py();
    let names = if frame.hasattr("columns")? {
        frame.getattr("columns")?
    } else if frame.hasattr("keys")? {
        frame.call_method0("keys")?
    } else {
        let (bytes, name) = content(frame)?.loaded(frame.py())?;
        return survey_columns(&bytes, &name).or_raise(py);
    };
    names
        .try_iter()?
        .map(|name| {
            let name = name?;
            let given = frame.get_item(&name)?;
            let length = given.len()?;
            // A column of text is no sensor; the core notes that it was not used.
            let values = column("survey", &name.str()?.to_cow()?, &given).unwrap_or_else(|_| vec![f64::NAN; length]);
            Ok(SurveyColumn { name: name.str()?.to_string(), values })
        })
        .collect()
}

/// Corrections by the sensor's name.
fn corrections_of(given: &Any<'_>) -> PyResult<Vec<(String, Correction)>> {
    let py = given.py();
    if let Ok(table) = given.cast::<PyDict>() {
        return table
            .iter()
            .map(|(name, correction)| {
                let (value_delta_c, u_delta_c) = correction
                    .extract::<(f64, f64)>()
                    .or_else(|_| correction.extract::<f64>().map(|value| (value, 0.0)))
                    .map_err(|_| {
                        let why = "a correction is a number or a pair of numbers".to_owned();
                        let hint = "Write {\"s1\": (value_delta_c, u_delta_c)}".to_owned();
                        argument_type(py, "survey", "corrections", why, hint)
                    })?;
                Ok((name.str()?.to_string(), Correction { value_delta_c, u_delta_c }))
            })
            .collect();
    }
    let (bytes, name) = if given.hasattr("columns")? {
        (table_text(given)?, "corrections".into())
    } else {
        content(given)?.loaded(given.py())?
    };
    read_named_corrections(&bytes, &name).or_raise(py)
}

/// How even an oven is, from a survey with several sensors.
///
/// Parameters
/// ----------
/// frame : DataFrame, mapping of columns, or path
///     Columns elapsed_s (or _min, _h), one a sensor (s1_degc, s2_degc ...; _degf is converted), and the control sensor
///     where the record has it (control_degc).
/// setpoint_c : float
///     The set point in °C.
/// corrections : dict, DataFrame or path, optional
///     What to add to each sensor's readings: {"s1": (value_delta_c, u_delta_c)}, or a table with the columns sensor,
///     correction_to_add_degc and expanded_uncertainty_k2_degc, which is halved.
/// from_s, until_s : float, optional
///     The steady time in elapsed seconds; without it the last 30 minutes of the record, of one under 45 minutes the
///     second half, which a note says.
/// control : str, optional
///     The control sensor's column, where its heading does not say so.
/// room_c : float, optional
///     Room temperature, for limits that are a share of the rise above it; 20 °C without it.
///
/// Returns
/// -------
/// Survey
///
/// Raises
/// ------
/// DataFileError
///     For columns that are no survey, or leave the unit open.
/// UnknownNameError
///     For corrections of sensors that there are not.
/// InvalidValueError
///     For a set point or a steady time that can't be.
///
/// Notes
/// -----
/// Limits stand beside the numbers found and are never a verdict of a standard's class: that needs the standard's own
/// procedure. Excursions are about the set point, so a constant offset counts (AMS2750G, definition 2.2.76).
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> frame = {"elapsed_s": [0, 600, 1200, 1800], "s1_degc": [198.2, 201, 200, 199], "s2_degc": [203.1, 205.6, 204, 204]}
/// >>> found = aq.survey(frame, 200, {"s1": (0.0, 0.3), "s2": (0.0, 0.3)}, from_s=0)
/// >>> round(found.above_delta_c, 1), round(found.below_delta_c, 1), found.hottest.name
/// (5.6, -1.8, 's2')
#[pyfunction]
#[pyo3(signature = (frame, setpoint_c, corrections=None, *, from_s=None, until_s=None, control=None, room_c=None))]
pub(super) fn survey(
    py: Python<'_>,
    frame: &Any<'_>,
    setpoint_c: f64,
    corrections: Option<&Any<'_>>,
    from_s: Option<f64>,
    until_s: Option<f64>,
    control: Option<String>,
    room_c: Option<f64>,
) -> PyResult<Survey> {
    let corrections = corrections.map(corrections_of).transpose()?.unwrap_or_default();
    let options = SurveyOptions { corrections, from_s, until_s, control, room_c };
    Ok(Survey { core: analysed(&columns_of(frame)?, setpoint_c, &options).or_raise(py)? })
}
