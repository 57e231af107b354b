//! Controllers and the oven's model: runs against ones computed outside this library with the same plant (exact between
//! steps), closed forms of second-order answers, models found again from their own answers.

use afterquench::Error;
use afterquench::oven::{
    AntiWindup, OvenModel, Pid, Plant, Rule, controller_settings, half_rule, identify_oven, loop_margins, on_off_swing,
    overshoot_percent, run, run_load, run_on_off, step_metrics, ultimate_point, ultimate_point_of_lags,
};
use proptest::prelude::*;

/// An over-powered oven: 3600 s lag, 60 s dead time, 30 s sensor, 20 to 220 °C.
fn oven(power_ratio: f64) -> Plant {
    Plant {
        gain: 200.0 * power_ratio,
        tau_s: 3600.0,
        theta_s: 60.0,
        sensor_lag_s: 30.0,
        ambient_c: 20.0,
        limited: true,
    }
}

/// Overshoot, first second at the setpoint, integral of the error's size, by power ratio and anti-windup: simulated in
/// Python outside this library, 1 s steps; SIMC PI for an effective dead time of 75 s.
#[test]
fn pi_with_and_without_anti_windup() {
    use AntiWindup::{BackCalculation as Back, Conditional as Clamp, None};
    for (ratio, kc, anti_windup, over, reached, error) in [
        (1.2, 0.100_417, None, 39.36, 6511.0, 9.351e5),
        (1.2, 0.100_417, Clamp, 0.0, 19_651.0, 4.751e5),
        (1.2, 0.100_417, Back, 1.73, 6511.0, 4.749e5),
        (1.5, 0.080_333_3, None, 80.23, 4016.0, 6.874e5),
        (1.5, 0.080_333_3, Clamp, 0.0, 17_903.0, 3.388e5),
        (1.5, 0.080_333_3, Back, 4.31, 4016.0, 3.389e5),
        (2.0, 0.060_25, None, 109.26, 2556.0, 5.181e5),
        (2.0, 0.060_25, Clamp, 0.0, 16_165.0, 2.354e5),
        (2.0, 0.060_25, Back, 8.46, 2556.0, 2.377e5),
        (3.0, 0.040_166_7, None, 121.83, 1520.0, 3.711e5),
        (3.0, 0.040_166_7, Clamp, 0.0, 15_521.0, 1.503e5),
        (3.0, 0.040_166_7, Back, 15.67, 1520.0, 1.569e5),
        (5.0, 0.0241, None, 112.31, 864.0, 2.417e5),
        (5.0, 0.0241, Clamp, 1.49, 926.0, 9.071e4),
        (5.0, 0.0241, Back, 26.13, 864.0, 1.035e5),
        (8.0, 0.015_062_5, None, 93.85, 541.0, 1.582e5),
        (8.0, 0.015_062_5, Clamp, 7.10, 573.0, 6.093e4),
        (8.0, 0.015_062_5, Back, 36.39, 541.0, 7.853e4),
    ] {
        let pid = Pid { kc, ti_s: Some(600.0), td_s: Option::None };
        let got = run(&oven(ratio), &pid, 220.0, anti_windup, 1.0, 30_000.0, 2.0).metrics;
        // One step of the simulation moves the peak by up to a few tenths.
        assert!(
            (got.overshoot_delta_c - over).abs() < 0.005 * over + 0.05,
            "{ratio} {anti_windup:?}: {got:?}, not {over}"
        );
        // Where it never settles the integral depends on how long it was run.
        assert!(
            got.settled_s.is_nan() || ratio < 1.3 || (got.absolute_error_c_s / error - 1.0).abs() < 0.005,
            "{ratio} {anti_windup:?}: {got:?}, not {error}"
        );
        if over > 1.0 {
            assert!((got.reached_s - reached).abs() <= 3.0, "{ratio} {anti_windup:?}: {got:?}, not {reached}");
        }
        let settings = OvenModel::of(200.0 * ratio, 3600.0, 60.0, 20.0).unwrap();
        let made = controller_settings(&settings, Rule::Simc, 220.0, 30.0, anti_windup).unwrap();
        assert!((made.pid.kc / kc - 1.0).abs() < 1e-5 && made.pid.ti_s == Some(600.0), "{:?}", made.pid);
    }
}

