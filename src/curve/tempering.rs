//! A tempering curve: a table of hardness against temperature at one hold, carried to other holds by the parameter.

use serde::{Deserialize, Serialize};

use super::after_temper::{BELOW_THE_SCALE, HardnessAfterTemper, Root, SCALE_FROM_HRC, Side};
use super::as_quenched::AsQuenched;
use super::interpolate::MonotoneCubic;
use crate::error::{Error, Result, Text};
use crate::quantity::{HoldTime, SteelConstant, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite};
use crate::temper::{ConstantBelief, TEMPER_PARAMETER, TWO_HOURS, equivalent_temperature};

/// The record of a tabulated curve.
pub static TEMPERING_CURVE: ModelRecord = ModelRecord {
    id: "curve.tempering",
    gives: "Rockwell C hardness after a temper",
    unit: "HRC",
    formula: "monotone cubic through the table at its own hold t0; another hold t by T0 = T (C + log10 t) / (C + log10 t0)",
    ranges: &[],
    scatter: Scatter::Known {
        u: 0.5,
        unit: "HRC",
        found: "assumption where the data give none: ±1 HRC (k = 2) for a table; another 0.5 between batches",
    },
    sources: &[
        TEMPER_PARAMETER.sources[0],
        Source {
            cite: "F. N. Fritsch and J. Butland, A method for constructing local monotone piecewise cubic interpolants, \
                   SIAM J. Sci. Stat. Comput. 5 (1984) 300",
            at: "weighted harmonic mean of the chords",
            origin: Origin::FromMemory,
        },
    ],
    errata: &[],
    not_for: "the parameter through a secondary hump: only on its over-ageing side, and with data of one's own",
};

/// Hardness that must come back before it is called secondary hardening, HRC: less is reading error.
const HUMP: f64 = 0.5;

/// What must be said when time is traded for temperature through a secondary hump.
pub const THROUGH_THE_HUMP: &str = "the parameter was carried through a secondary hump: it holds on the over-ageing side \
                                    only and needs data of your own";

/// How far an end may be continued when extrapolation is asked for, °C.
const FARTHEST: f64 = 100.0;

/// HRC a table may hold: the scale's use for steel, with the rows below 20 that only shape a curve.
const HRC_RANGE: ValidRange = ValidRange {
    argument: "hrc",
    unit: "HRC",
    low: 0.0,
    high: 70.0,
    stated_by: "the range of the Rockwell C scale for steel",
};

/// Measured or printed hardness after a temper at one hold time, with what is known around it.
///
/// ```
/// use afterquench::curve::{HardnessAfterTemper, TemperingCurve};
/// use afterquench::{HoldTime, Temperature};
/// let curve = TemperingCurve::new(&[150.0, 200.0, 250.0], &[62.6, 60.4, 57.8]).unwrap();
/// let two_hours = HoldTime::from_hours(2.0);
/// assert_eq!(curve.hardness_after(Temperature::from_celsius(200.0), two_hours, None, None).unwrap(), 60.4);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TemperingCurve {
    name: String,
    shape: MonotoneCubic,
    hold: HoldTime,
    hold_stated: bool,
    constant: Option<ConstantBelief>,
    u_level: f64,
    u_level_found: String,
    u_slope: f64,
    u_batch: f64,
    as_quenched: Option<AsQuenched>,
    hardened: Option<AsQuenched>,
    sources: Vec<String>,
    notes: Vec<Text>,
}

/// What a temperature may lose on its way through kelvin and a logarithm.
const ROUNDING_DELTA_C: f64 = 1e-9;

