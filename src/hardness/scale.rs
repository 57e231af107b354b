//! Hardness scales: names as written, what they measure, and the range each is defined for.

use crate::error::{Error, Result};

/// A hardness scale, or tensile strength, which tables convert to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub enum Scale {
    Hrc,
    Hra,
    Hrd,
    Hr15n,
    Hr30n,
    Hr45n,
    Hrb,
    Hrf,
    Hr15t,
    Hr30t,
    Hr45t,
    Hv,
    Hbw,
    Hb,
    Hk,
    Scleroscope,
    Rm,
}

/// What a scale says of itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScaleRecord {
    /// The scale.
    pub scale: Scale,
    /// Its name as written.
    pub name: &'static str,
    /// What is pressed in, and how.
    pub method: &'static str,
    /// Unit, empty for a pure number.
    pub unit: &'static str,
    /// Lowest value the scale is defined for.
    pub low: f64,
    /// Highest value the scale is defined for.
    pub high: f64,
    /// Who says so, and how that is known.
    pub stated_by: &'static str,
    /// Step to which a reading is usually given.
    pub resolution: f64,
}

const ISO_6508: &str = "ISO 6508-1, from memory";

macro_rules! scales {
    ($($scale:ident $name:literal $method:literal $unit:literal $low:literal $high:literal $by:expr, $step:literal;)*) => {
        &[$(ScaleRecord { scale: Scale::$scale, name: $name, method: $method, unit: $unit, low: $low, high: $high,
            stated_by: $by, resolution: $step }),*]
    };
}

/// Every scale, in the order of the contract.
pub static SCALES: &[ScaleRecord] = scales! {
    Hrc "HRC" "Rockwell, 120° diamond cone, 150 kgf" "" 20.0 70.0 ISO_6508, 0.1;
    Hra "HRA" "Rockwell, 120° diamond cone, 60 kgf" "" 20.0 95.0 ISO_6508, 0.1;
    Hrd "HRD" "Rockwell, 120° diamond cone, 100 kgf" "" 40.0 77.0 ISO_6508, 0.1;
    Hr15n "HR15N" "superficial Rockwell, diamond cone, 15 kgf" "" 70.0 94.0 ISO_6508, 0.1;
    Hr30n "HR30N" "superficial Rockwell, diamond cone, 30 kgf" "" 42.0 86.0 ISO_6508, 0.1;
    Hr45n "HR45N" "superficial Rockwell, diamond cone, 45 kgf" "" 20.0 77.0 ISO_6508, 0.1;
    Hrb "HRB" "Rockwell, 1.5875 mm ball, 100 kgf" "" 10.0 100.0 ISO_6508, 0.1;
    Hrf "HRF" "Rockwell, 1.5875 mm ball, 60 kgf" "" 60.0 100.0 ISO_6508, 0.1;
    Hr15t "HR15T" "superficial Rockwell, 1.5875 mm ball, 15 kgf" "" 67.0 93.0 ISO_6508, 0.1;
    Hr30t "HR30T" "superficial Rockwell, 1.5875 mm ball, 30 kgf" "" 29.0 82.0 ISO_6508, 0.1;
    Hr45t "HR45T" "superficial Rockwell, 1.5875 mm ball, 45 kgf" "" 10.0 72.0 ISO_6508, 0.1;
    Hv "HV" "Vickers, 136° diamond pyramid; the load belongs to the name, as in HV10" "" 1.0 3000.0 "ISO 6507-1, from memory", 1.0;
    Hbw "HBW" "Brinell, carbide ball; ball and load belong to the name, as in HBW10/3000" "" 8.0 650.0 "ISO 6506-1 and ASTM A370", 1.0;
    Hb "HB" "Brinell, steel ball of older practice (HBS)" "" 8.0 450.0 "ASTM A370: steel ball to 450", 1.0;
    Hk "HK" "Knoop, long diamond pyramid" "" 1.0 3000.0 "ISO 4545-1, from memory", 1.0;
    Scleroscope "scleroscope" "rebound of a diamond-tipped hammer" "" 0.0 140.0 "common practice, no source", 1.0;
    Rm "Rm" "tensile strength" "MPa" 0.0 3000.0 "common practice, no source", 1.0;
};

impl Scale {
    /// The scale's record.
    #[must_use]
    pub fn record(self) -> &'static ScaleRecord {
        // The list holds every variant: a test walks all of them.
        SCALES.iter().find(|record| record.scale == self).unwrap_or(&SCALES[0])
    }

    /// Its name as written.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.record().name
    }

    /// Whether the indenter is the Rockwell diamond cone.
    #[must_use]
    pub const fn is_diamond_rockwell(self) -> bool {
        matches!(self, Self::Hrc | Self::Hra | Self::Hrd | Self::Hr15n | Self::Hr30n | Self::Hr45n)
    }

    /// Whether the indenter is the Rockwell ball.
    #[must_use]
    pub const fn is_ball_rockwell(self) -> bool {
        matches!(self, Self::Hrb | Self::Hrf | Self::Hr15t | Self::Hr30t | Self::Hr45t)
    }

    /// Whether it is a superficial Rockwell scale, whose points are half as deep.
    #[must_use]
    pub const fn is_superficial(self) -> bool {
        matches!(self, Self::Hr15n | Self::Hr30n | Self::Hr45n | Self::Hr15t | Self::Hr30t | Self::Hr45t)
    }

    /// Whether it is a Rockwell scale.
    #[must_use]
    pub const fn is_rockwell(self) -> bool {
        self.is_diamond_rockwell() || self.is_ball_rockwell()
    }
}

