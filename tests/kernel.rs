//! The kernel's logarithm and power against values from a multi-precision library.

use afterquench::kernel::{ArrayModel, Lane, evaluate_one, exp2, log2, log2_parts};
use afterquench::temper::{EquivalentTemperature, EquivalentTime, TemperParameter};

/// Origin: independent code (mpmath at 200 bits; tests/published/kernel_reference.py makes the file).
const REFERENCE: &str = include_str!("published/kernel_reference.csv");

fn ulp(x: f64) -> f64 {
    let x = x.abs().max(f64::MIN_POSITIVE);
    f64::from_bits(x.to_bits() + 1) - x
}

/// Rows are `function,x,value,rest`: the reference is `value + rest`, two floats that together hold 100 bits.
#[test]
fn errors_in_ulp() {
    let mut worst = [0.0f64; 3];
    let mut rows = 0;
    for row in REFERENCE.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let mut cells = row.split(',');
        let function = cells.next().unwrap();
        let mut number = || cells.next().unwrap().parse::<f64>().unwrap();
        let (x, value, rest) = (number(), number(), number());
        let error = |got: f64| ((got - value) - rest).abs() / ulp(value);
        match function {
            "log2" => {
                worst[0] = worst[0].max(error(log2(x)));
                let (high, low) = log2_parts(x);
                worst[1] = worst[1].max((((high - value) + (low - rest)).abs()) / ulp(value));
            }
            _ => worst[2] = worst[2].max(error(exp2(x))),
        }
        rows += 1;
    }
    println!("log2 {:.3} ulp, in parts {:.4}, exp2 {:.3} over {rows} rows", worst[0], worst[1], worst[2]);
    assert!(rows >= 4000);
    assert!(worst[0] < 0.51 && worst[1] < 0.13 && worst[2] < 1.03, "{worst:?}");
}

#[test]
fn edges() {
    for bad in [0.0, -0.0, -1.0, f64::INFINITY, f64::NEG_INFINITY, f64::NAN] {
        assert!(log2(bad).is_nan(), "{bad}");
    }
    assert_eq!(log2(f64::from_bits(1)), -1074.0);
    assert_eq!((log2(1.0), log2(8.0), log2(f64::MIN_POSITIVE)), (0.0, 3.0, -1022.0));
    assert_eq!((exp2(0.0), exp2(-1020.0), exp2(1023.0)), (1.0, 2f64.powi(-1020), 2f64.powi(1023)));
    assert_eq!((exp2(-1021.0), exp2(f64::NEG_INFINITY)), (0.0, 0.0));
    assert_eq!((exp2(1024.0), exp2(f64::INFINITY)), (f64::INFINITY, f64::INFINITY));
    assert!(exp2(f64::NAN).is_nan());
}

/// The same bits one by one, in a vector loop, with hoisted arguments and with arguments written out.
#[test]
fn one_by_one_is_all_at_once() {
    let n = 1003;
    let celsius: Vec<f64> = (0..n).map(|i| -280.0 + 0.97 * f64::from(i)).collect();
    let hours: Vec<f64> = (0..n).map(|i| -0.01 + 0.013 * f64::from(i)).collect();
    let new: Vec<f64> = (0..n).map(|i| 700.0 - 0.9 * f64::from(i)).collect();
    let c = vec![17.5; celsius.len()];
    let models: [(&dyn ArrayModel, usize); 3] =
        [(&TemperParameter, 3), (&EquivalentTime, 4), (&EquivalentTemperature, 4)];
    for (model, count) in models {
        let each = [&celsius, &hours, &new, &c];
        let lanes = |hoisted: &dyn Fn(usize) -> bool| -> Vec<Lane<'_>> {
            let chosen: Vec<usize> = if count == 3 { vec![0, 1, 3] } else { vec![0, 1, 2, 3] };
            chosen.into_iter().map(|i| if hoisted(i) { Lane::One(each[i][500]) } else { Lane::Each(each[i]) }).collect()
        };
        for pattern in 0..16u32 {
            let lanes = lanes(&|i| pattern >> i & 1 == 1);
            let mut out = vec![0.0; celsius.len()];
            model.fill(&lanes, &mut out);
            for (index, &value) in out.iter().enumerate() {
                let arguments: Vec<f64> = lanes.iter().map(|lane| lane.at(index)).collect();
                match evaluate_one(model, &arguments) {
                    Ok(single) => assert_eq!(single.to_bits(), value.to_bits(), "{arguments:?}"),
                    Err(_) => assert!(value.is_nan(), "{arguments:?}"),
                }
            }
        }
    }
}
