//! Lists of what is known: scales and conversion tables.

use afterquench::hardness::{self, SCALES, Scale};
use pyo3::exceptions::PyIndexError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use crate::arguments::data_frame;
use crate::errors::OrRaise;

/// A list of records, also as a frame.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.hardness_scales()[0].name
/// 'HRC'
#[pyclass(module = "afterquench._native", frozen)]
pub struct HardnessList {
    items: Vec<Py<PyAny>>,
    columns: &'static [&'static str],
    call: &'static str,
}

#[pymethods]
impl HardnessList {
    fn __len__(&self) -> usize {
        self.items.len()
    }

    fn __getitem__(&self, py: Python<'_>, index: isize) -> PyResult<Py<PyAny>> {
        let place = if index < 0 { index + self.items.len() as isize } else { index };
        usize::try_from(place)
            .ok()
            .and_then(|place| self.items.get(place))
            .map(|item| item.clone_ref(py))
            .ok_or_else(|| PyIndexError::new_err("no such record"))
    }

    /// The records as a pandas DataFrame, one a row.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let columns = PyDict::new(py);
        for name in self.columns {
            let cells: Vec<_> = self.items.iter().map(|item| item.getattr(py, *name)).collect::<PyResult<_>>()?;
            columns.set_item(name, PyList::new(py, cells)?)?;
        }
        data_frame(py, &columns)
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let names: Vec<String> =
            self.items.iter().map(|item| item.getattr(py, "name")?.extract(py)).collect::<PyResult<_>>()?;
        Ok(format!("[{}]", names.join(", ")))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, ())> {
        Ok((py.import("afterquench._native")?.getattr(self.call)?, ()))
    }
}

/// A hardness scale: .name, .method, .unit, .low, .high, .stated_by.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.hardness_scales()[0]
/// HRC (20 to 70): Rockwell, 120° diamond cone, 150 kgf
#[pyclass(module = "afterquench._native", frozen)]
pub struct HardnessScale {
    scale: Scale,
}

#[pymethods]
impl HardnessScale {
    /// Its name as written.
    #[getter]
    fn name(&self) -> &'static str {
        self.scale.name()
    }

    /// What is pressed in, and how.
    #[getter]
    fn method(&self) -> &'static str {
        self.scale.record().method
    }

    /// Unit, empty for a pure number.
    #[getter]
    fn unit(&self) -> &'static str {
        self.scale.record().unit
    }

    /// Lowest value the scale is defined for.
    #[getter]
    fn low(&self) -> f64 {
        self.scale.record().low
    }

    /// Highest value the scale is defined for.
    #[getter]
    fn high(&self) -> f64 {
        self.scale.record().high
    }

    /// Who says so.
    #[getter]
    fn stated_by(&self) -> &'static str {
        self.scale.record().stated_by
    }

    fn __repr__(&self) -> String {
        let record = self.scale.record();
        format!("{} ({} to {}): {}", record.name, record.low, record.high, record.method)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, (String,))> {
        Ok((py.import("afterquench._native")?.getattr("_hardness_scale")?, (self.scale.name().to_owned(),)))
    }
}

#[pyfunction]
fn _hardness_scale(py: Python<'_>, name: &str) -> PyResult<HardnessScale> {
    Ok(HardnessScale { scale: hardness::ScaleName::parse(name).or_raise(py)?.scale })
}

/// A printed conversion table: .name, .title, .source, .at, .scales, .scope, .doubts, .checked_by, .to_frame().
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.conversion_tables()[0]
/// astm-e140-1: ASTM E140, editions 97 to 12b, Table 1 (HRC, HV, HBW, HRA, HRD, HR15N, HR30N, HR45N, scleroscope, HK, HB)
#[pyclass(module = "afterquench._native", frozen)]
pub struct ConversionTable {
    core: &'static hardness::ConversionTable,
}

#[pymethods]
impl ConversionTable {
    /// Its name here.
    #[getter]
    fn name(&self) -> &str {
        &self.core.id
    }

    /// What it is for.
    #[getter]
    fn title(&self) -> &str {
        &self.core.title
    }

