//! The network of the second opinion: Whisper's smallest for English (Radford et al., Robust Speech Recognition via
//! Large-Scale Weak Supervision, 2022), a transformer. One part hears the sound; the other says how likely each next
//! piece of a text is, here for all texts of a tree at once.

use ndarray::{Array2, ArrayView2, Axis, concatenate, s};

use super::layers::{Attention, Convolution, Inner, Linear, Norm, attend, by_rows, rows_of};
use super::tokens::{Node, Tree};
use super::weights::Weights;

/// Free texts are followed for so many pieces.
const LONGEST: usize = 12;

/// The loaded network.
pub struct Network {
    first: Convolution,
    second: Convolution,
    times: Array2<f32>,
    hearing: Vec<HearingLayer>,
    heard: Norm,
    pieces: Array2<f32>,
    places: Array2<f32>,
    telling: Vec<TellingLayer>,
    told: Norm,
}

struct HearingLayer {
    attention: Attention,
    inner: Inner,
}

struct TellingLayer {
    attention: Attention,
    norm: Norm,
    asks: Linear,
    answers: Linear,
    out: Linear,
    inner: Inner,
}

/// What was heard, as each layer of the telling part is answered by it: keys and values.
pub struct Heard(Vec<[Array2<f32>; 2]>);

impl Network {
    /// Makes the network of its weights; none where some are missing.
    pub fn of(weights: &Weights) -> Option<Network> {
        let hearing = (0..weights.count("encoder/layer_{}/ffn/linear_0/weight")).map(|layer| {
            let of = format!("encoder/layer_{layer}");
            Some(HearingLayer {
                attention: Attention::of(weights, &format!("{of}/self_attention"))?,
                inner: Inner::of(weights, &format!("{of}/ffn"))?,
            })
        });
        let telling = (0..weights.count("decoder/layer_{}/ffn/linear_0/weight")).map(|layer| {
            let of = format!("decoder/layer_{layer}");
            let linear = |n| Linear::of(weights, &format!("{of}/attention/linear_{n}"));
            Some(TellingLayer {
                attention: Attention::of(weights, &format!("{of}/self_attention"))?,
                norm: Norm::of(weights, &format!("{of}/attention/layer_norm"))?,
                asks: linear(0)?,
                answers: linear(1)?,
                out: linear(2)?,
                inner: Inner::of(weights, &format!("{of}/ffn"))?,
            })
        });
        Some(Network {
            first: Convolution::of(weights, "encoder/conv1", 1)?,
            second: Convolution::of(weights, "encoder/conv2", 2)?,
            times: weights.matrix("encoder/position_encodings/encodings")?,
            hearing: hearing.collect::<Option<Vec<_>>>()?,
            heard: Norm::of(weights, "encoder/layer_norm")?,
            pieces: weights.matrix("decoder/embeddings/weight")?,
            places: weights.matrix("decoder/position_encodings/encodings")?,
            telling: telling.collect::<Option<Vec<_>>>()?,
            told: Norm::of(weights, "decoder/layer_norm")?,
        })
    }

    /// Returns how many pieces of words it knows.
    pub fn pieces(&self) -> usize {
        self.pieces.nrows()
    }

    /// Hears sound as [`super::spectrum::mel`] shows it, at most 30 s.
    pub fn hear(&self, mel: &Array2<f32>) -> Heard {
        let mut x = self.second.of_steps(&self.first.of_steps(mel));
        let count = x.nrows().min(self.times.nrows());
        x = x.slice(s![..count, ..]).to_owned() + self.times.slice(s![..count, ..]);
        for layer in &self.hearing {
            let [asks, keys, values] = layer.attention.look(&x);
            x = by_rows(count, |rows| {
                let seen = attend(&rows_of(&asks, &rows), &keys, &values);
                let x = layer.attention.added_to(&rows_of(&x, &rows), &seen);
                layer.inner.added_to(x)
            });
        }
        let x = self.heard.apply(&x);
        let answers = self.telling.iter().map(|layer| {
            let both = by_rows(count, |rows| layer.answers.apply(&rows_of(&x, &rows)));
            let width = both.ncols() / 2;
            [both.slice(s![.., ..width]), both.slice(s![.., width..])].map(|half| half.to_owned())
        });
        Heard(answers.collect())
    }

