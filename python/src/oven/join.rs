//! `join_logs`: one oven, a file for each channel.

use afterquench::oven::{JoinOptions, OvenLog as Core, Role, join_logs as core_join};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::log::OvenLog;
use super::read::role;
use crate::arguments::argument_type;
use crate::errors::OrRaise;

/// Puts logs of one oven, a file for each channel, on one time.
///
/// Each file's clock is believed, less what clock_ahead_s says, and stands in a note of kind "clock offset". Nothing is
/// interpolated: readings of two files that lie near enough make one row at the first file's time, and the note says how
/// many were moved and how far; the others have rows of their own, in which the other channels have no reading.
///
/// Parameters
/// ----------
/// logs : dict
///     Two or more logs by role, {"air": read_log("a_T1.csv"), "part_side": read_log("a_T2.csv")}; the first one's clock
///     rules. A lone temperature column becomes what it is given as.
/// clock_ahead_s : dict, optional
///     By role, how many seconds that file's clock shows more than the first's at the same moment. For files of which
///     one counts and another shows a clock it is needed: it then compares the counter with the seconds since the other's
///     first row.
/// pair_within_s : float, optional
///     How far apart in s readings of two files may be and still make one row; without it half the shorter sampling
///     interval. 0 leaves each reading at its own time.
/// load_s : float, optional
///     Elapsed seconds of the joined log at which the part went in; without it what the files' own logs say.
///
/// Returns
/// -------
/// OvenLog
///     Its elapsed seconds begin with the earliest row, or stay those of counters.
///
/// Raises
/// ------
/// RefusedError
///     For logs that never ran together by their clocks, for clocks of different kinds without an offset, and for a log
///     without the channel it is given for.
/// OutOfRangeError
///     For a load_s outside the joined log.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> air = aq.read_log(b"clock,T1_degc\n10:00:00,20\n10:00:10,40\n10:00:20,60\n")
/// >>> part = aq.read_log(b"clock,T2_degc\n10:00:32,20\n10:00:42,25\n10:00:52,33\n")
/// >>> aq.join_logs({"air": air, "part_side": part}, clock_ahead_s={"part_side": 30}).to_frame()
///    elapsed_s   air  part_side
/// 0        0.0  20.0       20.0
/// 1       10.0  40.0       25.0
/// 2       20.0  60.0       33.0
#[pyfunction]
#[pyo3(signature = (logs, *, clock_ahead_s=None, pair_within_s=None, load_s=None))]
fn join_logs(
    py: Python<'_>,
    logs: &Bound<'_, PyDict>,
    clock_ahead_s: Option<&Bound<'_, PyDict>>,
    pair_within_s: Option<f64>,
    load_s: Option<f64>,
) -> PyResult<OvenLog> {
    let given: Vec<(Role, Bound<'_, OvenLog>)> = logs
        .iter()
        .map(|(name, log)| {
            let kind = log.get_type().name()?.to_string();
            let log = log.cast_into::<OvenLog>().map_err(|_| {
                let hint = "Read each file with read_log first".to_owned();
                argument_type(py, "join_logs", "logs", format!("a {kind} is no OvenLog"), hint)
            })?;
            Ok((role(py, &name.str()?.to_cow()?)?, log))
        })
        .collect::<PyResult<_>>()?;
    let ahead = clock_ahead_s.map(|given| {
        given
            .iter()
            .map(|(name, seconds)| {
                let seconds = seconds.extract().map_err(|_| {
                    let hint = "Write {\"part_side\": 37.0}".to_owned();
                    argument_type(py, "join_logs", "clock_ahead_s", "an offset is a number of seconds".into(), hint)
                })?;
                Ok((role(py, &name.str()?.to_cow()?)?, seconds))
            })
            .collect::<PyResult<Vec<_>>>()
    });
    let options = JoinOptions { clock_ahead_s: ahead.transpose()?.unwrap_or_default(), pair_within_s, load_s };
    let gaps = given.first().map_or_else(|| "bound".to_owned(), |(_, log)| log.get().gaps.clone());
    let cores: Vec<(Role, &Core)> = given.iter().map(|(role, log)| (*role, &log.get().core)).collect();
    let core = py.detach(|| core_join(&cores, &options)).or_raise(py)?;
    Ok(OvenLog { core, gaps })
}

/// Adds the function to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(join_logs, module)?)
}