    /// The standard with its edition.
    #[getter]
    fn source(&self) -> &str {
        &self.core.source
    }

    /// Which table of it.
    #[getter]
    fn at(&self) -> &str {
        &self.core.at
    }

    /// Which material it holds for.
    #[getter]
    fn scope(&self) -> &str {
        &self.core.scope
    }

    /// How the digits were checked.
    #[getter]
    fn checked_by(&self) -> &str {
        &self.core.checked_by
    }

    /// Doubts about single digits.
    #[getter]
    fn doubts(&self) -> Vec<String> {
        self.core.doubts.clone()
    }

    /// The scales it prints.
    #[getter]
    fn scales(&self) -> Vec<&'static str> {
        self.core.scales().into_iter().map(Scale::name).collect()
    }

    /// The printed rows as a pandas DataFrame: a column a scale, NaN for a blank; "… bracketed" and "… from memory"
    /// columns of bool where a column has such cells.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let columns = PyDict::new(py);
        for column in self.core.columns() {
            let name = column.scale.name();
            let values: Vec<f64> = column.cells.iter().map(|cell| cell.value.unwrap_or(f64::NAN)).collect();
            columns.set_item(name, values)?;
            if column.cells.iter().any(|cell| cell.bracketed) {
                let flags: Vec<bool> = column.cells.iter().map(|cell| cell.bracketed).collect();
                columns.set_item(format!("{name} bracketed"), flags)?;
            }
            if column.cells.iter().any(|cell| cell.from_memory) {
                let flags: Vec<bool> = column.cells.iter().map(|cell| cell.from_memory).collect();
                columns.set_item(format!("{name} from memory"), flags)?;
            }
        }
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        format!("{}: {} ({})", self.core.id, self.core.cited(), self.scales().join(", "))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, (String,))> {
        Ok((py.import("afterquench._native")?.getattr("_conversion_table")?, (self.core.id.clone(),)))
    }
}

#[pyfunction]
fn _conversion_table(py: Python<'_>, name: &str) -> PyResult<ConversionTable> {
    Ok(ConversionTable { core: hardness::conversion_table(name).or_raise(py)? })
}

/// Every hardness scale, with the range it is defined for; .to_frame() gives a DataFrame.
///
/// Returns
/// -------
/// HardnessList of HardnessScale
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [s.name for s in aq.hardness_scales()][:3]
/// ['HRC', 'HRA', 'HRD']
#[pyfunction]
fn hardness_scales(py: Python<'_>) -> PyResult<HardnessList> {
    let items = SCALES
        .iter()
        .map(|record| Ok(Py::new(py, HardnessScale { scale: record.scale })?.into_any()))
        .collect::<PyResult<_>>()?;
    let columns = &["name", "method", "unit", "low", "high", "stated_by"];
    Ok(HardnessList { items, columns, call: "hardness_scales" })
}

/// Every conversion table, with its source and doubts; .to_frame() gives a DataFrame.
///
/// Returns
/// -------
/// HardnessList of ConversionTable
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.conversion_tables()
/// [astm-e140-1, astm-e140-2, iso-18265-a1, sae-j417-tensile, sae-j417-tensile-hv, astm-a370-2, astm-a370-3, sae-brinell]
#[pyfunction]
fn conversion_tables(py: Python<'_>) -> PyResult<HardnessList> {
    let items = hardness::conversion_tables()
        .iter()
        .map(|core| Ok(Py::new(py, ConversionTable { core })?.into_any()))
        .collect::<PyResult<_>>()?;
    let columns = &["name", "title", "source", "at", "scales", "scope", "checked_by", "doubts"];
    Ok(HardnessList { items, columns, call: "conversion_tables" })
}

/// Adds classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<HardnessList>()?;
    module.add_class::<HardnessScale>()?;
    module.add_class::<ConversionTable>()?;
    module.add_function(wrap_pyfunction!(_hardness_scale, module)?)?;
    module.add_function(wrap_pyfunction!(_conversion_table, module)?)?;
    module.add_function(wrap_pyfunction!(hardness_scales, module)?)?;
    module.add_function(wrap_pyfunction!(conversion_tables, module)?)
}
