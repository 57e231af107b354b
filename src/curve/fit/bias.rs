//! What the tester of coupons reads wrong: taken off all of them, its uncertainty left in their level.

use super::coupon::Coupon;
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::hardness::{ScaleName, Tester, TesterBlocks};

/// What a refusal far from the blocks points to.
const INSTEAD: &str = "Check the tester on a block near the coupons' hardness, or give tester=Estimate(bias, u, \"HRC\") where \
                       blocks on both sides show that it holds";

fn pointing(error: Error) -> Error {
    match error {
        Error::Refused { what, why, .. } => Error::Refused { what, why, instead: INSTEAD.into() },
        other => other,
    }
}

/// The bias of a tester that one block was read on.
///
/// # Errors
/// [`Error::Refused`] where a coupon is not near the block, or the block is on another scale.
pub fn bias_of_block(tester: &Tester, coupons: &[Coupon]) -> Result<Estimate> {
    let scale = ScaleName::parse("HRC")?;
    coupons.iter().try_for_each(|coupon| tester.check_near(&scale, coupon.mean())).map_err(pointing)?;
    Ok(tester.bias.clone())
}

/// The coupons as a tester would read them that has everywhere the bias it has at their mean, and that bias: a bias that
/// goes from block to block would tilt the line through them.
///
/// # Errors
/// [`Error::Refused`] where a coupon is neither between two blocks nor near one, or the blocks are on another scale.
pub fn bias_of_blocks(blocks: &TesterBlocks, coupons: &[Coupon]) -> Result<(Vec<Coupon>, Estimate)> {
    let scale = ScaleName::parse("HRC")?;
    let at = |hrc: f64| blocks.at(&scale, hrc).map_err(pointing);
    let mean = coupons.iter().map(Coupon::mean).sum::<f64>() / coupons.len().max(1) as f64;
    let own: Vec<f64> = coupons.iter().map(|coupon| Ok(at(coupon.mean())?.bias.value())).collect::<Result<_>>()?;
    let there = at(mean)?;
    let brought = coupons.iter().zip(own).map(|(coupon, own)| {
        let readings = coupon.readings.iter().map(|reading| reading - own + there.bias.value()).collect();
        Coupon { readings, ..coupon.clone() }
    });
    Ok((brought.collect(), there.bias.assuming("each coupon corrected by the bias between the blocks at its hardness")))
}
