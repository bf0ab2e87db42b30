//! Whether what is left tells nothing more: the portmanteau test of Ljung and Box. Knows no chambers.

use statrs::distribution::{ChiSquared, ContinuousCDF};

/// How likely rows that are independent of each other hang together as much as these do, over up to so many steps; 1
/// where there are too few to tell.
///
/// `Q = n (n + 2) sum r_k^2 / (n - k)`, with `r_k` the correlation of rows `k` steps apart, is distributed as chi-squared
/// of as many degrees of freedom as steps. G. M. Ljung and G. E. P. Box, On a measure of lack of fit in time series models,
/// Biometrika 65 (1978) 297-303.
#[must_use]
pub fn chance(rows: &[f64], steps: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "counts of rows")]
    let number = |count: usize| count as f64;
    let steps = steps.min(rows.len() / 3);
    let n = number(rows.len());
    let mean = rows.iter().sum::<f64>() / n;
    let off: Vec<f64> = rows.iter().map(|row| row - mean).collect();
    let squares: f64 = off.iter().map(|off| off * off).sum();
    let Some(distribution) = ChiSquared::new(number(steps))
        .ok()
        .filter(|_| squares > 0.0)
    else {
        return 1.0;
    };
    let q: f64 = (1..=steps)
        .map(|k| {
            let products = off.iter().zip(&off[k..]).map(|(a, b)| a * b);
            let r = products.sum::<f64>() / squares;
            r * r / (n - number(k))
        })
        .sum();
    distribution.sf(n * (n + 2.0) * q)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Yearly flow of the Nile at Aswan, 1871-1970, 1e8 m3 (G. W. Cobb, The problem of the Nile, Biometrika 65 (1978)
    /// 243-251).
    const NILE: [f64; 100] = [
        1120.0, 1160.0, 963.0, 1210.0, 1160.0, 1160.0, 813.0, 1230.0, 1370.0, 1140.0, 995.0, 935.0,
        1110.0, 994.0, 1020.0, 960.0, 1180.0, 799.0, 958.0, 1140.0, 1100.0, 1210.0, 1150.0, 1250.0,
        1260.0, 1220.0, 1030.0, 1100.0, 774.0, 840.0, 874.0, 694.0, 940.0, 833.0, 701.0, 916.0,
        692.0, 1020.0, 1050.0, 969.0, 831.0, 726.0, 456.0, 824.0, 702.0, 1120.0, 1100.0, 832.0,
        764.0, 821.0, 768.0, 845.0, 864.0, 862.0, 698.0, 845.0, 744.0, 796.0, 1040.0, 759.0, 781.0,
        865.0, 845.0, 944.0, 984.0, 897.0, 822.0, 1010.0, 771.0, 676.0, 649.0, 846.0, 812.0, 742.0,
        801.0, 1040.0, 860.0, 874.0, 848.0, 890.0, 744.0, 749.0, 838.0, 1050.0, 918.0, 986.0,
        797.0, 923.0, 975.0, 815.0, 1020.0, 906.0, 901.0, 1170.0, 912.0, 746.0, 919.0, 718.0,
        714.0, 740.0,
    ];

    /// `acorr_ljungbox` of statsmodels 0.15.0 for the flow and for its differences.
    #[test]
    fn it_says_what_statsmodels_says() {
        let differences: Vec<f64> = NILE.windows(2).map(|w| w[1] - w[0]).collect();
        for (rows, steps, want) in [
            (&NILE[..], 1, 4.213_843e-7),
            (&NILE[..], 10, 1.258_633e-14),
            (&differences[..], 5, 0.003_513),
            (&differences[..], 10, 0.000_777),
        ] {
            let is = chance(rows, steps);
            assert!((is / want - 1.0).abs() < 2e-3, "{steps}: {is} {want}");
        }
    }

    #[test]
    fn too_few_rows_tell_nothing() {
        assert_eq!(chance(&[], 10), 1.0);
        assert_eq!(chance(&[1.0, 2.0], 10), 1.0);
        assert_eq!(chance(&[3.0; 50], 10), 1.0);
    }
}
