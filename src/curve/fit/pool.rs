//! Many batches of one steel: their mean, what lies between them, and what each one's own level is worth.

use serde::{Deserialize, Serialize};

use super::coupon::Coupon;
use super::coupons::{CouponOptions, fit_coupons};
use super::unmoved::{assumed_sd, display_sd, said};
use crate::error::{Error, Result, Text};
use crate::estimate::{Estimate, Shape, chi_square_cdf, chi_square_quantile};
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of pooling.
pub static BATCH_POOL: ModelRecord = ModelRecord {
    id: "curve.batches",
    gives: "mean level of a steel's batches, the standard deviation between them, and shrunken levels",
    unit: "HRC",
    formula: "level_i = mean + batch_i + error_i with var(batch) = τ², var(error_i) = u_i²; τ² by REML, DerSimonian-Laird or \
              Paule-Mandel; its interval by the generalised Q statistic; u(mean) by Knapp and Hartung, Student's t with k-1; \
              shrunken level = mean + τ²/(τ² + u_i²) (level_i − mean)",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[
        Source {
            cite: "R. DerSimonian and N. Laird, Meta-analysis in clinical trials, Controlled Clinical Trials 7 (1986) 177",
            at: "the moment estimator",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "W. Viechtbauer, Confidence intervals for the amount of heterogeneity in meta-analysis, Stat. Med. 26 (2007) 37",
            at: "the Q-profile interval; REML as restated there",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "G. Knapp and J. Hartung, Improved tests for a random effects meta-regression, Stat. Med. 22 (2003) 2693",
            at: "the factor on the variance of the mean, not taken below one",
            origin: Origin::FromMemory,
        },
    ],
    errata: &[],
    not_for: "batches that were chosen because they were odd",
};

/// How the variance between batches is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum PoolMethod {
    /// Restricted maximum likelihood.
    #[default]
    Reml,
    /// DerSimonian and Laird's moments.
    DerSimonianLaird,
    /// Paule and Mandel's equation.
    PauleMandel,
}

impl PoolMethod {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Reml => "reml",
            Self::DerSimonianLaird => "dersimonian-laird",
            Self::PauleMandel => "paule-mandel",
        }
    }

    /// The method of that name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        [Self::Reml, Self::DerSimonianLaird, Self::PauleMandel]
            .into_iter()
            .find(|method| method.name() == name)
            .ok_or_else(|| Error::UnknownName {
                kind: "pooling method".into(),
                name: name.to_owned(),
                close: Vec::new(),
                hint: "Methods are \"reml\", \"dersimonian-laird\" and \"paule-mandel\"".into(),
            })
    }
}

/// One batch before and after pooling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BatchLevel {
    /// The batch.
    pub batch: String,
    /// Its own level, HRC.
    pub level: f64,
    /// One standard uncertainty of that.
    pub u: f64,
    /// Its level drawn towards the mean by as much as it is uncertain.
    pub shrunken: Estimate,
}

/// Batches together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BatchPool {
    /// Mean of all batches there could be, HRC.
    pub mean: Estimate,
    /// Standard deviation between batches, HRC: the number that rules every plan for a new bar.
    pub between: Estimate,
    /// Level of a batch that was not measured yet, HRC.
    pub next_batch: Estimate,
    /// Each batch.
    pub batches: Vec<BatchLevel>,
    /// How the variance between batches was found.
    pub method: PoolMethod,
    /// Chance of levels this different if all batches were the same.
    pub p_same: f64,
}

/// Levels and variances.
struct Levels<'a> {
    y: &'a [f64],
    v: &'a [f64],
}