    /// Returns the log likelihood of each phrase of `tree`, its end included, in the order of the tree.
    pub fn likelihoods(&self, heard: &Heard, tree: &Tree, told: &Told) -> Vec<f32> {
        let phrases = self.of_phrases(heard, tree, told).into_iter();
        phrases.map(|(words, end)| words + end).collect()
    }

    /// Returns the same, whatever comes after the phrase.
    pub fn beginnings(&self, heard: &Heard, tree: &Tree, told: &Told) -> Vec<f32> {
        let phrases = self.of_phrases(heard, tree, told).into_iter();
        phrases.map(|(words, _)| words).collect()
    }

    /// Returns the log likelihood of the words of each phrase, and that of its end after them.
    fn of_phrases(&self, heard: &Heard, tree: &Tree, told: &Told) -> Vec<(f32, f32)> {
        let logs = self.logs(heard, tree, told);
        let after =
            |node: usize, piece: usize| Some(logs[[node, tree.told.binary_search(&piece).ok()?]]);
        let of_phrase = |last: usize| {
            let path = tree.nodes[last].path.windows(2).skip(1);
            let pieces: Option<f32> = path
                .map(|two| after(two[0], tree.nodes[two[1]].piece))
                .sum();
            let ends: Vec<f32> = tree
                .ends
                .iter()
                .filter_map(|end| after(last, *end))
                .collect();
            Some((pieces?, log_sum(ends.iter())))
        };
        let phrases = tree.phrases.iter();
        phrases
            .map(|(_, last)| of_phrase(*last).unwrap_or((f32::NEG_INFINITY, 0.0)))
            .collect()
    }

    /// Returns how likely each piece that is told from others is after each node, as logarithms.
    fn logs(&self, heard: &Heard, tree: &Tree, told: &Told) -> Array2<f32> {
        let states = self.states(heard, tree);
        by_rows(states.nrows(), |rows| {
            let mut logs = self.scores(rows_of(&states, &rows), told);
            for mut row in logs.rows_mut() {
                row -= log_sum(row.iter());
            }
            logs
        })
    }

    /// Returns the text that is had by taking the likeliest piece each time, of those told from one another for
    /// `tree`.
    pub fn freely(&self, heard: &Heard, tree: &Tree, told: &Told) -> Vec<usize> {
        let mut text = tree.beginning();
        let mut pieces = Vec::new();
        while pieces.len() < LONGEST {
            let last = text.nodes.len() - 1;
            let states = self.states(heard, &text);
            let next = self.parts(told).map(|pieces| pieces.dot(&states.row(last)));
            let each = next.iter().flatten().zip(&tree.told);
            let likeliest = each.max_by(|(a, _), (b, _)| a.total_cmp(b));
            match likeliest {
                Some((_, piece)) if tree.ends.last() != Some(piece) => {
                    pieces.push(*piece);
                    text.grow(Some(last), *piece);
                }
                _ => break,
            }
        }
        pieces
    }

    /// Returns what tells the pieces of `tree` from one another.
    pub fn told(&self, tree: &Tree) -> Told {
        let each = tree.told.iter().enumerate();
        let first = each.take_while(|(n, piece)| n == *piece).count();
        Told {
            first,
            others: self.pieces.select(Axis(0), &tree.told[first..]),
        }
    }

    /// Returns how well each piece that is told from others fits each of `states`.
    fn scores(&self, states: ArrayView2<f32>, told: &Told) -> Array2<f32> {
        let [first, others] = self.parts(told).map(|pieces| states.dot(&pieces.t()));
        concatenate![Axis(1), first, others]
    }

