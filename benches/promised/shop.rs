//! What a shop brings: invented coupons.

use afterquench::curve::fit::Coupon;
use afterquench::{HoldTime, Temperature};

/// Twenty-one invented coupons: five temperatures, holds of 0.5 to 24 h, five readings each.
pub fn coupons() -> Vec<Coupon> {
    let holds = [175.0, 200.0, 225.0, 250.0, 300.0].into_iter().flat_map(|t| [0.5, 2.0, 8.0, 24.0].map(|h| (t, h)));
    holds
        .chain([(200.0, 2.0)])
        .enumerate()
        .map(|(i, (celsius, hours)): (usize, (f64, f64))| {
            let own = (celsius + 273.15) * (18.0 + hours.log10()) / 18.301 - 273.15;
            let hrc = 60.4 - 0.05 * (own - 200.0) + 0.3 * (7.0 * i as f64).sin();
            Coupon {
                name: format!("K{i}"),
                batch: None,
                temperature: Temperature::from_celsius(celsius),
                time: HoldTime::from_hours(hours),
                readings: [-0.3, -0.1, 0.0, 0.1, 0.3].map(|by| hrc + by).to_vec(),
                u_temperature: 0.0,
                u_time: 0.0,
                as_quenched_hrc: None,
                remark: String::new(),
            }
        })
        .collect()
}
