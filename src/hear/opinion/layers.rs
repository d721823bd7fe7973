//! The layers of the second opinion's network: each works on rows, a row for each step of the sound or piece of a text.

use std::ops::Range;
use std::sync::LazyLock;
use std::thread;

use ndarray::{Array1, Array2, ArrayBase, ArrayView2, Axis, Data, Ix2, Zip, concatenate, s};

use super::weights::Weights;

/// Each attention looks through windows of so many values.
const HEAD: usize = 64;
/// A convolution's steps.
const STEPS: usize = 3;
/// Keeps a division by what hardly varies finite.
const LEAST: f32 = 1e-5;
/// The Gaussian error linear unit is looked up within this of zero, so many places to each step of one.
const WITHIN: f32 = 8.0;
const PLACES: f32 = 256.0;
/// So many rows are worth a second thread.
const MANY_ROWS: usize = 32;

/// Works out `count` rows that do not hang on one another, where they are many two parts of them at the same time:
/// whoever spoke waits for it.
pub fn by_rows(count: usize, work: impl Fn(Range<usize>) -> Array2<f32> + Sync) -> Array2<f32> {
    if count < MANY_ROWS {
        return work(0..count);
    }
    let middle = count / 2;
    thread::scope(|scope| {
        let beside = scope.spawn(|| work(middle..count));
        let first = work(0..middle);
        let second = beside.join();
        let second = second.unwrap_or_else(|panicked| std::panic::resume_unwind(panicked));
        concatenate![Axis(0), first, second]
    })
}

/// Returns these rows of `x`.
pub fn rows_of<'a>(x: &'a Array2<f32>, rows: &Range<usize>) -> ArrayView2<'a, f32> {
    x.slice(s![rows.clone(), ..])
}

/// Returns what is seen in `values`, each by how well its key answers.
pub fn attend<S: Data<Elem = f32>>(
    asks: &ArrayBase<S, Ix2>,
    keys: &Array2<f32>,
    values: &Array2<f32>,
) -> Array2<f32> {
    let mut seen = Array2::zeros(asks.raw_dim());
    for from in (0..asks.ncols()).step_by(HEAD) {
        let window = s![.., from..from + HEAD];
        let mut shares = asks.slice(window).dot(&keys.slice(window).t()) / (HEAD as f32).sqrt();
        for mut row in shares.rows_mut() {
            let most = row.iter().copied().fold(f32::NEG_INFINITY, f32::max);
            row.mapv_inplace(|share| (share - most).exp());
            row /= row.sum();
        }
        let through_it = shares.dot(&values.slice(window));
        seen.slice_mut(window).assign(&through_it);
    }
    seen
}

/// Weighs the values of each row, and adds the bias.
pub struct Linear {
    weight: Array2<f32>,
    bias: Array1<f32>,
}

impl Linear {
    pub fn of(weights: &Weights, name: &str) -> Option<Linear> {
        Some(Linear {
            weight: weights.matrix(&format!("{name}/weight"))?,
            bias: weights.row(&format!("{name}/bias"))?,
        })
    }

    pub fn apply<S: Data<Elem = f32>>(&self, x: &ArrayBase<S, Ix2>) -> Array2<f32> {
        x.dot(&self.weight.t()) + &self.bias
    }
}

/// Brings each row to one mean and spread, and then to what the network learned for it.
pub struct Norm {
    gain: Array1<f32>,
    shift: Array1<f32>,
}

impl Norm {
    pub fn of(weights: &Weights, name: &str) -> Option<Norm> {
        Some(Norm {
            gain: weights.row(&format!("{name}/gamma"))?,
            shift: weights.row(&format!("{name}/beta"))?,
        })
    }

    pub fn apply<S: Data<Elem = f32>>(&self, x: &ArrayBase<S, Ix2>) -> Array2<f32> {
        let mut x = x.to_owned();
        for mut row in x.rows_mut() {
            let count = row.len() as f32;
            let mean = row.sum() / count;
            let spread = row.iter().map(|v| (v - mean) * (v - mean)).sum::<f32>() / count;
            let scale = 1.0 / (spread + LEAST).sqrt();
            Zip::from(&mut row)
                .and(&self.gain)
                .and(&self.shift)
                .for_each(|v, gain, shift| *v = (*v - mean) * scale * gain + shift);
        }
        x
    }
}

/// What a layer asks, answers and sees of its own values.
pub struct Attention {
    norm: Norm,
    all: Linear,
    out: Linear,
}

