//! Compiles the window.

use std::env;

fn main() -> Result<(), slint_build::CompileError> {
    // Debug information lets tests find elements by their names.
    let debug = env::var("PROFILE").is_ok_and(|profile| profile != "release");
    slint_build::compile_with_config(
        "face.slint",
        slint_build::CompilerConfiguration::new().with_debug_info(debug),
    )
}
