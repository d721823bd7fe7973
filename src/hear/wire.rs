//! What goes between the program and its recogniser child: frames in, lines of JSON out.
//!
//! A frame is one byte of kind, four bytes of length (little endian) and that many bytes. The child
//! answers every frame of captured sound with the position it has heard up to, so that the program knows
//! where it is, and that it is alive.

use std::io::{self, Read, Write};

use serde::{Deserialize, Serialize};

use super::{Heard, Vocabulary};

/// The longest frame taken, in bytes: far above any vocabulary or piece of sound.
const LONGEST: u32 = 1 << 20;

/// What the child is told.
#[derive(Debug, Clone, PartialEq)]
pub enum Order {
    /// Sound comes at this rate from now on, in Hz.
    Rate(u32),
    /// What may be said from now on.
    Listen(Vocabulary),
    /// Whether to let sound pass unheard.
    Deaf(bool),
    /// The next samples, mono.
    Sound(Vec<i16>),
    /// Sound was lost before the next.
    Missed,
    /// The program speaks, and only this is to be heard over it; or it has ended.
    Speaking(Option<Vocabulary>),
    /// The loudspeaker begins a new text.
    Begins,
    /// The loudspeaker has just played these samples, at this rate in Hz.
    Played(u32, Vec<i16>),
}

/// What the child says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Word {
    /// The model is loaded.
    Ready,
    /// This many samples, captured and played, were taken since the start.
    Position(u64),
    /// Kept sound is being decoded again: on a busy machine the next position takes its time.
    Looking,
    /// A phrase or a reading was believed, or nearly.
    Heard(Heard),
    /// The child gives up.
    Failed(String),
}

impl Order {
    /// Writes the order as one frame.
    ///
    /// # Errors
    /// What the writer reports.
    pub fn write(&self, out: &mut impl Write) -> io::Result<()> {
        match self {
            Order::Rate(rate) => frame(out, b'r', &rate.to_le_bytes()),
            Order::Listen(vocabulary) => frame(out, b'v', &serde_json::to_vec(vocabulary)?),
            Order::Deaf(deaf) => frame(out, b'd', &[u8::from(*deaf)]),
            Order::Sound(samples) => frame(out, b's', &bytes(samples)),
            Order::Missed => frame(out, b'm', &[]),
            Order::Speaking(only) => frame(out, b'o', &serde_json::to_vec(only)?),
            Order::Begins => frame(out, b'b', &[]),
            Order::Played(rate, samples) => {
                let mut whole = rate.to_le_bytes().to_vec();
                whole.extend(bytes(samples));
                frame(out, b'p', &whole)
            }
        }
    }

    /// Reads the next order; nothing at the end of the stream.
    ///
    /// # Errors
    /// What the reader reports, and `InvalidData` for anything that is no order.
    pub fn read(from: &mut impl Read) -> io::Result<Option<Order>> {
        let mut kind = [0];
        if from.read(&mut kind)? == 0 {
            return Ok(None);
        }
        let mut length = [0; 4];
        from.read_exact(&mut length)?;
        let length = u32::from_le_bytes(length);
        if length > LONGEST {
            return Err(invalid("a frame is too long"));
        }
        let mut bytes = vec![0; length as usize];
        from.read_exact(&mut bytes)?;
        match (kind[0], bytes.as_slice()) {
            (b'r', &[a, b, c, d]) => Ok(Some(Order::Rate(u32::from_le_bytes([a, b, c, d])))),
            (b'v', json) => Ok(Some(Order::Listen(serde_json::from_slice(json)?))),
            (b'd', &[deaf]) => Ok(Some(Order::Deaf(deaf != 0))),
            (b's', sound) if sound.len() % 2 == 0 => Ok(Some(Order::Sound(samples(sound)))),
            (b'm', []) => Ok(Some(Order::Missed)),
            (b'o', json) => Ok(Some(Order::Speaking(serde_json::from_slice(json)?))),
            (b'b', []) => Ok(Some(Order::Begins)),
            (b'p', &[a, b, c, d, ref sound @ ..]) if sound.len() % 2 == 0 => {
                let rate = u32::from_le_bytes([a, b, c, d]);
                Ok(Some(Order::Played(rate, samples(sound))))
            }
            _ => Err(invalid("a frame is of no known kind")),
        }
    }
}

impl Word {
    /// Writes the word as one line, and flushes it.
    ///
    /// # Errors
    /// What the writer reports.
    pub fn write(&self, out: &mut impl Write) -> io::Result<()> {
        let mut line = serde_json::to_vec(self)?;
        line.push(b'\n');
        out.write_all(&line)?;
        out.flush()
    }
}

fn frame(out: &mut impl Write, kind: u8, bytes: &[u8]) -> io::Result<()> {
    let length = u32::try_from(bytes.len())
        .ok()
        .filter(|length| *length <= LONGEST)
        .ok_or_else(|| invalid("a frame is too long"))?;
    // One write for the whole frame: the child never sees half a frame of a program that is alive.
    let mut whole = Vec::with_capacity(5 + bytes.len());
    whole.push(kind);
    whole.extend_from_slice(&length.to_le_bytes());
    whole.extend_from_slice(bytes);
    out.write_all(&whole)
}

fn bytes(samples: &[i16]) -> Vec<u8> {
    samples.iter().flat_map(|s| s.to_le_bytes()).collect()
}

fn samples(bytes: &[u8]) -> Vec<i16> {
    bytes
        .chunks_exact(2)
        .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
        .collect()
}

fn invalid(why: &str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, why)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::hear::{DigitCount, Expected, Weight};

    #[test]
    fn orders_come_out_as_they_went_in() {
        let orders = [
            Order::Rate(48_000),
            Order::Listen(Vocabulary {
                phrases: vec![Expected {
                    words: "wheel on the ground".into(),
                    weight: Weight::Grave,
                }],
                digits: Some(DigitCount {
                    whole: 3,
                    decimals: 0,
                    ..DigitCount::default()
                }),
            }),
            Order::Deaf(true),
            Order::Sound(vec![0, -1, i16::MIN, i16::MAX]),
            Order::Sound(Vec::new()),
            Order::Missed,
            Order::Speaking(Some(Vocabulary::default())),
            Order::Speaking(None),
            Order::Begins,
            Order::Played(44_100, vec![7, -7]),
        ];
        let mut bytes = Vec::new();
        for order in &orders {
            order.write(&mut bytes).unwrap();
        }
        let mut from = bytes.as_slice();
        for order in &orders {
            assert_eq!(Order::read(&mut from).unwrap().as_ref(), Some(order));
        }
        assert_eq!(Order::read(&mut from).unwrap(), None);
    }

    #[test]
    fn a_frame_cut_short_is_an_error() {
        let mut bytes = Vec::new();
        Order::Rate(16_000).write(&mut bytes).unwrap();
        for end in 1..bytes.len() {
            assert!(Order::read(&mut &bytes[..end]).is_err(), "{end} bytes");
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_read_without_a_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
            let mut from = bytes.as_slice();
            while let Ok(Some(_)) = Order::read(&mut from) {}
        }

        #[test]
        fn any_bytes_of_a_known_kind_are_read_without_a_panic(
            kind in prop::sample::select(b"rvdsmobp".to_vec()),
            bytes in proptest::collection::vec(any::<u8>(), 0..60),
        ) {
            let mut whole = vec![kind];
            whole.extend_from_slice(&(bytes.len() as u32).to_le_bytes());
            whole.extend_from_slice(&bytes);
            let _ = Order::read(&mut whole.as_slice());
            let _ = serde_json::from_slice::<Word>(&bytes);
        }
    }
}