    /// Returns the pieces that are told from others: the vocabulary's first, and the rest.
    fn parts<'a>(&'a self, told: &'a Told) -> [ArrayView2<'a, f32>; 2] {
        let first = self.pieces.slice(s![..told.first, ..]);
        [first, told.others.view()]
    }

    /// Returns the state in which the network is after each node.
    fn states(&self, heard: &Heard, tree: &Tree) -> Array2<f32> {
        let pieces: Vec<usize> = tree.nodes.iter().map(|node| node.piece).collect();
        let places: Vec<usize> = tree.nodes.iter().map(|node| node.path.len() - 1).collect();
        let mut x = self.pieces.select(Axis(0), &pieces) + self.places.select(Axis(0), &places);
        for (layer, [keys, values]) in self.telling.iter().zip(&heard.0) {
            let [asks, own_keys, own_values] = layer.attention.look(&x);
            x = by_rows(x.nrows(), |rows| {
                let nodes = &tree.nodes[rows.clone()];
                let seen = attend_along(rows_of(&asks, &rows), &own_keys, &own_values, nodes);
                let x = layer.attention.added_to(&rows_of(&x, &rows), &seen);
                let asks = layer.asks.apply(&layer.norm.apply(&x));
                let x = x + layer.out.apply(&attend(&asks, keys, values));
                layer.inner.added_to(x)
            });
        }
        self.told.apply(&x)
    }
}

/// What tells the pieces of one tree from one another.
pub struct Told {
    /// So many of the vocabulary's first pieces.
    first: usize,
    others: Array2<f32>,
}

/// The same where each of `nodes` sees only what it stands on.
fn attend_along(
    asks: ArrayView2<f32>,
    keys: &Array2<f32>,
    values: &Array2<f32>,
    nodes: &[Node],
) -> Array2<f32> {
    let mut seen = Array2::zeros(asks.raw_dim());
    for (at, node) in nodes.iter().enumerate() {
        let keys = keys.select(Axis(0), &node.path);
        let values = values.select(Axis(0), &node.path);
        let asks = asks.slice(s![at..=at, ..]);
        seen.row_mut(at)
            .assign(&attend(&asks, &keys, &values).row(0));
    }
    seen
}

/// Returns the logarithm of the sum of what these are the logarithms of.
fn log_sum<'a>(logs: impl Iterator<Item = &'a f32> + Clone) -> f32 {
    let most = logs.clone().copied().fold(f32::NEG_INFINITY, f32::max);
    most + logs.map(|log| (log - most).exp()).sum::<f32>().ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hear::level::floats;
    use crate::hear::opinion::spectrum::{RATE, mel};
    use crate::hear::opinion::tests::{human, loaded};

    /// By the CTranslate2 library, version 4.8.5, from the same weights in single precision: natural logarithms of
    /// what its `align` gives for the pieces of a text, after 30 s that begin with the recording.
    #[test]
    fn pieces_of_what_somebody_said_are_as_likely_as_by_the_reference() {
        let (Some(second), Some(mut sound)) = (loaded(), human("goforward.raw")) else {
            return;
        };
        sound.resize(30 * RATE as usize, 0);
        let heard = second.network.hear(&mel(&floats(&sound)));
        for (phrase, expected) in [
            (
                "go forward ten meters",
                &[-0.748, -0.061, -2.323, -0.024][..],
            ),
            ("go forward ten minutes", &[-0.748, -0.061, -2.323, -10.777]),
            ("say again", &[-13.367, -6.532]),
            ("work complete", &[-10.36, -9.195]),
        ] {
            let mut tree = second.tokens.tree([phrase.to_string()].iter()).unwrap();
            tree.told = (0..second.network.pieces.nrows()).collect();
            let told = second.network.told(&tree);
            let logs = second.network.logs(&heard, &tree, &told);
            let path = &tree.nodes[tree.phrases[0].1].path;
            let steps = path.windows(2).skip(1);
            let each: Vec<f32> = steps
                .map(|two| logs[[two[0], tree.nodes[two[1]].piece]])
                .collect();
            assert_eq!(each.len(), expected.len(), "{phrase}");
            for (log, expected) in each.iter().zip(expected) {
                assert!((log - expected).abs() < 0.05, "{phrase}: {each:?}");
            }
        }
    }

    #[test]
    fn a_likelihood_of_nothing_adds_nothing() {
        let logs = [0.5f32.ln(), 0.25f32.ln(), f32::NEG_INFINITY];
        assert!((log_sum(logs.iter()) - 0.75f32.ln()).abs() < 1e-6);
    }
}
