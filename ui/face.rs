//! What Slint makes of `face.slint`: much code, a package of its own so that it is built once and not
//! with every change of the program.

slint::include_modules!();
