//! What a log can come as: a path, bytes, a buffer, a table file, or columns of any kind.

use std::path::PathBuf;

use afterquench::Error;
use afterquench::oven::{OvenLog, ReadOptions, Values, read_log_bytes, read_log_columns, read_log_telling};
use numpy::{PyArray1, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyString};

use crate::arguments::argument_type;
use crate::errors::OrRaise;

type Any<'py> = Bound<'py, PyAny>;

/// The content of a source that is no table in memory.
pub enum Content {
    /// A file that can be read in pieces.
    File(PathBuf),
    /// Bytes and a name for them.
    Bytes(Vec<u8>, String),
}

/// The path of a source, the bytes of bytes or of a buffer.
pub fn content(source: &Any<'_>) -> PyResult<Content> {
    let py = source.py();
    if let Ok(bytes) = source.cast::<PyBytes>() {
        return Ok(Content::Bytes(bytes.as_bytes().to_vec(), "bytes".into()));
    }
    if source.hasattr("read")? {
        let name = source.getattr("name").and_then(|name| name.extract::<String>()).unwrap_or_else(|_| "buffer".into());
        let read = source.call_method0("read")?;
        if let Ok(text) = read.cast::<PyString>() {
            return Ok(Content::Bytes(text.to_cow()?.as_bytes().to_vec(), name));
        }
        return Ok(Content::Bytes(read.extract()?, name));
    }
    if source.is_instance_of::<PyString>() || source.hasattr("__fspath__")? {
        if let Ok(text) = source.cast::<PyString>() {
            if text.to_cow()?.contains(['\n', '\r']) {
                let hint = "For the text of a log give text.encode() or io.StringIO(text)".to_owned();
                let why = "a text with line breaks is no path".to_owned();
                return Err(argument_type(py, "read_log", "source", why, hint));
            }
        }
        return Ok(Content::File(source.extract()?));
    }
    if let Ok(bytes) = source.extract::<Vec<u8>>() {
        return Ok(Content::Bytes(bytes, "bytes".into()));
    }
    let kind = source.get_type().name()?.to_string();
    let several = matches!(kind.as_str(), "list" | "tuple");
    let hint = if several {
        "Read each file by itself, and put them on one time with join_logs({\"air\": ..., \"part_side\": ...})"
    } else {
        "Give a path, bytes, an open file, a table or a dict of columns"
    }
    .to_owned();
    Err(argument_type(py, "read_log", "source", format!("a {kind} is no log"), hint))
}

impl Content {
    /// All of it in memory, with its name.
    pub fn loaded(self, py: Python<'_>) -> PyResult<(Vec<u8>, String)> {
        let path = match self {
            Self::Bytes(bytes, name) => return Ok((bytes, name)),
            Self::File(path) => path,
        };
        let name = path.display().to_string();
        let read = py.detach(|| std::fs::read(&path)).map_err(|error| Error::DataFile {
            file: name.clone(),
            line: None,
            column: None,
            why: format!("it can't be read ({error})").into(),
            hint: "Check the path".into(),
        });
        Ok((read.or_raise(py)?, name))
    }

    /// The first bytes, which tell Parquet and Feather from text.
    fn begins(&self) -> Vec<u8> {
        let mut begin = Vec::new();
        match self {
            Self::Bytes(bytes, _) => begin.extend(bytes.iter().take(8)),
            Self::File(path) => {
                if let Ok(file) = std::fs::File::open(path) {
                    let _ = std::io::Read::read_to_end(&mut std::io::Read::take(file, 8), &mut begin);
                }
            }
        }
        begin
    }