impl TemperingCurve {
    /// A table of HRC against °C, strictly increasing in temperature, held two hours unless said otherwise.
    ///
    /// # Errors
    /// [`Error::Refused`] for a table that is none, [`Error::OutOfRange`] for hardness off the scale,
    /// [`Error::InvalidValue`] for temperatures below absolute zero.
    pub fn new(temperature_c: &[f64], hrc: &[f64]) -> Result<Self> {
        for &value in temperature_c {
            equivalent_temperature(
                Temperature::from_celsius(value),
                TWO_HOURS,
                TWO_HOURS,
                SteelConstant::for_hours(20.0),
            )?;
        }
        if let Some(&value) = hrc.iter().find(|value| value.is_finite() && !HRC_RANGE.contains(**value)) {
            return Err(HRC_RANGE.refuse(TEMPERING_CURVE.id, value));
        }
        Ok(Self {
            name: "tempering curve".to_owned(),
            shape: MonotoneCubic::new(temperature_c, hrc)?,
            hold: TWO_HOURS,
            hold_stated: true,
            constant: None,
            u_level: 0.5,
            u_level_found: "assumption: ±1 HRC (k = 2) for a table".to_owned(),
            u_slope: 0.0,
            u_batch: 0.5,
            as_quenched: None,
            hardened: None,
            sources: Vec::new(),
            notes: Vec::new(),
        })
    }

    /// Names the curve.
    #[must_use]
    pub fn named(mut self, name: impl Into<String>) -> Self {
        self.name = name.into();
        self
    }

    /// The hold all points share.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] unless it is finite and positive.
    pub fn held(mut self, hold: HoldTime) -> Result<Self> {
        check_finite(TEMPERING_CURVE.id, "time_h", "h", hold.hours())?;
        if hold.hours() > 0.0 {
            self.hold = hold;
            return Ok(self);
        }
        Err(Error::invalid(
            TEMPERING_CURVE.id,
            "time_h",
            (hold.hours(), "h"),
            "is not a positive time",
            "Give the hold of the table in hours",
        ))
    }

    /// Notes that the hold was not printed: it stays an assumption.
    #[must_use]
    pub const fn hold_not_stated(mut self) -> Self {
        self.hold_stated = false;
        self
    }

    /// What is believed of C.
    ///
    /// # Errors
    /// As [`ConstantBelief::checked`].
    pub fn with_constant(mut self, belief: ConstantBelief) -> Result<Self> {
        self.constant = Some(belief.checked()?);
        Ok(self)
    }

    /// One standard uncertainty of the level, HRC, and how it was found.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] unless finite and not negative.
    pub fn with_u_level(mut self, u: f64, found: impl Into<String>) -> Result<Self> {
        self.u_level = uncertainty("u_level", u)?;
        self.u_level_found = found.into();
        Ok(self)
    }

    /// One standard uncertainty of the slope, HRC/°C.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] unless finite and not negative.
    pub fn with_u_slope(mut self, u: f64) -> Result<Self> {
        self.u_slope = uncertainty("u_slope", u)?;
        Ok(self)
    }

    /// One standard uncertainty between batches, HRC; zero for coupons of the same bar.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] unless finite and not negative.
    pub fn with_u_batch(mut self, u: f64) -> Result<Self> {
        self.u_batch = uncertainty("u_batch", u)?;
        Ok(self)
    }

    /// The as-quenched hardness that belongs to the table.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] off the scale, [`Error::InvalidValue`] for an uncertainty that is negative or not finite.
    pub fn with_as_quenched(mut self, hrc: f64, u: f64) -> Result<Self> {
        if !HRC_RANGE.contains(hrc) {
            return Err(HRC_RANGE.refuse(TEMPERING_CURVE.id, hrc));
        }
        self.as_quenched = Some(AsQuenched { hrc, u: uncertainty("u_as_quenched", u)? });
        Ok(self)
    }

    /// What full hardening of the steel gives, whatever the coupons of the table read.
    #[must_use]
    pub const fn with_hardened(mut self, band: AsQuenched) -> Self {
        self.hardened = Some(band);
        self
    }

    /// Where the table comes from.
    #[must_use]
    pub fn from_source(mut self, source: impl Into<String>) -> Self {
        self.sources.push(source.into());
        self
    }

