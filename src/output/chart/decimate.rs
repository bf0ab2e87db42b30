//! Thins a line to what the picture can show, so that files stay small.

/// Thins a line given in pixels. From every column of one pixel at most the first, lowest, highest
/// and last point remain, so no peak is lost; then points that lie on the straight way between
/// their neighbours go.
pub fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    straightened(&columns(points), 0.1)
}

fn columns(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut kept = Vec::new();
    let mut begin = 0;
    while begin < points.len() {
        let column = points[begin].0.floor();
        let mut end = begin + 1;
        while end < points.len() && points[end].0.floor() == column {
            end += 1;
        }
        let (mut low, mut high) = (begin, begin);
        for index in begin..end {
            if points[index].1 < points[low].1 {
                low = index;
            }
            if points[index].1 > points[high].1 {
                high = index;
            }
        }
        let mut chosen = [begin, low, high, end - 1];
        chosen.sort_unstable();
        for (position, &index) in chosen.iter().enumerate() {
            if position == 0 || index != chosen[position - 1] {
                kept.push(points[index]);
            }
        }
        begin = end;
    }
    kept
}

/// Ramer-Douglas-Peucker: drops points nearer than `tolerance` to the line through what remains.
fn straightened(points: &[(f64, f64)], tolerance: f64) -> Vec<(f64, f64)> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut keep = vec![false; points.len()];
    keep[0] = true;
    keep[points.len() - 1] = true;
    let mut open = vec![(0, points.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let mut worst = (0, tolerance);
        for index in from + 1..to {
            let distance = distance(points[index], points[from], points[to]);
            if distance > worst.1 {
                worst = (index, distance);
            }
        }
        if worst.0 > 0 {
            keep[worst.0] = true;
            open.push((from, worst.0));
            open.push((worst.0, to));
        }
    }
    points
        .iter()
        .zip(keep)
        .filter_map(|(&point, keep)| keep.then_some(point))
        .collect()
}

fn distance(point: (f64, f64), from: (f64, f64), to: (f64, f64)) -> f64 {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let square = dx * dx + dy * dy;
    let share = if square > 0.0 {
        (((point.0 - from.0) * dx + (point.1 - from.1) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (point.0 - from.0 - share * dx).hypot(point.1 - from.1 - share * dy)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_keeps_its_ends() {
        let line: Vec<_> = (0..500)
            .map(|i| (f64::from(i) * 0.3, 2.0 * f64::from(i)))
            .collect();
        assert_eq!(thinned(&line), vec![line[0], line[499]]);
    }

    #[test]
    fn a_peak_of_one_point_in_a_long_run_survives() {
        let mut line: Vec<_> = (0..100_000).map(|i| (f64::from(i) * 0.008, 50.0)).collect();
        line[61_234].1 = 10.0;
        let thin = thinned(&line);
        assert!(thin.len() < 10, "{}", thin.len());
        assert!(thin.contains(&line[61_234]));
    }

    /// A wild line cannot be straightened, but never takes more than four points a column.
    #[test]
    fn a_noisy_line_is_bounded_by_the_width() {
        let line: Vec<_> = (0u32..200_000)
            .map(|i| {
                (
                    f64::from(i) * 0.004,
                    f64::from(i.wrapping_mul(2_654_435_761) >> 24),
                )
            })
            .collect();
        assert!(thinned(&line).len() <= 4 * 801);
    }

    #[test]
    fn short_lines_pass_through() {
        assert!(thinned(&[]).is_empty());
        assert_eq!(thinned(&[(1.0, 2.0)]), vec![(1.0, 2.0)]);
        assert_eq!(thinned(&[(1.0, 2.0), (1.0, 2.0)]).len(), 2);
    }
}
