//! The weights of a network in the file that the converter of the CTranslate2 library writes: version 6 of its
//! binary form, little endian.
//!
//! The file begins with a version, the name of the kind of network and that kind's revision. Then comes the number
//! of variables, each with its name, its dimensions, its type and its values.

use std::collections::HashMap;
use std::ops::Range;

use half::f16;
use ndarray::{Array1, Array2, Array3};

const VERSION: u32 = 6;
const KIND: &str = "WhisperSpec";
/// The types that are read, by their number in the file, and the bytes of a value.
const SINGLE: (u8, usize) = (0, 4);
const HALF: (u8, usize) = (4, 2);

/// A file's variables.
pub struct Weights {
    bytes: Vec<u8>,
    variables: HashMap<String, Variable>,
}

struct Variable {
    dimensions: Vec<usize>,
    kind: u8,
    place: Range<usize>,
}

impl Weights {
    /// Reads the directory of a file; none where it is not of this form.
    pub fn read(bytes: Vec<u8>) -> Option<Weights> {
        let mut from = Reader(&bytes, 0);
        if from.number()? != VERSION || from.name()? != KIND {
            return None;
        }
        let _revision = from.number()?;
        let mut variables = HashMap::new();
        for _ in 0..from.number()? {
            let name = from.name()?;
            let rank = from.take(1)?[0];
            let dimensions = (0..rank).map(|_| Some(from.number()? as usize));
            let dimensions = dimensions.collect::<Option<Vec<usize>>>()?;
            let kind = from.take(1)?[0];
            let length = from.number()? as usize;
            let start = from.1;
            from.take(length)?;
            let place = start..from.1;
            let variable = Variable {
                dimensions,
                kind,
                place,
            };
            variables.insert(name, variable);
        }
        Some(Weights { bytes, variables })
    }

    /// Returns the values of `name` where they have `count` dimensions, with those.
    fn values(&self, name: &str, count: usize) -> Option<(Vec<f32>, &[usize])> {
        let variable = self.variables.get(name)?;
        let bytes = &self.bytes[variable.place.clone()];
        let values: Vec<f32> = match variable.kind {
            kind if kind == SINGLE.0 => {
                let each = bytes.as_chunks::<{ SINGLE.1 }>().0.iter();
                each.map(|&value| f32::from_le_bytes(value)).collect()
            }
            kind if kind == HALF.0 => {
                let each = bytes.as_chunks::<{ HALF.1 }>().0.iter();
                each.map(|&value| f16::from_le_bytes(value).to_f32())
                    .collect()
            }
            _ => return None,
        };
        let dimensions = variable.dimensions.as_slice();
        let fits =
            dimensions.len() == count && dimensions.iter().product::<usize>() == values.len();
        fits.then_some((values, dimensions))
    }

    /// Returns the row of values called `name`.
    pub fn row(&self, name: &str) -> Option<Array1<f32>> {
        Some(Array1::from(self.values(name, 1)?.0))
    }

    /// Returns the matrix called `name`.
    pub fn matrix(&self, name: &str) -> Option<Array2<f32>> {
        let (values, dimensions) = self.values(name, 2)?;
        Array2::from_shape_vec((dimensions[0], dimensions[1]), values).ok()
    }

    /// Returns the block of three dimensions called `name`.
    pub fn block(&self, name: &str) -> Option<Array3<f32>> {
        let (values, d) = self.values(name, 3)?;
        Array3::from_shape_vec((d[0], d[1], d[2]), values).ok()
    }

    /// Returns how many there are of `name` with a number in place of `{}`, from 0 on.
    pub fn count(&self, name: &str) -> usize {
        let is_there = |n: &usize| {
            self.variables
                .contains_key(&name.replace("{}", &n.to_string()))
        };
        (0..).take_while(is_there).count()
    }
}

struct Reader<'a>(&'a [u8], usize);

impl<'a> Reader<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let end = self.1.checked_add(count)?;
        let taken = self.0.get(self.1..end)?;
        self.1 = end;
        Some(taken)
    }

    fn number(&mut self) -> Option<u32> {
        Some(u32::from_le_bytes(self.take(4)?.try_into().ok()?))
    }

    /// A name with its length before it and a zero at its end.
    fn name(&mut self) -> Option<String> {
        let length = u16::from_le_bytes(self.take(2)?.try_into().ok()?);
        let name = std::str::from_utf8(self.take(usize::from(length))?).ok()?;
        Some(name.trim_end_matches('\0').to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(name: &str) -> Vec<u8> {
        let length = (name.len() as u16 + 1).to_le_bytes();
        [&length[..], name.as_bytes(), &[0]].concat()
    }

    fn file(dimensions: &[u32], kind: u8, values: &[u8]) -> Vec<u8> {
        let mut file = VERSION.to_le_bytes().to_vec();
        file.extend(named(KIND));
        file.extend(3u32.to_le_bytes());
        file.extend(1u32.to_le_bytes());
        file.extend(named("layer_0/weight"));
        file.push(dimensions.len() as u8);
        file.extend(dimensions.iter().flat_map(|d| d.to_le_bytes()));
        file.push(kind);
        file.extend((values.len() as u32).to_le_bytes());
        file.extend(values);
        file.extend(0u32.to_le_bytes());
        file
    }

    #[test]
    fn values_of_half_length_are_read_with_their_dimensions() {
        // 1, -2, 0.5 and 65504 by IEEE 754, binary16.
        let halves = [0x00, 0x3c, 0x00, 0xc0, 0x00, 0x38, 0xff, 0x7b];
        let weights = Weights::read(file(&[2, 2], HALF.0, &halves)).unwrap();
        let matrix = weights.matrix("layer_0/weight").unwrap();
        assert_eq!(matrix, ndarray::arr2(&[[1.0, -2.0], [0.5, 65_504.0]]));
        assert!(weights.row("layer_0/weight").is_none());
        assert!(weights.matrix("layer_1/weight").is_none());
        assert_eq!(weights.count("layer_{}/weight"), 1);
    }

    #[test]
    fn what_is_cut_short_or_of_another_form_is_refused() {
        let whole = file(&[2, 2], HALF.0, &[0; 8]);
        let until = whole.len() - 5;
        for length in 0..until {
            assert!(
                Weights::read(whole[..length].to_vec()).is_none(),
                "{length}"
            );
        }
        let mut other = whole.clone();
        other[0] = 5;
        assert!(Weights::read(other).is_none());
        let too_few = Weights::read(file(&[2, 3], HALF.0, &[0; 8])).unwrap();
        assert!(too_few.matrix("layer_0/weight").is_none());
    }
}