    /// Something to know about every value read from the curve.
    #[must_use]
    pub fn noting(mut self, note: impl Into<Text>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// The points: °C and HRC.
    pub fn points(&self) -> impl DoubleEndedIterator<Item = (f64, f64)> + Clone + '_ {
        self.shape.points()
    }

    /// What to know about every value read from the curve.
    #[must_use]
    pub fn notes(&self) -> &[Text] {
        &self.notes
    }

    /// The temperature that does the same at the table's own hold.
    fn at_own_hold(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64> {
        check_finite(TEMPERING_CURVE.id, "c", "", c)?;
        let made = equivalent_temperature(temperature, time, self.hold, SteelConstant::for_hours(c))?;
        // Exact at the table's own hold: a bound of 400 °C that went through kelvin and back would refuse 400.
        if time == self.hold {
            return Ok(temperature.celsius());
        }
        // The ends are inside from another hold too, whatever the last bit of the way there.
        let (low, high) = self.shape.range();
        Ok([low, high]
            .into_iter()
            .find(|end| (made.celsius() - end).abs() < ROUNDING_DELTA_C)
            .unwrap_or(made.celsius()))
    }

    /// The inverse: from the table's own hold to another.
    fn carried_to(&self, celsius: f64, time: HoldTime, c: f64) -> Result<Temperature> {
        let own = Temperature::from_celsius(celsius);
        if time == self.hold {
            return Ok(own);
        }
        equivalent_temperature(own, self.hold, time, SteelConstant::for_hours(c))
    }

    fn refuse(&self, temperature: Temperature, time: HoldTime, c: f64, own: f64) -> Error {
        let (low, high) = self.range_with(time, c);
        let nearest = if own < self.shape.range().0 { low } else { high };
        let stated_by = format!(
            "the table's points of {} h{}",
            self.hold.hours(),
            self.sources.first().map_or(String::new(), |source| format!(" ({source})"))
        );
        let hint = format!(
            "The nearest temperature covered is {:.0} °C; a coupon would tell, or the _estimate twin with \
             out_of_range=\"extrapolate\"",
            nearest.celsius()
        );
        let range = (low.celsius(), high.celsius());
        Error::outside(self.name.clone(), "temperature_c", (temperature.celsius(), "°C"), range, stated_by, hint)
    }

    /// Where a secondary peak lies, °C at the table's own hold.
    fn last_peak(&self) -> Option<f64> {
        let mut lowest = f64::INFINITY;
        let mut peak: Option<(f64, f64)> = None;
        for (celsius, hrc) in self.points() {
            lowest = lowest.min(hrc);
            if hrc - lowest >= HUMP && peak.is_none_or(|(_, highest)| hrc >= highest) {
                peak = Some((celsius, hrc));
            }
        }
        peak.map(|(celsius, _)| celsius)
    }

    /// The temperature from which on a fall is over-ageing: where hardness has come back by [`HUMP`].
    fn hump_from(&self) -> Option<f64> {
        let mut lowest = f64::INFINITY;
        self.points().find_map(|(celsius, hrc)| {
            lowest = lowest.min(hrc);
            (hrc - lowest >= HUMP).then_some(celsius)
        })
    }
}

impl HardnessAfterTemper for TemperingCurve {
    fn name(&self) -> &str {
        &self.name
    }

    fn hardness_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64> {
        let own = self.at_own_hold(temperature, time, c)?;
        let made = self.shape.at(own);
        if made.is_nan() && !own.is_nan() {
            return Err(self.refuse(temperature, time, c, own));
        }
        Ok(made)
    }

    fn slope_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64> {
        let own = self.at_own_hold(temperature, time, c)?;
        let slope = self.shape.slope_at(own);
        if slope.is_nan() && !own.is_nan() {
            return Err(self.refuse(temperature, time, c, own));
        }
        Ok(slope * Temperature::from_celsius(own).kelvin() / temperature.kelvin())
    }

