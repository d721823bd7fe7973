use slint_build::CompilerConfiguration;

fn main() {
    // Tests find elements by their labels, which needs the compiler's debug information.
    let debug_info = std::env::var("PROFILE").is_ok_and(|profile| profile != "release");
    let configuration = CompilerConfiguration::new().with_debug_info(debug_info);
    if let Err(error) = slint_build::compile_with_config("ui/face.slint", configuration) {
        eprintln!("{error}");
        std::process::exit(1);
    }
}
