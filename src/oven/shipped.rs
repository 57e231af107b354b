//! The room's tables: rows under a head that `tests/data_heads.rs` proof-reads.

use serde::de::DeserializeOwned;

use crate::error::{Error, Result};

/// The rows of a table that is part of the crate.
pub(super) fn rows<T: DeserializeOwned>(file: &str, text: &str) -> Result<Vec<T>> {
    csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes())
        .deserialize()
        .collect::<std::result::Result<_, _>>()
        .map_err(|error| Error::DataFile {
            file: file.to_owned(),
            line: error.position().and_then(|at| usize::try_from(at.line()).ok()),
            column: None,
            why: error.to_string().into(),
            hint: "The file is part of the crate; please report this".into(),
        })
}