    fn extrapolated_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<(f64, f64)> {
        let own = self.at_own_hold(temperature, time, c)?;
        let (low, high) = self.shape.range();
        let nearest = own.clamp(low, high);
        let outside = own - nearest;
        if outside.abs() > FARTHEST {
            return Err(self.refuse(temperature, time, c, own));
        }
        Ok((self.shape.at(nearest) + self.shape.slope_at(nearest) * outside, outside.abs()))
    }

    fn roots_with(&self, hrc: f64, time: HoldTime, c: f64) -> Result<Vec<Root>> {
        check_finite(TEMPERING_CURVE.id, "hrc", "HRC", hrc)?;
        check_finite(TEMPERING_CURVE.id, "c", "", c)?;
        let hump = self.hump_from().unwrap_or(f64::INFINITY);
        self.shape
            .crossings(hrc)
            .into_iter()
            .map(|crossing| {
                let side = match (crossing.falls, crossing.x >= hump) {
                    (false, _) => Side::Rising,
                    (true, true) => Side::OverAgeing,
                    (true, false) => Side::Falling,
                };
                Ok(Root { temperature: self.carried_to(crossing.x, time, c)?, side })
            })
            .collect()
    }

    fn range_with(&self, time: HoldTime, c: f64) -> (Temperature, Temperature) {
        let (low, high) = self.shape.range();
        let there = |celsius| self.carried_to(celsius, time, c).unwrap_or(Temperature::from_celsius(f64::NAN));
        (there(low), there(high))
    }

    fn hardness_range(&self) -> (f64, f64) {
        self.points().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, hrc)| (low.min(hrc), high.max(hrc)))
    }

    fn reference_hold(&self) -> HoldTime {
        self.hold
    }

    fn hold_is_stated(&self) -> bool {
        self.hold_stated
    }

    fn constant(&self) -> Option<ConstantBelief> {
        self.constant
    }

    fn u_level(&self) -> f64 {
        self.u_level
    }

    fn u_slope(&self) -> f64 {
        self.u_slope
    }

    fn u_level_found(&self) -> &str {
        &self.u_level_found
    }

    fn u_batch(&self) -> f64 {
        self.u_batch
    }

    fn as_quenched(&self) -> Option<AsQuenched> {
        self.as_quenched
    }

    fn hardened(&self) -> Option<AsQuenched> {
        self.hardened.or(self.as_quenched)
    }

    fn has_secondary_hardening(&self) -> bool {
        self.hump_from().is_some()
    }

    fn carried_through_hump(&self, temperature: Temperature, time: HoldTime, c: f64) -> bool {
        let Some(peak) = self.last_peak() else { return false };
        let own = self.at_own_hold(temperature, time, c).unwrap_or(f64::NAN);
        let there = self.carried_to(peak, time, c).map_or(peak, |there| there.celsius().max(peak));
        time != self.hold && !(temperature.celsius() > there && own > peak)
    }

    fn cautions(&self, temperature: Temperature, time: HoldTime, c: f64) -> Vec<Text> {
        let mut said = self.notes.clone();
        if self.carried_through_hump(temperature, time, c) {
            said.push(THROUGH_THE_HUMP.into());
        } else if self.has_secondary_hardening()
            && self.at_own_hold(temperature, time, c).is_ok_and(|own| self.shape.slope_at(own) > 0.0)
        {
            said.extend(Side::Rising.caution().map(Text::Borrowed));
        }
        // A hair above the limit, so that the way back from it is not warned of.
        if self.extrapolated_with(temperature, time, c).is_ok_and(|(hrc, _)| hrc < SCALE_FROM_HRC - 1e-9) {
            said.push(BELOW_THE_SCALE.into());
        }
        said
    }

    fn sources(&self) -> &[String] {
        &self.sources
    }
}

fn uncertainty(argument: &'static str, u: f64) -> Result<f64> {
    if u.is_finite() && u >= 0.0 {
        return Ok(u);
    }
    Err(Error::invalid(
        TEMPERING_CURVE.id,
        argument,
        (u, "HRC"),
        "is not a standard uncertainty",
        "Give one standard uncertainty in HRC: finite, not negative",
    ))
}
