//! The order in which the bolts of a circle are tightened.
//!
//! One rule serves every count from 1 to 64: bolts go in sets that face each other, and each next
//! set stands as far as can be from those before it.

/// The largest bolt circle the program calls.
pub const MOST_BOLTS: u32 = 64;

/// Returns the star order of a circle of `bolts` bolts, numbered 1 to `bolts` clockwise.
///
/// Counts that four divides go in sets of four at right angles, other even counts in opposite
/// pairs, odd counts by steps of just under half the circle.
pub fn star(bolts: u32) -> Vec<u32> {
    if bolts <= 3 {
        return (1..=bolts).collect();
    }
    if bolts.is_multiple_of(4) {
        let quarter = bolts / 4;
        spread(quarter)
            .into_iter()
            .flat_map(|k| [k, k + 2 * quarter, k + quarter, k + 3 * quarter])
            .map(|k| k + 1)
            .collect()
    } else if bolts.is_multiple_of(2) {
        let half = bolts / 2;
        spread(half)
            .into_iter()
            .flat_map(|k| [k, k + half])
            .map(|k| k + 1)
            .collect()
    } else {
        let step = (bolts - 1) / 2;
        (0..bolts).map(|i| (i * step) % bolts + 1).collect()
    }
}

/// Returns 0 to `places - 1` so that each next one is as far as can be from those before, the last
/// ones weighing first where several are equally far.
fn spread(places: u32) -> Vec<u32> {
    let distance = |a: u32, b: u32| {
        let apart = a.abs_diff(b);
        apart.min(places - apart)
    };
    let mut left: Vec<u32> = (0..places).collect();
    let mut taken: Vec<u32> = Vec::new();
    // How far each place is from the nearest one taken.
    let mut nearest = vec![u32::MAX; places as usize];
    while let Some(farthest) = left.iter().map(|&k| nearest[k as usize]).max() {
        let mut best = left.clone();
        best.retain(|&k| nearest[k as usize] == farthest);
        for &before in taken.iter().rev() {
            if best.len() == 1 {
                break;
            }
            let most = best.iter().map(|&k| distance(k, before)).max();
            best.retain(|&k| Some(distance(k, before)) == most);
        }
        let next = best[0];
        for k in 0..places {
            nearest[k as usize] = nearest[k as usize].min(distance(k, next));
        }
        left.retain(|&k| k != next);
        taken.push(next);
    }
    taken
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sources: 4, 8, 12, 16, 20 and 24 bolts from a gasket maker's public bolt-tightening worksheet
    /// (its clockwise label rings), 5 and 6 from tyre-shop guidance.
    #[test]
    fn star_orders_agree_with_published_rings() {
        let labels: [(u32, &[u32]); 5] = [
            (8, &[1, 5, 3, 7, 2, 6, 4, 8]),
            (12, &[1, 5, 9, 3, 7, 11, 2, 6, 10, 4, 8, 12]),
            (16, &[1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16]),
            (
                20,
                &[
                    1, 13, 5, 17, 9, 3, 15, 7, 19, 11, 2, 14, 6, 18, 10, 4, 16, 8, 20, 12,
                ],
            ),
            (
                24,
                &[
                    1, 9, 17, 5, 13, 21, 3, 11, 19, 7, 15, 23, 2, 10, 18, 6, 14, 22, 4, 12, 20, 8,
                    16, 24,
                ],
            ),
        ];
        for (bolts, ring) in labels {
            // The published ring writes at each place, clockwise, when that bolt's turn comes.
            let mut turn = vec![0; bolts as usize];
            for (i, &bolt) in star(bolts).iter().enumerate() {
                turn[bolt as usize - 1] = i as u32 + 1;
            }
            assert_eq!(turn, ring, "{bolts} bolts");
        }
        assert_eq!(star(4), [1, 3, 2, 4]);
        assert_eq!(star(5), [1, 3, 5, 2, 4]);
        assert_eq!(star(6), [1, 4, 2, 5, 3, 6]);
    }

    #[test]
    fn every_count_calls_every_bolt_once() {
        for bolts in 1..=MOST_BOLTS {
            let mut order = star(bolts);
            order.sort_unstable();
            assert_eq!(order, (1..=bolts).collect::<Vec<_>>());
        }
    }
}
