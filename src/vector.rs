//! Arithmetic on rows of numbers that several rooms share.

/// Sum of products, four at a time: a chain of additions would wait for itself.
#[inline]
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (mut a4, mut b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let mut sums = [0.0; 4];
    for (x, y) in (&mut a4).zip(&mut b4) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    let rest = a4.remainder().iter().zip(b4.remainder());
    rest.fold((sums[0] + sums[1]) + (sums[2] + sums[3]), |s, (x, y)| {
        s + x * y
    })
}