/// On-off with a hysteresis of 1 °C: the same oven, simulated outside this library with 1 s steps; its rows depend on the
/// step by up to one step.
#[test]
fn on_off_control() {
    for (ratio, over, peak_to_peak, mean, period) in [
        (1.2, 1.48, 6.66, -1.85, 695.0),
        (2.0, 5.41, 10.78, -0.07, 388.0),
        (5.0, 20.33, 24.24, 6.38, 528.0),
        (8.0, 35.05, 36.27, 12.24, 709.0),
    ] {
        let made = run_on_off(&oven(ratio), 220.0, 1.0, 1.0, 60_000.0);
        let tail = &made.celsius[40_000..];
        let low = tail.iter().copied().fold(f64::INFINITY, f64::min);
        let high = tail.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let ups: Vec<usize> = (1..tail.len()).filter(|&i| tail[i - 1] < 220.0 && tail[i] >= 220.0).collect();
        let whole = &tail[ups[0]..ups[ups.len() - 1]];
        let got_mean = whole.iter().sum::<f64>() / whole.len() as f64 - 220.0;
        let got_period = whole.len() as f64 / (ups.len() - 1) as f64;
        let highest = made.metrics.overshoot_delta_c;
        assert!((highest - over).abs() < 0.15, "{ratio}: over {highest}");
        assert!((high - low - peak_to_peak).abs() < 0.25, "{ratio}: {}", high - low);
        assert!((got_mean - mean).abs() < 0.25, "{ratio}: mean {got_mean}");
        assert!((got_period - period).abs() < 6.0, "{ratio}: period {got_period}");
    }
    // Without hysteresis and sensor lag: the closed form.
    let plain = Plant { sensor_lag_s: 0.0, ..oven(8.0) };
    let made = run_on_off(&plain, 220.0, 0.0, 0.05, 6000.0);
    let swing = on_off_swing(8.0, 60.0, 3600.0, 200.0).unwrap();
    assert!((made.metrics.overshoot_delta_c - swing.over_delta_c).abs() < 0.03);
    assert!(matches!(on_off_swing(1.0, 60.0, 3600.0, 200.0), Err(Error::InvalidValue { .. })));
}

/// Unlimited PI on one lag with dead time, simulated outside this library with steps of theta/400; it states 1 %.
#[test]
fn steps_under_pi() {
    for (theta, kc, ti, over, settled, error) in [
        (0.2, 2.5, 1.0, 4.09, 1.212, 0.4335),
        (0.2, 4.5, 0.666_667, 54.38, 2.340, 0.5967),
        (0.2, 4.583_33, 0.470_769, 74.20, 3.436, 0.7967),
        (1.0, 0.5, 1.0, 4.07, 6.050, 2.1664),
        (1.0, 0.9, 3.333_33, 0.0, 19.378, 3.6975),
        (1.0, 0.983_333, 1.137_93, 37.97, 10.388, 2.4396),
    ] {
        let plant = Plant { gain: 1.0, tau_s: 1.0, theta_s: theta, sensor_lag_s: 0.0, ambient_c: 0.0, limited: false };
        let pid = Pid { kc, ti_s: Some(ti), td_s: None };
        let made = run(&plant, &pid, 1.0, AntiWindup::None, theta / 400.0, 40.0, 0.02);
        let got = step_metrics(&made.seconds, &made.celsius, 0.0, 1.0).unwrap();
        assert!((got.overshoot_percent - over).abs() < 0.01 * over + 0.05, "{kc}: {got:?}");
        assert!((got.settled_2_s / settled - 1.0).abs() < 0.01, "{kc}: {got:?}");
        assert!((made.metrics.absolute_error_c_s / error - 1.0).abs() < 0.01, "{kc}: {:?}", made.metrics);
    }
}

/// Load steps of the same loops: the integral of the error's size, simulated outside this library with steps of
/// theta/400; it states 1 %. Where the answer does not change its sign it is Ti/Kc.
#[test]
fn loads_under_pi() {
    for (theta, kc, ti, error) in [
        (0.2, 2.5, 1.0, 0.4000),
        (0.2, 4.5, 0.666_667, 0.1482),
        (0.2, 4.583_33, 0.470_769, 0.1587),
        (1.0, 0.5, 1.0, 2.0347),
        (1.0, 0.9, 3.333_33, 3.6985),
        (1.0, 0.983_333, 1.137_93, 1.6655),
    ] {
        let plant = Plant { gain: 1.0, tau_s: 1.0, theta_s: theta, sensor_lag_s: 0.0, ambient_c: 0.0, limited: false };
        let pid = Pid { kc, ti_s: Some(ti), td_s: None };
        let got = run_load(&plant, &pid, 1.0, theta / 400.0, 60.0).metrics.absolute_error_c_s;
        assert!((got / error - 1.0).abs() < 0.01, "{kc}: {got}, not {error}");
    }
}

