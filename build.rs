//! Compiles the window and looks for the speech library; where it is missing the hearing code is
//! left out (no `ears` cfg) and the program is answered by key and pedal.

use std::env;
use std::error::Error;
use std::path::{Component, Path, PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    // Debug information lets tests find elements by their names.
    let debug = env::var("PROFILE").is_ok_and(|profile| profile != "release");
    slint_build::compile_with_config(
        "ui/face.slint",
        slint_build::CompilerConfiguration::new().with_debug_info(debug),
    )?;
    speech_library()
}

fn speech_library() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-env-changed=BENCHCALL_VOSK_LIB");
    println!("cargo:rerun-if-changed=build.rs");
    let models = Path::new(&env::var("CARGO_MANIFEST_DIR")?).join("models");
    let set = env::var_os("BENCHCALL_VOSK_LIB").map(PathBuf::from);
    let watched = set.as_ref().unwrap_or(&models);
    // A named file that is not there would build anew every time, and a folder is looked through to
    // its bottom: only the one that holds the library is named.
    if watched.exists() {
        println!("cargo:rerun-if-changed={}", watched.display());
    }
    let folder = set.unwrap_or_else(|| models.join("lib"));
    let library = folder.join("libvosk.so");
    if !library.exists() {
        return Ok(());
    }
    let folder = folder.canonicalize()?;
    println!("cargo:rustc-cfg=ears");
    println!("cargo:rustc-link-search=native={}", folder.display());
    // OUT_DIR is <target>/<profile>/build/<package>/out; programs lie in <target>/<profile>, tests
    // in its deps folder. Paths relative to the binary survive a move of the whole tree.
    let out = PathBuf::from(env::var("OUT_DIR")?).canonicalize()?;
    let mut places = vec!["$ORIGIN/../lib/benchcall".to_string()];
    if let Some(profile) = out.ancestors().nth(3) {
        for place in [profile.to_path_buf(), profile.join("deps")] {
            places.push(format!("$ORIGIN/{}", way(&place, &folder).display()));
        }
    }
    for place in places {
        println!("cargo:rustc-link-arg=-Wl,-rpath,{place}");
    }
    Ok(())
}

/// Returns the relative way from folder `from` to `to`, both absolute.
fn way(from: &Path, to: &Path) -> PathBuf {
    let common = from
        .components()
        .zip(to.components())
        .take_while(|(a, b)| a == b)
        .count();
    from.components()
        .skip(common)
        .map(|_| Component::ParentDir)
        .chain(to.components().skip(common))
        .collect()
}