    /// The table in a Parquet or Feather file, if it is one.
    fn table<'py>(&self, py: Python<'py>) -> PyResult<Option<Any<'py>>> {
        let begin = self.begins();
        let (module, function, format) = if begin.starts_with(b"PAR1") {
            ("pyarrow.parquet", "read_table", "Parquet")
        } else if begin.starts_with(b"ARROW1") || begin.starts_with(b"FEA1") {
            ("pyarrow.feather", "read_table", "Feather")
        } else {
            return Ok(None);
        };
        let reader = py.import(module).map_err(|_| {
            let hint = "Install it with pip install \"afterquench[frames]\"".to_owned();
            argument_type(
                py,
                "read_log",
                "source",
                format!("{format} files need pyarrow, which is not installed"),
                hint,
            )
        })?;
        let (source, name) = match self {
            Self::File(path) => (path.as_os_str().into_pyobject(py)?.into_any(), path.display().to_string()),
            Self::Bytes(bytes, name) => {
                (py.import("pyarrow")?.getattr("BufferReader")?.call1((PyBytes::new(py, bytes),))?, name.clone())
            }
        };
        match reader.getattr(function)?.call1((source,)) {
            Ok(table) => Ok(Some(table)),
            Err(error) => Err(Error::DataFile {
                file: name,
                line: None,
                column: None,
                why: format!("it is no whole {format} file ({})", error.value(py)).into(),
                hint: "Write it again, or give the log as CSV".into(),
            })
            .or_raise(py),
        }
    }
}

/// Whether a source is a table in memory rather than text.
pub fn is_table(source: &Any<'_>) -> PyResult<bool> {
    let has = |name| source.hasattr(name);
    Ok(source.is_instance_of::<PyDict>() || has("columns")? || has("column_names")? || has("data_vars")?)
}

/// Reads a log from anything. `tell` hears of bytes done and in all.
pub fn read(source: &Any<'_>, options: &ReadOptions, tell: Option<&Any<'_>>) -> PyResult<OvenLog> {
    let py = source.py();
    if is_table(source)? {
        return from_table(source, "a data frame", options);
    }
    let content = content(source)?;
    if let Some(table) = content.table(py)? {
        let name = match &content {
            Content::File(path) => path.display().to_string(),
            Content::Bytes(_, name) => name.clone(),
        };
        return from_table(&table, &name, options);
    }
    told(py, tell, |progress| match &content {
        Content::File(path) => read_log_telling(path, options, progress),
        Content::Bytes(bytes, name) => read_log_bytes(bytes, name, options, progress),
    })
}

/// Does work that tells its progress: to a Python function, or to nobody and without holding Python up.
pub fn told<R: Send>(
    py: Python<'_>,
    tell: Option<&Any<'_>>,
    work: impl FnOnce(&mut dyn FnMut(usize, usize) -> bool) -> afterquench::Result<R> + Send,
) -> PyResult<R> {
    let Some(tell) = tell else { return py.detach(|| work(&mut |_, _| true)).or_raise(py) };
    let mut failure: Option<PyErr> = None;
    let made = work(&mut |done, of| match tell.call1((done, of)) {
        Ok(_) => true,
        Err(error) => {
            failure = Some(error);
            false
        }
    });
    failure.map_or(Ok(()), Err)?;
    made.or_raise(py)
}

/// The path of a text file, if that is what a source is.
pub fn path_of_text(source: &Any<'_>) -> PyResult<Option<PathBuf>> {
    if is_table(source)? || source.hasattr("read")? {
        return Ok(None);
    }
    let content = content(source)?;
    let begin = content.begins();
    let is_table_file = [b"PAR1".as_slice(), b"ARROW1", b"FEA1"].iter().any(|magic| begin.starts_with(magic));
    Ok(match content {
        Content::File(path) if !is_table_file => Some(path),
        _ => None,
    })
}

/// A table written as text, for columns that hold texts.
pub fn table_text(table: &Any<'_>) -> PyResult<Vec<u8>> {
    let text: String = if table.hasattr("to_csv")? {
        let keywords = PyDict::new(table.py());
        keywords.set_item("index", false)?;
        table.call_method("to_csv", (), Some(&keywords))?.extract()?
    } else if table.hasattr("write_csv")? {
        table.call_method0("write_csv")?.extract()?
    } else if table.hasattr("to_pandas")? {
        return table_text(&table.call_method0("to_pandas")?);
    } else {
        return table_text(&table.py().import("pandas")?.getattr("DataFrame")?.call1((table,))?);
    };
    Ok(text.into_bytes())
}