/// Skogestad's worked examples (2003) of the half rule, and the margins of SIMC with Ti = tau, tauc = theta, whose loop is
/// exp(-theta s)/(2 theta s): GM = pi, PM = 90 - 180/(2 pi), Ms = 1.5905 by hand and by evaluation outside this library.
#[test]
fn half_rule_and_margins() {
    let (tau, theta) = half_rule(&[2.0, 1.0, 0.4, 0.2, 0.05, 0.05, 0.05], 0.0, &[-0.3, 0.08]).unwrap();
    assert!((tau - 2.5).abs() < 1e-12 && (theta - 1.47).abs() < 1e-12, "{tau} {theta}");
    assert_eq!(half_rule(&[1.0, 1.0, 1.0], 0.0, &[]).unwrap(), (1.5, 1.5));
    let (ku, pu) = ultimate_point_of_lags(1.0, &[1.0, 1.0, 1.0], 0.0).unwrap();
    assert!((ku - 8.0).abs() < 1e-9 && (pu - std::f64::consts::TAU / 3.0f64.sqrt()).abs() < 1e-9, "{ku} {pu}");
    let pid = Rule::UltimatePid.of_ultimate(ku, pu).unwrap();
    assert!((pid.kc - 4.8).abs() < 1e-9 && (pid.ti_s.unwrap() - 1.8138).abs() < 5e-5);
    assert!((pid.td_s.unwrap() - 0.4534).abs() < 6e-5);
    for theta in [0.05, 0.1, 0.125] {
        let simc = Pid { kc: 0.5 / theta, ti_s: Some(1.0), td_s: None };
        let margins = loop_margins(1.0, 1.0, theta, &simc).unwrap();
        assert!((margins.gain_margin - std::f64::consts::PI).abs() < 1e-9, "{margins:?}");
        assert!((margins.phase_margin_deg - 61.352).abs() < 5e-4, "{margins:?}");
        assert!((margins.peak_sensitivity - 1.5905).abs() < 5e-5, "{margins:?}");
    }
    // At the ultimate gain nothing is left.
    let (ku, _) = ultimate_point(400.0, 3600.0, 60.0);
    let edge = loop_margins(400.0, 3600.0, 60.0, &Pid { kc: ku, ti_s: None, td_s: None }).unwrap();
    assert!((edge.gain_margin - 1.0).abs() < 1e-9 && edge.phase_margin_deg.abs() < 1e-6, "{edge:?}");
    assert!(matches!(half_rule(&[], 1.0, &[]), Err(Error::Refused { .. })));
    assert!(matches!(half_rule(&[1.0], 0.0, &[2.0]), Err(Error::Refused { .. })));
    assert!(matches!(half_rule(&[0.0], 0.0, &[]), Err(Error::InvalidValue { .. })));
    assert!(matches!(ultimate_point_of_lags(1.0, &[1.0, 1.0], 0.0), Err(Error::Refused { .. })));
    assert!(matches!(Rule::Simc.of_ultimate(8.0, 3.6), Err(Error::Refused { .. })));
    assert!(matches!(loop_margins(1.0, 1.0, 0.0, &pid), Err(Error::InvalidValue { .. })));
}