impl Attention {
    pub fn of(weights: &Weights, name: &str) -> Option<Attention> {
        Some(Attention {
            norm: Norm::of(weights, &format!("{name}/layer_norm"))?,
            all: Linear::of(weights, &format!("{name}/linear_0"))?,
            out: Linear::of(weights, &format!("{name}/linear_1"))?,
        })
    }

    /// Returns `x` with what was seen for it.
    pub fn added_to<S: Data<Elem = f32>>(
        &self,
        x: &ArrayBase<S, Ix2>,
        seen: &Array2<f32>,
    ) -> Array2<f32> {
        self.out.apply(seen) + x
    }

    /// Returns what each row asks, answers and shows.
    pub fn look(&self, x: &Array2<f32>) -> [Array2<f32>; 3] {
        let all = by_rows(x.nrows(), |rows| {
            self.all.apply(&self.norm.apply(&rows_of(x, &rows)))
        });
        let width = x.ncols();
        [0, 1, 2].map(|n| all.slice(s![.., n * width..(n + 1) * width]).to_owned())
    }
}

/// The inner layers between two attentions.
pub struct Inner {
    norm: Norm,
    wide: Linear,
    narrow: Linear,
}

impl Inner {
    pub fn of(weights: &Weights, name: &str) -> Option<Inner> {
        Some(Inner {
            norm: Norm::of(weights, &format!("{name}/layer_norm"))?,
            wide: Linear::of(weights, &format!("{name}/linear_0"))?,
            narrow: Linear::of(weights, &format!("{name}/linear_1"))?,
        })
    }

    /// Returns `x` with what these layers make of it.
    pub fn added_to(&self, x: Array2<f32>) -> Array2<f32> {
        let wide = self.wide.apply(&self.norm.apply(&x)).mapv_into(gelu);
        x + self.narrow.apply(&wide)
    }
}

/// The Gaussian error linear unit, by straight lines between values that were worked out once: three million are wanted
/// each time.
fn gelu(x: f32) -> f32 {
    static KNOWN: LazyLock<Vec<f32>> = LazyLock::new(|| {
        let places = 0..=(2.0 * WITHIN * PLACES) as usize;
        let known = places.map(|place| exact_gelu(place as f32 / PLACES - WITHIN));
        known.collect()
    });
    let place = (x + WITHIN) * PLACES;
    match KNOWN.get(place as usize..) {
        Some([one, next, ..]) if place >= 0.0 => one + (next - one) * place.fract(),
        // Beyond, what is negative hardly counts, and the rest is itself.
        _ => x.max(0.0),
    }
}

/// x times the share of a normal distribution that lies below it.
fn exact_gelu(x: f32) -> f32 {
    0.5 * x * (1.0 + libm::erff(x * std::f32::consts::FRAC_1_SQRT_2))
}

/// A convolution over three steps, its result through the Gaussian error linear unit.
pub struct Convolution {
    linear: Linear,
    stride: usize,
}

impl Convolution {
    pub fn of(weights: &Weights, name: &str, stride: usize) -> Option<Convolution> {
        let weight = weights.block(&format!("{name}/weight"))?;
        let (out, into, steps) = weight.dim();
        let linear = Linear {
            weight: weight.into_shape_with_order((out, into * steps)).ok()?,
            bias: weights.row(&format!("{name}/bias"))?,
        };
        let fits = steps == STEPS;
        fits.then_some(Convolution { linear, stride })
    }

    pub fn of_steps(&self, x: &Array2<f32>) -> Array2<f32> {
        let count = x.nrows().div_ceil(self.stride);
        let mut around = Array2::zeros((count, x.ncols() * STEPS));
        for (at, mut row) in around.rows_mut().into_iter().enumerate() {
            for step in 0..STEPS {
                let from = (at * self.stride + step).checked_sub(1);
                if let Some(from) = from.filter(|from| *from < x.nrows()) {
                    row.slice_mut(s![step..;STEPS]).assign(&x.row(from));
                }
            }
        }
        by_rows(count, |rows| {
            self.linear.apply(&rows_of(&around, &rows)).mapv_into(gelu)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_looked_up_is_what_would_be_worked_out() {
        for n in -200_000..200_000 {
            let x = n as f32 / 10_000.0;
            assert!((gelu(x) - exact_gelu(x)).abs() < 2e-6, "{x}");
        }
    }
}