/// The columns of a table: names and what NumPy can make an array of.
fn columns<'py>(table: &Any<'py>) -> PyResult<Vec<(Any<'py>, Any<'py>)>> {
    if let Ok(dict) = table.cast::<PyDict>() {
        return Ok(dict.iter().collect());
    }
    let names = if table.hasattr("column_names")? { "column_names" } else { "columns" };
    table
        .getattr(names)?
        .try_iter()?
        .map(|name| {
            let name = name?;
            let column = table.get_item(&name)?;
            Ok((name, column))
        })
        .collect()
}

/// The variables of an xarray Dataset over its one dimension, and its coordinate.
fn of_dataset<'py>(set: &Any<'py>) -> PyResult<Bound<'py, PyDict>> {
    let py = set.py();
    let dims: Vec<String> = set.getattr("sizes")?.try_iter()?.map(|name| name?.extract()).collect::<PyResult<_>>()?;
    if dims.len() != 1 {
        let why = format!("its variables lie over {} dimensions, and a log lies over one, time", dims.len());
        let hint = "Select one with .sel() or .isel() first".to_owned();
        return Err(argument_type(py, "read_log", "source", why, hint));
    }
    let made = PyDict::new(py);
    let frame = set.getattr("variables")?;
    for name in frame.try_iter()? {
        let name = name?;
        let variable = frame.get_item(&name)?;
        if variable.getattr("ndim")?.extract::<usize>()? != 1 {
            continue;
        }
        let unit: Option<String> = variable.getattr("attrs")?.call_method1("get", ("units",))?.extract().ok();
        let heading = match unit {
            Some(unit) if !unit.is_empty() && !unit.contains("since") => format!("{name} [{unit}]"),
            _ => name.str()?.to_string(),
        };
        made.set_item(heading, variable.getattr("values")?)?;
    }
    Ok(made)
}

fn from_table(table: &Any<'_>, file: &str, options: &ReadOptions) -> PyResult<OvenLog> {
    let py = table.py();
    if table.hasattr("data_vars")? {
        return from_table(of_dataset(table)?.as_any(), file, options);
    }
    let numpy = py.import("numpy")?;
    let mut made: Vec<(String, Values)> = Vec::new();
    for (name, column) in columns(table)? {
        let array = numpy.call_method1("asarray", (column,))?;
        if array.getattr("ndim")?.extract::<usize>()? != 1 {
            let why = format!("column {name} is no column: give one-dimensional arrays");
            return Err(argument_type(py, "read_log", "source", why, "Write {\"elapsed_s\": [...], ...}".into()));
        }
        let kind: String = array.getattr("dtype")?.getattr("kind")?.extract()?;
        let values = match kind.as_str() {
            "f" | "i" | "u" | "b" => Values::Numbers(
                array.call_method1("astype", ("float64",))?.cast::<PyArray1<f64>>()?.readonly().to_vec()?,
            ),
            "M" | "m" => {
                let unit = if kind == "M" { "datetime64[ns]" } else { "timedelta64[ns]" };
                let array = array.call_method1("astype", (unit,))?.call_method1("astype", ("int64",))?;
                // NaT is the smallest integer.
                let seconds = |&ns: &i64| if ns == i64::MIN { f64::NAN } else { ns as f64 * 1e-9 };
                Values::Instants(array.cast::<PyArray1<i64>>()?.readonly().as_slice()?.iter().map(seconds).collect())
            }
            _ => return read_log_bytes(&table_text(table)?, file, options, &mut |_, _| true).or_raise(py),
        };
        made.push((name.str()?.to_string(), values));
    }
    py.detach(|| read_log_columns(made, file, options)).or_raise(py)
}