impl Levels<'_> {
    fn weights(&self, tau2: f64) -> impl Iterator<Item = (f64, f64)> + Clone + '_ {
        self.y.iter().zip(self.v).map(move |(&y, &v)| (1.0 / (v + tau2), y))
    }

    fn mean(&self, tau2: f64) -> f64 {
        let (sum, total) = self.weights(tau2).fold((0.0, 0.0), |(sum, total), (w, y)| (sum + w * y, total + w));
        sum / total
    }

    /// The generalised Q statistic, which falls as τ² grows.
    fn q(&self, tau2: f64) -> f64 {
        let mean = self.mean(tau2);
        self.weights(tau2).map(|(w, y)| w * (y - mean).powi(2)).sum()
    }

    /// Derivative of the restricted log likelihood by τ², twice.
    fn score(&self, tau2: f64) -> f64 {
        let mean = self.mean(tau2);
        let (mut w1, mut w2, mut squares) = (0.0, 0.0, 0.0);
        for (w, y) in self.weights(tau2) {
            w1 += w;
            w2 += w * w;
            squares += (w * (y - mean)).powi(2);
        }
        squares - w1 + w2 / w1
    }

    /// The τ² at which a falling function is zero; zero where it is never positive.
    fn zero_of(&self, falling: impl Fn(f64) -> f64) -> f64 {
        if falling(0.0) <= 0.0 {
            return 0.0;
        }
        let mut high = self.v.iter().copied().fold(1e-6, f64::max);
        while falling(high) > 0.0 && high < 1e9 {
            high *= 2.0;
        }
        let mut low = 0.0;
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if middle == low || middle == high {
                break;
            }
            if falling(middle) > 0.0 { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    fn tau2(&self, method: PoolMethod) -> f64 {
        let left = self.y.len() as f64 - 1.0;
        match method {
            PoolMethod::PauleMandel => self.zero_of(|tau2| self.q(tau2) - left),
            PoolMethod::Reml => self.zero_of(|tau2| self.score(tau2)),
            PoolMethod::DerSimonianLaird => {
                let (w1, w2) = self.weights(0.0).fold((0.0, 0.0), |(a, b), (w, _)| (a + w, b + w * w));
                ((self.q(0.0) - left) / (w1 - w2 / w1)).max(0.0)
            }
        }
    }
}

/// Pools levels with their standard uncertainties. `u_common` is what all of them share (the tester): it stays in the
/// mean.
///
/// # Errors
/// [`Error::NotDetermined`] for fewer than three batches, [`Error::InvalidValue`] for a level or an uncertainty that is
/// no number.
pub fn pool_levels(batches: &[(String, f64, f64)], method: PoolMethod, u_common: f64) -> Result<BatchPool> {
    for (name, level, u) in batches {
        let (value, why) =
            if level.is_finite() { (*u, "is no standard uncertainty above zero") } else { (*level, "is no level") };
        if !(level.is_finite() && u.is_finite() && *u > 0.0) {
            let argument = if level.is_finite() { "u_hrc" } else { "level_hrc" };
            let hint = "Give each batch its level and one standard uncertainty in HRC";
            let error = Error::invalid(format!("batch {name}"), argument, (value, "HRC"), why, hint);
            return Err(error.counted(1, batches.len()));
        }
    }
    if batches.len() < 3 {
        return Err(Error::NotDetermined {
            what: "the standard deviation between batches".into(),
            why: format!("there are {} batches", batches.len()).into(),
            would_determine: "three batches at least; ten give it within a factor of two".into(),
        });
    }
    let (y, v): (Vec<f64>, Vec<f64>) = batches.iter().map(|(_, level, u)| (*level, u * u)).unzip();
    let levels = Levels { y: &y, v: &v };
    let left = y.len() as f64 - 1.0;
    let tau2 = levels.tau2(method);
    let mean = levels.mean(tau2);
    let total: f64 = levels.weights(tau2).map(|(w, _)| w).sum();
    let variance = (levels.q(tau2) / left).max(1.0) / total;
    let how: Text = format!("{} batches; variance between them by {}", y.len(), method.name()).into();
    let student = |made: Estimate, u: f64, dof: f64| {
        let dof = dof * (made.u() / u).powi(4);
        if dof.is_finite() && dof > 0.0 { made.shaped(Shape::Student { dof }) } else { made }
    };
    let common = |made: Estimate| if u_common > 0.0 { made.with("tester", u_common) } else { made };
    let pooled = student(common(Estimate::new(mean, "HRC").with("batches", variance.sqrt())), variance.sqrt(), left)
        .assuming(how.clone());
    let next = common(Estimate::new(mean, "HRC").with("mean", variance.sqrt()).with("batch to batch", tau2.sqrt()));
    let next = student(next.clone(), next.u(), (left - 1.0).max(1.0)).assuming(how.clone());
    let shrunken = |level: f64, v: f64| {
        let kept = tau2 / (tau2 + v);
        common(
            Estimate::new(mean + kept * (level - mean), "HRC")
                .with("own coupons", (kept * v).sqrt())
                .with("mean", (1.0 - kept) * variance.sqrt()),
        )
        .assuming(format!("{:.0} % of its distance from the mean is kept", 100.0 * kept))
        .assuming(how.clone())
    };
    Ok(BatchPool {
        mean: pooled,
        between: between(&levels, tau2).assuming(how.clone()),
        next_batch: next,
        batches: batches
            .iter()
            .map(|(batch, level, u)| BatchLevel {
                batch: batch.clone(),
                level: *level,
                u: *u,
                shrunken: shrunken(*level, u * u),
            })
            .collect(),
        method,
        p_same: 1.0 - chi_square_cdf(levels.q(0.0), left),
    })
}

/// τ with the interval of the Q statistic: exact for normal levels with known uncertainties.
fn between(levels: &Levels<'_>, tau2: f64) -> Estimate {
    const COUNT: usize = 100;
    let left = levels.y.len() as f64 - 1.0;
    let quantiles: Vec<f64> = (0..COUNT)
        .map(|i| {
            let point = chi_square_quantile(1.0 - (i as f64 + 0.5) / COUNT as f64, left);
            levels.zero_of(|tau2| levels.q(tau2) - point).sqrt()
        })
        .collect();
    let at = |index: usize| quantiles.get(index).copied().unwrap_or(0.0);
    let u = 0.5 * (at(83) - at(16));
    Estimate::new(tau2.sqrt(), "HRC")
        .with("batches", u)
        .shaped(Shape::Quantiles(quantiles))
        .assuming("interval by the generalised Q statistic: wide upward, since few batches can hide a large scatter")
}

/// Pools coupons that name their batch: each batch's level, with one scatter of coupons for all of them.
///
/// # Errors
/// As [`fit_coupons`] and [`pool_levels`]; [`Error::MissingArgument`] where a coupon names no batch, or where coupons had
/// several holds and no base curve brings them to one.
pub fn pool_coupons(coupons: &[Coupon], options: &CouponOptions, method: PoolMethod) -> Result<BatchPool> {
    let missing = |argument: &'static str, why: Text, hint: &'static str| Error::MissingArgument {
        function: "pool_batches".into(),
        argument: argument.into(),
        why,
        hint: hint.into(),
    };
    let mut names: Vec<&str> = Vec::new();
    for coupon in coupons {
        let Some(batch) = coupon.batch.as_deref() else {
            let why = format!("coupon {} names no batch", coupon.name).into();
            return Err(missing("batch", why, "Give a column batch: the bar or heat each coupon was cut from"));
        };
        if !names.contains(&batch) {
            names.push(batch);
        }
    }
    let one_hold = coupons.windows(2).all(|pair| match pair {
        [a, b] => a.temperature == b.temperature && a.time == b.time,
        _ => true,
    });
    if options.base.is_none() && !one_hold {
        let why = "the coupons had several holds, and their mean would be a mean of tempers".into();
        return Err(missing("curve", why, "Give curve= or steel=: levels are then offsets from it"));
    }
    let bias = options.bias.as_ref();
    let mut fits = Vec::with_capacity(names.len());
    let (mut squares, mut left) = (0.0, 0.0);
    for &name in &names {
        let own: Vec<Coupon> = coupons.iter().filter(|coupon| coupon.batch.as_deref() == Some(name)).cloned().collect();
        let offsets = offsets(&own, options)?;
        let mean = offsets.iter().sum::<f64>() / offsets.len() as f64;
        squares += offsets.iter().map(|offset| (offset - mean).powi(2)).sum::<f64>();
        left += offsets.len() as f64 - 1.0;
        fits.push((name.to_owned(), mean, offsets.len() as f64));
    }
    if left < 1.0 && options.coupon_sd.is_none() {
        return Err(Error::NotDetermined {
            what: "the standard deviation between batches".into(),
            why:
                "every batch has one coupon, and what lies between coupons can't be told from what lies between batches"
                    .into(),
            would_determine: "two coupons or more of some batches, or coupon_sd=".into(),
        });
    }
    let own = options.coupon_sd.map_or_else(|| squares / left, |sd| sd * sd);
    let (variance, unmoved) = if options.coupon_sd.is_none() && own.sqrt() < display_sd() {
        let per_coupon =
            coupons.iter().map(|coupon| coupon.readings.len()).sum::<usize>() as f64 / coupons.len() as f64;
        let (sd, how) = assumed_sd(coupons.iter().map(Coupon::mean).sum::<f64>() / coupons.len() as f64);
        (sd * sd / per_coupon, Some(said("coupons of one batch differ by", &how)))
    } else {
        (own.max(display_sd().powi(2)), None)
    };
    let levels: Vec<(String, f64, f64)> =
        fits.into_iter().map(|(name, mean, count)| (name, mean, (variance / count).sqrt())).collect();
    let mut made = pool_levels(&levels, method, bias.map_or(0.0, Estimate::u))?;
    if let Some(unmoved) = unmoved {
        for estimate in [&mut made.mean, &mut made.between, &mut made.next_batch] {
            *estimate = estimate.clone().assuming(unmoved.clone());
        }
    }
    Ok(made)
}

/// Each coupon's mean less what the base curve gives for its hold, spoiled coupons left out.
fn offsets(own: &[Coupon], options: &CouponOptions) -> Result<Vec<f64>> {
    let fit = fit_coupons(own, &CouponOptions { leave_out: Vec::new(), ..options.clone() })?;
    let bias = options.bias.as_ref().map_or(0.0, Estimate::value);
    own.iter()
        .filter(|coupon| fit.used.contains(&coupon.name))
        .map(|coupon| {
            let base = options.base.as_ref().map_or(Ok(0.0), |base| fit.base_for(base, coupon, options.constant))?;
            Ok(coupon.mean() - bias - base)
        })
        .collect()
}
