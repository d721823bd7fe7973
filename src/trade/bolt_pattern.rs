//! The order of bolts that are no plain circle, groups of bolts, orders by hand, and slackening.

use super::bolt_circle::{MOST_BOLTS, star};
use super::quantity::Length;

/// How the bolts of a joint lie, numbered from 1.
#[derive(Debug, Clone, PartialEq)]
pub enum BoltPattern {
    /// A circle, numbered clockwise from the top.
    Circle { bolts: u32 },
    /// A circle of which `together` neighbours are tightened as one, before the next group: for large
    /// flanges.
    Groups { bolts: u32, together: u32 },
    /// Rows and columns at equal distances, numbered along the rows from the top left.
    Grid { rows: u32, columns: u32 },
    /// A cover: where each bolt is, in any directions across and up.
    Cover { places: Vec<Place> },
    /// The order as the document numbers it; it wins over any rule.
    ByHand { bolts: u32, order: Vec<u32> },
}

/// Where a bolt is: across and up, from any point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub across: Length,
    pub up: Length,
}

/// Why a pattern has no order.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    #[error("A joint has 1 to {MOST_BOLTS} bolts, not {0}: describe a larger one as groups")]
    Count(u32),
    #[error("{bolts} bolts do not make whole groups of {together}: write {nearest} to a group")]
    Groups {
        bolts: u32,
        together: u32,
        nearest: u32,
    },
    #[error("The order by hand leaves out bolt {0}")]
    LeftOut(u32),
    #[error("The order by hand calls bolt {0} twice")]
    Twice(u32),
    #[error("The order by hand calls bolt {0}, but there are {1}")]
    NoSuchBolt(u32, u32),
}

impl BoltPattern {
    /// Returns the order in which the bolts are tightened.
    ///
    /// Circle: see [`star`]. Groups: the groups in star order, the bolts of each one after another
    /// (a bolting contractor's published guide: 48 bolts as 12 groups of 4). Grid and cover: from the
    /// centre outwards, changing sides (from memory: general practice; the document's order wins).
    ///
    /// # Errors
    /// [`PatternError`] for no bolts, more than 64 (of a circle's groups: more than 64 groups), groups
    /// that do not come out even, or an order by hand that is not each bolt once.
    pub fn order(&self) -> Result<Vec<u32>, PatternError> {
        match self {
            BoltPattern::Circle { bolts } => Ok(star(counted(*bolts)?)),
            BoltPattern::Groups { bolts, together } => in_groups(*bolts, *together),
            BoltPattern::Grid { rows, columns } => {
                counted(rows.saturating_mul(*columns))?;
                // Twice the place counted from the middle is a whole number.
                let place = |at: u32, of: u32| f64::from(2 * at) - f64::from(of - 1);
                let places: Vec<_> = (0..*rows)
                    .flat_map(|row| (0..*columns).map(move |column| (row, column)))
                    .map(|(row, column)| (place(column, *columns), place(row, *rows)))
                    .collect();
                Ok(centre_outwards(&places))
            }
            BoltPattern::Cover { places } => {
                counted(u32::try_from(places.len()).unwrap_or(u32::MAX))?;
                let middle = |at: fn(&Place) -> f64| {
                    let (least, most) = places
                        .iter()
                        .map(at)
                        .fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
                    (least + most) / 2.0
                };
                let across = |place: &Place| place.across.in_millimetres();
                let up = |place: &Place| place.up.in_millimetres();
                let (x, y) = (middle(across), middle(up));
                let places: Vec<_> = places.iter().map(|p| (across(p) - x, up(p) - y)).collect();
                Ok(centre_outwards(&places))
            }
            BoltPattern::ByHand { bolts, order } => {
                by_hand(counted(*bolts)?, order)?;
                Ok(order.clone())
            }
        }
    }

    /// Returns the order in which the bolts are slackened: the reverse, so that the joint is let go
    /// from the outside in, as evenly as it was drawn down.
    ///
    /// # Errors
    /// As [`BoltPattern::order`].
    pub fn slackening(&self) -> Result<Vec<u32>, PatternError> {
        let mut order = self.order()?;
        order.reverse();
        Ok(order)
    }

    /// Returns the order of a check pass: every bolt by its number, all the way round.
    ///
    /// # Errors
    /// As [`BoltPattern::order`].
    pub fn round(&self) -> Result<Vec<u32>, PatternError> {
        let mut order = self.order()?;
        order.sort_unstable();
        Ok(order)
    }
}

