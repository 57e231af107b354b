//! A table of coupons as text: how its fields are separated, its columns by name, its cells as numbers.

use crate::error::{Error, Result, Text};

/// A column of a table: its name and a text for each row; an empty text is a cell left blank.
pub type TextColumn = (String, Vec<String>);

/// What a table of coupons needs, for messages.
const COLUMNS: &str = "Give columns coupon, temper_degc (or temperature_c), hold_h (or time_h) and r1, r2 … (or hrc); \
                       batch, cycles, scale, u_temperature_c, u_time_h, as_quenched_hrc and remark are read where given";

/// Names that a column may have.
pub(super) const TEMPERATURE: &[&str] = &["temper_degc", "temperature_c", "temper_c", "temperature_degc"];
pub(super) const TIME: &[&str] = &["hold_h", "time_h", "soak_h"];

/// What separates fields; a comma, which comes last, where nothing speaks for one more than for another.
const SEPARATORS: [u8; 4] = [b';', b'\t', b'|', b','];

fn refusal(file: &str, line: Option<usize>, column: Option<&str>, why: impl Into<Text>, hint: &'static str) -> Error {
    let column = column.map(str::to_owned);
    Error::DataFile { file: file.to_owned(), line, column, why: why.into(), hint: hint.into() }
}

/// The columns of a text, and the line of each row.
///
/// # Errors
/// [`Error::DataFile`] naming the line, for a text that is no table and for rows that are not as wide as the heading.
pub(super) fn columns_of(bytes: &[u8], file: &str) -> Result<(Vec<TextColumn>, Vec<usize>)> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        let hint = "Save it as CSV in UTF-8";
        return Err(refusal(file, None, None, "its letters are two bytes each (UTF-16)", hint));
    }
    let (separator, body) = separator(bytes);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .has_headers(false)
        .from_reader(bytes.get(body..).unwrap_or_default());
    let (mut line, mut counted) = (1, 0);
    let (mut columns, mut lines): (Vec<TextColumn>, Vec<usize>) = (Vec::new(), Vec::new());
    for row in reader.byte_records() {
        let row = row.map_err(|error| refusal(file, None, None, error.to_string(), "Save it as CSV again"))?;
        let at = begins(bytes, body + row.position().map_or(0, |place| place.byte() as usize));
        line += bytes.get(counted..at).unwrap_or_default().iter().filter(|&&byte| byte == b'\n').count();
        counted = at;
        let mut cells: Vec<String> = row.iter().map(|cell| String::from_utf8_lossy(cell).trim().to_owned()).collect();
        if columns.is_empty() {
            columns.extend(cells.into_iter().map(|name| (name, Vec::new())));
            continue;
        }
        // A row of nothing but separators is a blank line of a spreadsheet.
        if cells.iter().all(String::is_empty) {
            continue;
        }
        while cells.len() > columns.len() && cells.last().is_some_and(String::is_empty) {
            cells.pop();
        }
        if cells.len() != columns.len() {
            let why = format!("it has {} fields and the heading {}", cells.len(), columns.len());
            let hint = if separator == b',' && cells.len() > columns.len() {
                "Commas may separate or be decimal marks here: write semicolons or tabs between fields, or decimal points"
            } else {
                "Give every row a field for each heading, empty where nothing was measured"
            };
            return Err(refusal(file, Some(line), None, why, hint));
        }
        for ((_, column), cell) in columns.iter_mut().zip(cells) {
            column.push(cell);
        }
        lines.push(line);
    }
    Ok((columns, lines))
}

/// Where the row begins that the reader came to from here, over blank lines and remarks.
fn begins(bytes: &[u8], from: usize) -> usize {
    let mut at = from;
    for line in bytes.get(from..).unwrap_or_default().split_inclusive(|&byte| byte == b'\n') {
        if !(line.trim_ascii().is_empty() || line.starts_with(b"#")) {
            break;
        }
        at += line.len();
    }
    at
}

/// What separates the fields, and where the heading begins: a line `sep=;` says it, else the heading shows it by the names
/// that must be in it.
fn separator(bytes: &[u8]) -> (u8, usize) {
    let mut from = 0;
    for line in bytes.split_inclusive(|&byte| byte == b'\n') {
        let text = String::from_utf8_lossy(line);
        let text = text.trim_start_matches('\u{feff}').trim();
        if let Some([mark]) = text.strip_prefix("sep=").map(str::as_bytes) {
            return (*mark, from + line.len());
        }
        if !text.is_empty() && !text.starts_with('#') {
            let names =
                |mark: u8| text.split(char::from(mark)).map(|name| name.trim().trim_matches('"')).collect::<Vec<_>>();
            let known = |mark: u8| {
                let names = names(mark);
                let has = |list: &[&str]| names.iter().any(|name| is_one_of(name, list));
                (usize::from(has(TEMPERATURE)) + usize::from(has(TIME)), names.len())
            };
            return (SEPARATORS.into_iter().max_by_key(|&mark| known(mark)).unwrap_or(b','), from);
        }
        from += line.len();
    }
    (b',', 0)
}

fn is_one_of(name: &str, list: &[&str]) -> bool {
    list.iter().any(|known| name.trim().eq_ignore_ascii_case(known))
}

/// Columns by their names.
pub(super) struct Table<'a> {
    pub(super) columns: &'a [TextColumn],
    pub(super) file: &'a str,
    /// The line of each row in its file, where there is one.
    pub(super) lines: &'a [usize],
}

