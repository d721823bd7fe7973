//! Looks for the speech library; where it is missing the hearing code is left out (no `ears` cfg)
//! and the program is answered by key and pedal.

use std::env;
use std::error::Error;
use std::path::{Component, Path, PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-env-changed=BENCHCALL_VOSK_LIB");
    let folder = match env::var_os("BENCHCALL_VOSK_LIB") {
        Some(folder) => PathBuf::from(folder),
        None => Path::new(&env::var("CARGO_MANIFEST_DIR")?).join("models/lib"),
    };
    let library = folder.join("libvosk.so");
    // A path that is not there has this script run at every build: ears are found as soon as they
    // are fetched.
    println!("cargo:rerun-if-changed={}", library.display());
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