fn counted(bolts: u32) -> Result<u32, PatternError> {
    if (1..=MOST_BOLTS).contains(&bolts) {
        Ok(bolts)
    } else {
        Err(PatternError::Count(bolts))
    }
}

fn in_groups(bolts: u32, together: u32) -> Result<Vec<u32>, PatternError> {
    if together == 0 || !bolts.is_multiple_of(together) {
        let nearest = (1..=bolts)
            .filter(|size| bolts.is_multiple_of(*size))
            .min_by_key(|size| size.abs_diff(together));
        return Err(PatternError::Groups {
            bolts,
            together,
            nearest: nearest.unwrap_or(1),
        });
    }
    let groups = star(counted(bolts / together)?);
    Ok(groups
        .into_iter()
        .flat_map(|group| (1..=together).map(move |bolt| (group - 1) * together + bolt))
        .collect())
}

/// Orders places (numbered from 1) by their distance from the middle; of equally far ones, the one
/// farthest from the last bolts taken comes first, then the smallest number.
fn centre_outwards(places: &[(f64, f64)]) -> Vec<u32> {
    // Places on one ring differ in the last digits only.
    const SAME: f64 = 1e-6;
    let length = |x: f64, y: f64| (x * x + y * y).sqrt();
    let outs: Vec<f64> = places.iter().map(|&(x, y)| length(x, y)).collect();
    let out = |i: usize| outs[i];
    let apart = |i: usize, j: usize| length(places[i].0 - places[j].0, places[i].1 - places[j].1);
    let mut left: Vec<usize> = (0..places.len()).collect();
    let mut taken: Vec<usize> = Vec::new();
    while let Some(nearest) = left.iter().map(|&i| out(i)).min_by(f64::total_cmp) {
        let mut ring: Vec<usize> = left
            .iter()
            .copied()
            .filter(|&i| out(i) <= nearest + SAME)
            .collect();
        for &before in taken.iter().rev() {
            if ring.len() == 1 {
                break;
            }
            let farthest = ring.iter().map(|&i| apart(i, before)).fold(0.0, f64::max);
            ring.retain(|&i| apart(i, before) >= farthest - SAME);
        }
        taken.push(ring[0]);
        left.retain(|&i| i != ring[0]);
    }
    taken.into_iter().map(|i| i as u32 + 1).collect()
}

fn by_hand(bolts: u32, order: &[u32]) -> Result<(), PatternError> {
    for (at, &bolt) in order.iter().enumerate() {
        if !(1..=bolts).contains(&bolt) {
            return Err(PatternError::NoSuchBolt(bolt, bolts));
        }
        if order[..at].contains(&bolt) {
            return Err(PatternError::Twice(bolt));
        }
    }
    match (1..=bolts).find(|bolt| !order.contains(bolt)) {
        Some(bolt) => Err(PatternError::LeftOut(bolt)),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_goes_from_the_centre_outwards() {
        let head = BoltPattern::Grid {
            rows: 2,
            columns: 5,
        };
        // 1 2 3 4 5
        // 6 7 8 9 10
        assert_eq!(head.order().unwrap(), [3, 8, 2, 9, 7, 4, 6, 5, 1, 10]);
        let row = BoltPattern::Grid {
            rows: 1,
            columns: 5,
        };
        assert_eq!(row.order().unwrap(), [3, 2, 4, 1, 5]);
        assert_eq!(row.slackening().unwrap(), [5, 1, 4, 2, 3]);
    }

    #[test]
    fn an_order_by_hand_wins_if_it_is_whole() {
        let by_hand = |order: &[u32]| {
            let order = order.to_vec();
            BoltPattern::ByHand { bolts: 4, order }.order()
        };
        assert_eq!(by_hand(&[4, 2, 1, 3]).unwrap(), [4, 2, 1, 3]);
        assert_eq!(by_hand(&[4, 2, 1]), Err(PatternError::LeftOut(3)));
        assert_eq!(by_hand(&[4, 2, 2, 1]), Err(PatternError::Twice(2)));
        assert_eq!(by_hand(&[4, 2, 5, 1]), Err(PatternError::NoSuchBolt(5, 4)));
    }

    #[test]
    fn groups_must_come_out_even() {
        let groups = |bolts, together| BoltPattern::Groups { bolts, together }.order();
        assert_eq!(
            groups(8, 2).unwrap(),
            [1, 2, 5, 6, 3, 4, 7, 8],
            "four groups in star order"
        );
        assert_eq!(
            groups(48, 5),
            Err(PatternError::Groups {
                bolts: 48,
                together: 5,
                nearest: 4
            })
        );
        assert!(groups(0, 1).is_err());
    }
}
