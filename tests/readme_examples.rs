//! The procedures in README.md are read: a block marked `ron` must be sound, one marked
//! `ron,must-fail` must be refused.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::Path;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{Look, NoModel, Speech, check_file, draw, refused};

#[test]
fn examples_are_as_the_readme_says() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = fs::read_to_string(&path).expect("README.md must be there");
    let mut count = 0;
    for (tag, line, block) in blocks(&readme) {
        let must_fail = match tag {
            "ron" => false,
            "ron,must-fail" => true,
            _ => continue,
        };
        count += 1;
        let name = format!("README.md, block at line {line}");
        let (_, findings) = check_file(
            &name,
            block.as_bytes(),
            &Speech::standard(&NoModel, &CmuDict),
        );
        let drawn = draw(&name, &block, &findings, Look::Plain);
        assert_eq!(refused(&findings), must_fail, "{name}\n{drawn}");
    }
    assert!(
        count > 0,
        "README.md shows no procedure in a block marked `ron`"
    );
}

/// Returns the fenced blocks of `text`: tag, line of the fence, content.
fn blocks(text: &str) -> Vec<(&str, usize, String)> {
    let mut blocks = Vec::new();
    let mut lines = text.lines().enumerate();
    while let Some((number, line)) = lines.next() {
        let Some(tag) = line.strip_prefix("```") else {
            continue;
        };
        let content = lines.by_ref().map(|(_, line)| line);
        let content: Vec<&str> = content.take_while(|line| *line != "```").collect();
        blocks.push((tag.trim(), number + 1, content.join("\n")));
    }
    blocks
}
