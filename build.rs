fn main() {
    slint_build::compile("ui/face.slint").unwrap();
}