/// Second-order answers: closed form sampled outside this library every 1e-5 s.
#[test]
fn second_order_answers() {
    for (zeta, over, peak, two, five, rise, error) in [
        (0.2, 52.6621, 3.2064, 19.6019, 13.7444, 1.2034, 3.3415),
        (0.3, 37.2326, 3.2933, 11.2301, 10.1371, 1.3213, 2.3666),
        (0.4, 25.3827, 3.4278, 8.4093, 7.6088, 1.4635, 1.9284),
        (0.5, 16.3034, 3.6276, 8.0764, 5.2891, 1.6376, 1.7131),
        (0.6, 9.4780, 3.9270, 5.9430, 5.2291, 1.8540, 1.6198),
        (0.7, 4.5988, 4.3991, 5.9788, 2.8998, 2.1262, 1.6102),
        (0.8, 1.5165, 5.2360, 3.7559, 3.3854, 2.4675, 1.6726),
        (0.9, 0.1524, 7.2073, 4.6996, 4.0144, 2.8830, 1.8077),
    ] {
        let damped = (1.0f64 - zeta * zeta).sqrt();
        let seconds: Vec<f64> = (0..400_000).map(|i| 1e-4 * f64::from(i)).collect();
        let values: Vec<f64> = seconds
            .iter()
            .map(|t| 1.0 - (-zeta * t).exp() * ((damped * t).cos() + zeta / damped * (damped * t).sin()))
            .collect();
        let got = step_metrics(&seconds, &values, 0.0, 1.0).unwrap();
        assert!((got.overshoot_percent - over).abs() < 1e-4, "{zeta}: {got:?}");
        assert!((overshoot_percent(zeta).unwrap() - over).abs() < 5.1e-5, "{zeta}");
        // One sample of ours, and the rounding of theirs.
        for (got, expected) in
            [(got.settled_2_s, two), (got.settled_5_s, five), (got.rise_s, rise), (got.absolute_error, error)]
        {
            assert!((got - expected).abs() < 2.1e-4, "{zeta}: {got}, not {expected}");
        }
        // The top is flat: its place is known to less.
        assert!((got.peak_s - peak).abs() < 1e-3, "{zeta}: {got:?}");
    }
}

/// A step's answer with noise: the model that made it lies inside its interval.
#[test]
fn a_model_is_found_again() {
    let (gain, tau, theta) = (400.0, 3600.0, 60.0);
    let noise = |i: u32| 0.4 * (f64::from(i.wrapping_mul(2_654_435_761) >> 8) / f64::from(1u32 << 24) - 0.5);
    let seconds: Vec<f64> = (0..720).map(|i| 20.0 * f64::from(i)).collect();
    let celsius: Vec<f64> = seconds
        .iter()
        .zip(0u32..)
        .map(|(t, i)| 20.0 + noise(i) + if *t > theta { gain * -(-(t - theta) / tau).exp_m1() } else { 0.0 })
        .collect();
    let found = identify_oven(&seconds, &celsius, &[1.0; 720]).unwrap();
    for (estimate, truth, most) in [(&found.gain, gain, 2.0), (&found.lag, tau, 20.0), (&found.dead_time, theta, 5.0)] {
        let (low, high) = estimate.interval(0.999).unwrap();
        assert!(low <= truth && truth <= high, "{estimate:?} is not {truth}");
        assert!(estimate.u() < most, "{estimate:?}");
    }
    // The first minutes of it, read by a worse sensor, are a straight line: lag and gain can't be told apart.
    let rough: Vec<f64> = celsius.iter().zip(0u32..).map(|(celsius, i)| celsius + 30.0 * noise(i + 7)).collect();
    let short = identify_oven(&seconds[..25], &rough[..25], &[1.0; 25]);
    assert!(matches!(short, Err(Error::NotDetermined { .. })), "{short:?}");
}

#[test]
fn what_is_refused() {
    let model = OvenModel::of(400.0, 3600.0, 60.0, 20.0).unwrap();
    let ask = |model: &OvenModel, setpoint: f64| {
        controller_settings(model, Rule::Simc, setpoint, 0.0, AntiWindup::Conditional).map(|made| made.pid)
    };
    assert!(matches!(ask(&model, 500.0), Err(Error::Refused { .. })));
    assert!(matches!(ask(&model, f64::NAN), Err(Error::Refused { .. })));
    assert!(matches!(ask(&OvenModel::of(400.0, 3600.0, 0.0, 20.0).unwrap(), 200.0), Err(Error::Refused { .. })));
    assert!(matches!(OvenModel::of(-1.0, 3600.0, 60.0, 20.0), Err(Error::InvalidValue { .. })));
    assert!(matches!(Rule::named("best"), Err(Error::UnknownName { .. })));
    assert!(Rule::ALL.iter().all(|rule| Rule::named(rule.name()).unwrap() == *rule));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    /// A heater can't be asked for more than it has, and the air stays between the room and full power.
    #[test]
    fn inside_its_limits(ratio in 1.1..8.0f64, kc in 0.001..2.0f64, ti in 10.0..5000.0f64) {
        let plant = oven(ratio);
        let made = run(&plant, &Pid { kc, ti_s: Some(ti), td_s: Some(0.1 * ti) }, 220.0, AntiWindup::BackCalculation, 5.0, 5000.0, 2.0);
        prop_assert!(made.power.iter().all(|power| (0.0..=1.0).contains(power)));
        prop_assert!(made.celsius.iter().all(|celsius| (20.0..=20.0 + plant.gain).contains(celsius)));
    }
}