impl<'a> Table<'a> {
    pub(super) fn rows(&self) -> usize {
        self.columns.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0)
    }

    pub(super) fn refusal(&self, row: Option<usize>, column: Option<&str>, why: impl Into<Text>) -> Error {
        self.refusal_with(row, column, why, COLUMNS)
    }

    fn refusal_with(
        &self,
        row: Option<usize>,
        column: Option<&str>,
        why: impl Into<Text>,
        hint: &'static str,
    ) -> Error {
        let why = why.into();
        let line = row.and_then(|row| self.lines.get(row)).copied();
        let why = row.map_or_else(|| why.clone(), |row| format!("row {}: {why}", row + 1).into());
        refusal(self.file, line, column, why, hint)
    }

    pub(super) fn find(&self, names: &[&str]) -> Option<&'a TextColumn> {
        self.columns.iter().find(|(name, _)| is_one_of(name, names))
    }

    pub(super) fn needed(&self, names: &[&str]) -> Result<&'a TextColumn> {
        self.find(names).ok_or_else(|| {
            let found: Vec<&str> = self.columns.iter().take(12).map(|(name, _)| name.as_str()).collect();
            let first = names.first().copied().unwrap_or_default();
            self.refusal(None, Some(first), format!("there is no such column among {}", found.join(", ")))
        })
    }

    /// The columns r1, r2 …, or the one of mean hardness.
    pub(super) fn readings(&self) -> Result<Vec<&'a TextColumn>> {
        let numbered = |name: &str| {
            let name = name.trim();
            name.strip_prefix(['r', 'R'])
                .is_some_and(|rest| !rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit()))
        };
        let found: Vec<_> = self.columns.iter().filter(|(name, _)| numbered(name)).collect();
        if found.is_empty() { Ok(vec![self.needed(&["hrc", "hardness_hrc", "mean_hrc"])?]) } else { Ok(found) }
    }

    fn cell(&self, (_, cells): &'a TextColumn, row: usize) -> &'a str {
        cells.get(row).map_or("", |text| text.trim())
    }

    /// A text, or nothing for a blank, also where a frame wrote a word for it.
    pub(super) fn text(&self, column: Option<&'a TextColumn>, row: usize) -> Option<&'a str> {
        column.map(|column| self.cell(column, row)).filter(|text| !is_blank_text(text))
    }

    /// A number, or nothing for a blank; not-a-number is how tables write a blank.
    pub(super) fn number(&self, column: &'a TextColumn, row: usize) -> Result<Option<f64>> {
        let text = self.cell(column, row);
        if is_blank_text(text) || ["na", "-"].iter().any(|blank| text.eq_ignore_ascii_case(blank)) {
            return Ok(None);
        }
        // No temperature, hold or hardness of a coupon has thousands: a lone comma is a decimal mark.
        let plain = if text.matches(',').count() == 1 && !text.contains('.') {
            text.replace(',', ".")
        } else {
            text.to_owned()
        };
        let number = plain.parse().map_err(|_| {
            let why = format!("'{text}' is no number");
            let hint =
                "Write a number alone, as 60.5 or 60,5, or leave the cell empty; a note goes into the column remark";
            self.refusal_with(Some(row), Some(&column.0), why, hint)
        });
        number.map(Some)
    }

    pub(super) fn present(&self, column: &'a TextColumn, row: usize) -> Result<f64> {
        self.number(column, row)?.ok_or_else(|| self.refusal(Some(row), Some(&column.0), "it is blank"))
    }
}

/// Whether a text stands for nothing: empty, or what frames write for a missing cell.
#[must_use]
pub fn is_blank_text(text: &str) -> bool {
    let text = text.trim();
    text.is_empty() || ["nan", "<na>", "nat", "none", "null"].iter().any(|blank| text.eq_ignore_ascii_case(blank))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn separators() {
        for (text, mark, body) in [
            ("coupon,temper_degc,hold_h,r1\n", b',', 0),
            ("# a, note\ncoupon;temper_degc;hold_h;r1,r2\n", b';', 10),
            ("\u{feff}coupon\ttemper_degc\thold_h\n", b'\t', 0),
            ("sep=|\ncoupon|temper_degc\n", b'|', 6),
            ("no heading\n", b',', 0),
        ] {
            assert_eq!(separator(text.as_bytes()), (mark, body), "{text}");
        }
    }

    #[test]
    fn rows_of_another_width_name_their_line() {
        let text = "# note\ncoupon;temper_degc;hold_h;r1\n\na;200;2;60,5;;\n;;;\nb;200;2\n";
        let error = columns_of(text.as_bytes(), "c.csv").unwrap_err().to_string();
        assert!(error.starts_with("c.csv, line 6: it has 3 fields and the heading 4"), "{error}");
        let (columns, lines) = columns_of(text.replace("b;200;2", "").as_bytes(), "c.csv").unwrap();
        assert_eq!((columns[3].1.as_slice(), lines.as_slice()), (&["60,5".to_owned()][..], &[4][..]));
        let error = columns_of(b"temper_degc,hold_h,r1\n200,2,60,5\n", "c.csv").unwrap_err().to_string();
        assert!(error.contains("line 2") && error.contains("decimal marks"), "{error}");
    }
}
