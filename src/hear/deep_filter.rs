//! The network DeepFilterNet 3, in a library that is opened where it is found: with its weights it is too
//! large to be built in.

use std::cell::RefCell;
use std::ffi::{CString, c_char, c_void};
use std::path::Path;
use std::ptr::{NonNull, null};
use std::rc::Rc;

use libloading::{Library, Symbol};

use super::denoised::{INNER_PIECE, Network};

/// The library and its weights, beside the speech library.
const LIBRARY: &str = "libdeepfilter.so";
const WEIGHTS: &str = "DeepFilterNet3_onnx.tar.gz";
/// The weights' size in bytes: the library ends the process on any that it cannot read.
const WEIGHTS_SIZE: u64 = 7_983_136;
/// The library is told to leave as little as it can of what is no voice, in dB: how much stays is decided
/// in `denoised.rs`.
const MOST: f32 = 100.0;
/// Full scale of 16-bit sound; the library's is 1.
const FULL: f32 = 32_768.0;

/// The library's functions, as its `deep_filter.h` declares them; the last of [`Create`] is a level of
/// logging, and null for none.
type Create = unsafe extern "C" fn(*const c_char, f32, *const c_char) -> *mut c_void;
type FrameLength = unsafe extern "C" fn(*mut c_void) -> usize;
type Process = unsafe extern "C" fn(*mut c_void, *const f32, *mut f32) -> f32;
type Free = unsafe extern "C" fn(*mut c_void);

/// The network and what it remembers of the sound.
pub struct DeepFilter {
    state: NonNull<c_void>,
    process: Process,
    free: Free,
    /// The functions are gone with it.
    _library: Library,
}

impl DeepFilter {
    /// Opens the library that lies beside the speech model in the folder `model`; none where there is
    /// none, or one that is not of this kind.
    #[allow(unsafe_code)]
    pub fn beside(model: &Path) -> Option<DeepFilter> {
        let folder = model.canonicalize().ok()?.parent()?.join("lib");
        let weights = folder.join(WEIGHTS);
        if weights.metadata().ok()?.len() != WEIGHTS_SIZE {
            return None;
        }
        let weights = CString::new(weights.to_string_lossy().into_owned()).ok()?;
        // SAFETY: models-fetch.sh checked that this is the library whose functions have these types.
        unsafe {
            let library = Library::new(folder.join(LIBRARY)).ok()?;
            let create: Symbol<Create> = library.get(b"df_create\0").ok()?;
            let length: Symbol<FrameLength> = library.get(b"df_get_frame_length\0").ok()?;
            let process: Process = *library.get(b"df_process_frame\0").ok()?;
            let free: Free = *library.get(b"df_free\0").ok()?;
            let state = NonNull::new(create(weights.as_ptr(), MOST, null()))?;
            let fits = length(state.as_ptr()) == INNER_PIECE;
            let opened = DeepFilter {
                state,
                process,
                free,
                _library: library,
            };
            fits.then_some(opened)
        }
    }
}

/// It is opened once, whatever rates of sound come one after another.
impl Network for Rc<RefCell<DeepFilter>> {
    fn late(&self) -> usize {
        3
    }

    #[allow(unsafe_code)]
    fn next(&mut self, piece: &[f32; INNER_PIECE], voice: &mut [f32; INNER_PIECE]) {
        let network = self.borrow_mut();
        let piece = piece.map(|sample| sample / FULL);
        // SAFETY: the state lives as long as the network, nobody else uses it meanwhile, and both pieces
        // are as long as the library said that it takes.
        unsafe {
            (network.process)(network.state.as_ptr(), piece.as_ptr(), voice.as_mut_ptr());
        }
        for sample in voice {
            *sample *= FULL;
        }
    }
}

impl Drop for DeepFilter {
    #[allow(unsafe_code)]
    fn drop(&mut self) {
        // SAFETY: made by the library's own `df_create`, and freed once.
        unsafe { (self.free)(self.state.as_ptr()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hear::untested;

    #[test]
    fn nothing_comes_of_a_library_that_is_missing_or_of_another_kind() {
        let folder = tempfile::tempdir().unwrap();
        let (model, lib) = (folder.path().join("en"), folder.path().join("lib"));
        assert!(DeepFilter::beside(&model).is_none());
        std::fs::create_dir(&model).unwrap();
        std::fs::create_dir(&lib).unwrap();
        assert!(DeepFilter::beside(&model).is_none());
        std::fs::write(lib.join(WEIGHTS), "no weights").unwrap();
        assert!(DeepFilter::beside(&model).is_none());
        let weights = std::fs::File::create(lib.join(WEIGHTS)).unwrap();
        weights.set_len(WEIGHTS_SIZE).unwrap();
        std::fs::write(lib.join(LIBRARY), "no library").unwrap();
        assert!(DeepFilter::beside(&model).is_none());
    }

    /// What is mixed with the sound as it was has to lie beside it.
    #[test]
    fn what_it_gives_is_as_late_as_it_says() {
        let Some(network) = DeepFilter::beside(Path::new("models/en")) else {
            untested::<()>("the larger network (./models-fetch.sh)");
            return;
        };
        let mut network = Rc::new(RefCell::new(network));
        // A vowel that comes and goes four times a second and rises from 100 Hz to 140 Hz: at one pitch
        // it is taken for a machine.
        let wave = |n: usize| {
            let (time, tau) = (n as f32 / 48_000.0, std::f32::consts::TAU);
            let phase = tau * (100.0 * time + 20.0 * time * time);
            let harmonics = (1..=20).map(|k| (k as f32 * phase).sin() / k as f32);
            3_000.0 * harmonics.sum::<f32>() * (1.0 - (4.0 * tau * time).cos())
        };
        let sound: Vec<f32> = (0..48_000).map(wave).collect();
        let mut given = Vec::new();
        for piece in sound.as_chunks::<INNER_PIECE>().0 {
            let mut voice = [0.0; INNER_PIECE];
            network.next(piece, &mut voice);
            given.extend(voice);
        }
        let likeness = |late: usize| {
            let pairs = sound[24_000..40_000].iter().zip(&given[24_000 + late..]);
            pairs.map(|(a, b)| a * b).sum::<f32>()
        };
        let best = (0..2_400).max_by(|&a, &b| likeness(a).total_cmp(&likeness(b)));
        let wanted = network.late() * INNER_PIECE;
        assert!(best.unwrap().abs_diff(wanted) <= 4, "{best:?} samples late");
    }
}
