//! What the composition model says of itself.

use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};

const MEASURED: &str = "the measured rows behind the fit";

/// The record of hardness after a temper from composition.
pub static TEMPERED: ModelRecord = ModelRecord {
    id: "steel.tempered",
    gives: "Rockwell C hardness after a temper, from composition",
    unit: "HRC",
    formula: "mean = mu(x, composition) + weights . columns; x = T (C + lg t)/C the one-hour equivalent, C = c0 - c1 %C \
              dissolved; mu: as-quenched hardness of the carbon, less a fall with x, plus an increment in HV for each \
              element; columns: sines of x times carbon, elements and lg t; weights normal, fitted, with their \
              covariance; a steel's and a laboratory's own deviation as further normal weights. Own readings condition \
              all of them at once; where chi-square of what n readings lie off the prediction before them exceeds its 95 % \
              point, every u is multiplied by sqrt(chi-square/n)",
    ranges: &[
        ValidRange { argument: "temperature_c", unit: "°C", low: 100.0, high: 705.0, stated_by: MEASURED },
        ValidRange { argument: "time_h", unit: "h", low: 1.0 / 6.0, high: 32.0, stated_by: MEASURED },
        ValidRange {
            argument: "as_quenched_hrc",
            unit: "HRC",
            low: 20.0,
            high: 70.0,
            stated_by: "the Rockwell C scale",
        },
    ],
    scatter: Scatter::Known {
        u: 1.6,
        unit: "HRC",
        found: "root mean square of steels left out, laboratory not seen before, without the noisiest one; every \
                prediction carries its own u",
    },
    sources: &[
        Source {
            cite: "weights fitted to the measured tempers of 31 steels by R. A. Grange and R. W. Baughman (1956), J. H. \
                   Hollomon and L. D. Jaffe (1945) and R. N. Penha (2010), as collected in an open data set (CC BY 4.0)",
            at: "src/data/tempered_fit_2026.toml",
            origin: Origin::FromData,
        },
        Source {
            cite: "R. A. Grange, C. R. Hribal and L. F. Porter, Hardness of tempered martensite in carbon and low-alloy \
                   steels, Metall. Trans. A 8 (1977) 1775",
            at: "form of the increments; their size is a prior from memory that the fit corrects",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning (2006)",
            at: "2.1.2 and A.2: linear model in a basis, conditioning a normal distribution",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "R. T. Birge, The calculation of errors by the method of least squares, Phys. Rev. 40 (1932) 207",
            at: "ratio of external to internal consistency; that it is applied beyond the 95 % point, and that a ratio above 4 \
                 with a chance below one in a million is refused, is a choice",
            origin: Origin::FromMemory,
        },
    ],
    errata: &[],
    not_for: "secondary hardening, stainless, high-speed and hot-work steel, steel that was not hardened through, and \
              retained austenite: none of the measured steels had them",
};
