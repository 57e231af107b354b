//! What a composition steel says of itself with every answer.

use super::coefficients::{Coefficients, Interval};
use super::composition::{Amounts, ELEMENTS};
use super::steel::{CompositionSteel, U_AS_QUENCHED};
use crate::error::Text;
use crate::quantity::{HoldTime, Temperature};

impl CompositionSteel {
    /// What every estimate assumes.
    pub(super) fn assumptions(&self) -> Vec<Text> {
        let composition: Vec<String> = self.amounts.present().map(|(symbol, p)| format!("{symbol} {p}")).collect();
        let Interval { k68, k95 } = self.interval_factors();
        let mut made: Vec<Text> = vec![
            format!("composition {} (weight per cent)", composition.join(", ")).into(),
            "the hold is the metal's own, known exactly; hardened through, little retained austenite".into(),
            format!("95 % of the rows of steels left out of the fit lay within {k95} u, 68 % within {k68:.2} u").into(),
        ];
        if let Some(reading) = self.as_quenched {
            made.push(format!("as-quenched {} is an input of the model", reading.text()).into());
        }
        made.extend(self.notes.iter().cloned());
        made
    }

    /// That the mildest temper is expected to come out harder than the quench was read, where no steel hardens.
    pub(super) fn harder_than_quenched(&self) -> Option<Text> {
        const MORE_HRC: f64 = 1.0;
        const MILDEST: (f64, f64) = (100.0, 1.0);
        let quenched = self.as_quenched?.hrc;
        let after = self.at(MILDEST.0, MILDEST.1).hrc;
        (after > quenched + MORE_HRC).then(|| {
            format!(
                "{:.1} HRC is expected after {} °C for {} h, above the {quenched:.1} HRC read from the quench: the two do not \
                 agree; check the reading, the composition and the hardening",
                after, MILDEST.0, MILDEST.1
            )
            .into()
        })
    }

    /// What the answers rest on.
    pub(super) fn what_it_knows(&self) -> Text {
        let table = self.table.as_ref().map(|table| format!(", the table {}", table.name)).unwrap_or_default();
        let own = match self.readings.len() {
            0 => String::new(),
            1 => ", one reading of its own".to_owned(),
            count => format!(", {count} readings of its own"),
        };
        format!("predicted from composition{table}{own}").into()
    }

    /// What two coupons of the bar would be worth, as a sentence.
    pub(super) fn worth_of_coupons(&self, temperature: Temperature, time: HoldTime) -> Option<Text> {
        let factor = self.interval_factors().k95;
        let after = self.u_with_two_coupons(temperature, time).ok()?;
        let now = self.at(temperature.celsius(), time.hours()).u_steel;
        Some(
            format!(
                "predicted from composition alone: ±{:.1} HRC (95 %) at {:.0} °C for {} h; two coupons of the bar, \
                 tempered 25 °C either side, would bring it to ±{:.1}",
                factor * now,
                temperature.celsius(),
                time.hours(),
                factor * after
            )
            .into(),
        )
    }
}

/// What elements beyond the measured steels add to the variance, HV², and what is to be said of them.
pub(super) fn beyond(read: &Coefficients, amounts: &Amounts) -> (f64, Vec<Text>) {
    let mut squares = 0.0;
    let mut notes: Vec<Text> = Vec::new();
    for &(place, [low, high]) in &read.measured {
        let amount = amounts.at(place);
        if amount > high {
            squares += (read.widen[place] * (amount - high)).powi(2);
        }
        if amount > high || place == 0 && amount < low {
            let symbol = ELEMENTS[place];
            notes.push(format!("{symbol} {amount} % lies outside the measured {low} to {high} %").into());
        }
    }
    for (place, per) in read.widen_unmeasured.iter().enumerate() {
        let amount = amounts.at(place);
        if amount > 0.0 && *per > 0.0 {
            squares += (per * amount).powi(2);
            notes.push(
                format!("{} was in none of the measured steels: the interval is widened", ELEMENTS[place]).into(),
            );
        }
    }
    (squares, notes)
}

/// What is to be said of an as-quenched reading that is known worse than what the carbon lets expect.
pub(super) fn worse_than_none(u: f64) -> Option<Text> {
    (u > U_AS_QUENCHED).then(|| {
        format!(
            "the as-quenched reading is stated with u = {u:.2} HRC, and quenched steels lie within {U_AS_QUENCHED} HRC of what \
             their carbon lets expect (one standard deviation): it was left out"
        )
        .into()
    })
}