/// A scale as somebody wrote it, with the load or ball where the name carries one.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleName {
    /// The scale.
    pub scale: Scale,
    /// The name as it goes into reports: `HV10`, `HBW10/3000`, `HRC`.
    pub text: String,
    /// Force in kgf, where the name gives it.
    pub force_kgf: Option<f64>,
    /// Ball diameter in mm, where the name gives it.
    pub ball_mm: Option<f64>,
}

impl ScaleName {
    /// Reads a scale's name, in any case: `"HRC"`, `"hv10"`, `"HBW10/3000"`, `"HBS"`, `"HRBW"`.
    ///
    /// # Errors
    /// [`Error::UnknownName`] with the names that look like it.
    ///
    /// ```
    /// use afterquench::hardness::{Scale, ScaleName};
    /// let name = ScaleName::parse("hv10").unwrap();
    /// assert_eq!((name.scale, name.text.as_str(), name.force_kgf), (Scale::Hv, "HV10", Some(10.0)));
    /// ```
    pub fn parse(text: &str) -> Result<Self> {
        let key: String = text.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_ascii_uppercase();
        let plain = |scale: Scale| Self { scale, text: scale.name().to_owned(), force_kgf: None, ball_mm: None };
        if let Some(record) = SCALES.iter().find(|record| record.name.to_ascii_uppercase() == key) {
            return Ok(plain(record.scale));
        }
        match key.as_str() {
            "HBS" => return Ok(plain(Scale::Hb)),
            "HRBW" | "HRBS" => return Ok(plain(Scale::Hrb)),
            "HRFW" | "HRFS" => return Ok(plain(Scale::Hrf)),
            "UTS" | "TENSILE" => return Ok(plain(Scale::Rm)),
            _ => {}
        }
        Self::with_load(&key).ok_or_else(|| Error::UnknownName {
            kind: "hardness scale".into(),
            name: text.to_owned(),
            close: close_to(&key),
            hint: "hardness_scales() lists them; loads are written HV10, HK0.5, HBW10/3000".into(),
        })
    }

    fn with_load(key: &str) -> Option<Self> {
        for (prefix, scale) in [("HV", Scale::Hv), ("HK", Scale::Hk)] {
            if let Some(force) = key.strip_prefix(prefix).and_then(positive) {
                let text = format!("{}{force}", scale.name());
                return Some(Self { scale, text, force_kgf: Some(force), ball_mm: None });
            }
        }
        for (prefix, scale) in [("HBW", Scale::Hbw), ("HBS", Scale::Hb), ("HB", Scale::Hb)] {
            let Some((ball, force)) = key.strip_prefix(prefix).and_then(|rest| rest.split_once('/')) else { continue };
            if let (Some(ball), Some(force)) = (positive(ball), positive(force)) {
                let text = format!("{}{ball}/{force}", scale.name());
                return Some(Self { scale, text, force_kgf: Some(force), ball_mm: Some(ball) });
            }
        }
        None
    }
}

fn positive(text: &str) -> Option<f64> {
    // `parse` would also read "inf", "nan" and exponents, which no scale name carries.
    if !text.chars().all(|c| c.is_ascii_digit() || c == '.') {
        return None;
    }
    text.parse().ok().filter(|value: &f64| value.is_finite() && *value > 0.0)
}

/// Names within two edits of a key, nearest first.
fn close_to(key: &str) -> Vec<String> {
    let mut near: Vec<(usize, &str)> = SCALES
        .iter()
        .map(|record| (edits(key, &record.name.to_ascii_uppercase()), record.name))
        .filter(|(distance, _)| *distance <= 2)
        .collect();
    near.sort_by_key(|(distance, _)| *distance);
    near.into_iter().take(4).map(|(_, name)| name.to_owned()).collect()
}

/// How many letters must be changed, added or dropped to make one word of the other (Levenshtein 1966).
pub(super) fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut left = i + 1;
        let mut made = vec![left];
        for (to, pair) in b.iter().zip(row.windows(2)) {
            let (diagonal, above) = (pair[0], pair[1]);
            left = (diagonal + usize::from(from != *to)).min(above + 1).min(left + 1);
            made.push(left);
        }
        row = made;
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_variant_has_its_record() {
        for record in SCALES {
            assert_eq!(record.scale.record().name, record.name);
            assert_eq!(ScaleName::parse(&record.name.to_ascii_lowercase()).unwrap().scale, record.scale);
            assert!(record.low < record.high);
        }
    }

    #[test]
    fn names_with_loads() {
        assert_eq!(ScaleName::parse("HBW 10/3000").unwrap().text, "HBW10/3000");
        assert_eq!(ScaleName::parse("HV0.5").unwrap().force_kgf, Some(0.5));
        for wrong in ["", "HVX", "HV-1", "HVinf", "HV0", "HBW10/", "HRQ"] {
            assert!(ScaleName::parse(wrong).is_err(), "{wrong}");
        }
        let Err(Error::UnknownName { close, .. }) = ScaleName::parse("HRCC") else { panic!("no refusal") };
        assert_eq!(close[0], "HRC");
    }
}
