//! The smallest parts of a procedure file: brackets, commas, texts, numbers and words.

use std::ops::Range;

use super::finding::{Finding, Findings, clipped};
use super::outline::Bracket;

/// A part and its place.
#[derive(Debug, Clone)]
pub(super) struct Token {
    pub mark: Mark,
    pub span: Range<usize>,
}

/// What a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Open(Bracket),
    Close(Bracket),
    Comma,
    Colon,
    /// In quotes, closed.
    Text,
    /// A number or a word without quotes.
    Bare,
    /// A value that a finding has been made of already.
    Wrong,
}

/// The parts of a file one after another, without spaces and comments.
pub(super) struct Tokens<'a> {
    source: &'a str,
    at: usize,
}

impl<'a> Tokens<'a> {
    pub(super) fn new(source: &'a str) -> Tokens<'a> {
        // A byte-order mark is what some editors write before the text; it says nothing.
        let at = if source.starts_with('\u{feff}') { 3 } else { 0 };
        Tokens { source, at }
    }

    /// Returns the next part, `None` at the end of the file.
    pub(super) fn next(&mut self, findings: &mut Findings) -> Option<Token> {
        loop {
            self.skip_space(findings);
            let start = self.at;
            let sign = self.source[start..].chars().next()?;
            let mark = match sign {
                '(' => Mark::Open(Bracket::Round),
                '[' => Mark::Open(Bracket::Square),
                '{' => Mark::Open(Bracket::Curly),
                ')' => Mark::Close(Bracket::Round),
                ']' => Mark::Close(Bracket::Square),
                '}' => Mark::Close(Bracket::Curly),
                ',' => Mark::Comma,
                ':' => Mark::Colon,
                '"' => return Some(self.text(findings)),
                '\'' | '“' | '”' | '„' | '‘' | '’' | '«' => {
                    return Some(self.wrong_quotes(sign, findings));
                }
                _ if self.raw_quotes().is_some() => return Some(self.raw_text(findings)),
                _ if is_bare(sign) => {
                    self.at = self.bare_end();
                    let span = start..self.at;
                    return Some(Token {
                        mark: Mark::Bare,
                        span,
                    });
                }
                ';' => {
                    findings.error(start, |_| {
                        Finding::error(start..start + 1, "A `;` stands where a comma should")
                            .help("write `,`")
                    });
                    Mark::Comma
                }
                _ => {
                    self.skip_stray(findings);
                    continue;
                }
            };
            self.at += sign.len_utf8();
            return Some(Token {
                mark,
                span: start..self.at,
            });
        }
    }

    /// Returns whether the next part begins with `sign`. Comments between are not looked behind.
    pub(super) fn follows(&self, sign: char) -> bool {
        self.source[self.at..]
            .trim_start_matches(is_space)
            .starts_with(sign)
    }

    /// Skips `sign`, which [`Tokens::follows`] has seen.
    pub(super) fn skip(&mut self, sign: char) {
        let space = self.source[self.at..].find(sign).unwrap_or(0);
        self.at += space + sign.len_utf8();
    }

    /// Returns whether a word follows on the same line that is no field's name.
    pub(super) fn unit_follows(&self) -> bool {
        let rest = self.source[self.at..].trim_start_matches([' ', '\t']);
        if !rest.starts_with(|c: char| c.is_alphabetic() || c == '°' || c == '%') {
            return false;
        }
        let word = rest.find(|c| !is_bare(c)).unwrap_or(rest.len());
        !rest[word..].trim_start().starts_with(':')
    }

    fn skip_space(&mut self, findings: &mut Findings) {
        loop {
            let rest = &self.source[self.at..];
            let start = self.at;
            self.at += rest.len() - rest.trim_start_matches(is_space).len();
            let rest = &self.source[self.at..];
            if rest.starts_with("//") {
                self.at += rest.find('\n').unwrap_or(rest.len());
            } else if rest.starts_with("/*") {
                self.skip_block(findings);
            } else if self.at == start {
                return;
            }
        }
    }

    /// Skips a comment in `/* */`, with those inside it.
    fn skip_block(&mut self, findings: &mut Findings) {
        let start = self.at;
        let bytes = self.source.as_bytes();
        let mut depth = 0_usize;
        while self.at < bytes.len() {
            match &bytes[self.at..bytes.len().min(self.at + 2)] {
                b"/*" => {
                    depth += 1;
                    self.at += 2;
                }
                b"*/" => {
                    depth -= 1;
                    self.at += 2;
                    if depth == 0 {
                        return;
                    }
                }
                _ => self.at += 1,
            }
        }
        findings.error(start, |_| {
            Finding::error(start..start + 2, "This comment is never closed")
                .label("begins here")
                .help("write `*/` where it ends, or begin each line of it with `//`")
        });
    }

    /// Reads a text in quotes. It ends on its line at the latest: no text of a procedure is longer,
    /// and so a forgotten quote spoils one line, not the rest of the file. A quote with a letter
    /// right behind it is taken for the opening of the next text.
    fn text(&mut self, findings: &mut Findings) -> Token {
        let start = self.at;
        let bytes = self.source.as_bytes();
        let mut at = start + 1;
        while let Some(byte) = bytes.get(at) {
            match byte {
                b'"' if bytes.get(at + 1).is_some_and(u8::is_ascii_alphanumeric) => break,
                b'"' => {
                    self.at = at + 1;
                    return Token {
                        mark: Mark::Text,
                        span: start..self.at,
                    };
                }
                b'\n' => break,
                b'\\' if bytes.get(at + 1) != Some(&b'\n') => at += 2,
                _ => at += 1,
            }
        }
        self.at = self.end_of_unclosed(start, at.min(bytes.len()));
        let span = start..self.at;
        findings.error(start, |_| {
            Finding::error(span.clone(), "This text is not closed")
                .label("begins here")
                .help("write `\"` where the text ends; a text is one line")
        });
        Token {
            mark: Mark::Wrong,
            span,
        }
    }

    /// Returns where a text that is not closed is taken to end: at the end of the line that holds
    /// byte `at`, less the commas and closing brackets there that belong to what is outside.
    fn end_of_unclosed(&self, start: usize, at: usize) -> usize {
        let rest = &self.source[at..];
        let line = &self.source[start..at + rest.find('\n').unwrap_or(rest.len())];
        let inside = line.trim_end_matches([')', ']', '}', ',', ' ', '\t', '\r']);
        let mut opened = inside.matches(['(', '[', '{']).count();
        opened -= inside.matches([')', ']', '}']).count().min(opened);
        let tail = &line[inside.len()..];
        let closing = tail.match_indices([')', ']', '}']).take(opened).last();
        start + inside.len() + closing.map_or(0, |(last, _)| last + 1)
    }

    /// Returns the opening of a raw text, such as `r#"`.
    fn raw_quotes(&self) -> Option<usize> {
        let rest = self.source[self.at..].strip_prefix('r')?;
        let hashes = rest.len() - rest.trim_start_matches('#').len();
        rest[hashes..].starts_with('"').then_some(hashes)
    }

    fn raw_text(&mut self, findings: &mut Findings) -> Token {
        let start = self.at;
        let hashes = self.raw_quotes().unwrap_or(0);
        let inside = start + 1 + hashes + 1;
        let end = format!("\"{}", "#".repeat(hashes));
        if let Some(length) = self.source[inside..].find(&end) {
            self.at = inside + length + end.len();
            let span = start..self.at;
            return Token {
                mark: Mark::Text,
                span,
            };
        }
        self.at = self.source.len();
        findings.error(start, |_| {
            Finding::error(start..inside, "This text is never closed")
                .label("begins here")
                .help(format!("write `{}` where it ends", clipped(&end)))
        });
        Token {
            mark: Mark::Wrong,
            span: start..self.at,
        }
    }

    fn wrong_quotes(&mut self, sign: char, findings: &mut Findings) -> Token {
        let start = self.at;
        let inside = start + sign.len_utf8();
        let closing = |c: char| matches!(c, '\'' | '”' | '“' | '’' | '‘' | '»');
        let rest = &self.source[inside..];
        let text = &rest[..rest.find(|c| c == '\n' || closing(c)).unwrap_or(rest.len())];
        let end = rest[text.len()..].chars().next().filter(|c| closing(*c));
        self.at = inside + text.len() + end.map_or(0, char::len_utf8);
        let span = start..self.at;
        findings.error(start, |_| {
            Finding::error(span.clone(), "A text stands in straight double quotes")
                .label(format!("in `{sign}` here"))
                .help(format!("write `\"{}\"`", clipped(text)))
        });
        Token {
            mark: Mark::Wrong,
            span,
        }
    }

    /// Skips signs that mean nothing here, all that stand together as one finding.
    fn skip_stray(&mut self, findings: &mut Findings) {
        let start = self.at;
        let rest = &self.source[start..];
        let known = |c: char| is_bare(c) || is_space(c) || "()[]{},:;\"'/".contains(c);
        let length = rest.char_indices().skip(1).find(|(_, c)| known(*c));
        let mut end = start + length.map_or(rest.len(), |(at, _)| at);
        if rest.starts_with("#![") {
            let last = rest.find([']', '\n']).unwrap_or(rest.len());
            end = start + last + usize::from(rest[last..].starts_with(']'));
        }
        self.at = end;
        findings.error(start, |_| {
            let found = clipped(&self.source[start..end]);
            if found.chars().all(|c| c.is_whitespace() || c.is_control()) {
                let sign = found.chars().next().map_or(0, u32::from);
                Finding::error(start..end, format!("A sign that cannot be seen, U+{sign:04X}, stands here"))
                    .help("write an ordinary space")
            } else if found.starts_with("#!") {
                Finding::error(start..end, "A procedure file has no attributes").help("take this out")
            } else {
                Finding::error(start..end, format!("`{found}` means nothing here"))
                    .help("take it out, or put it in quotes if it belongs to a text; a comment begins with `//`")
            }
        });
    }

    fn bare_end(&self) -> usize {
        let rest = &self.source[self.at..];
        self.at + rest.find(|c| !is_bare(c)).unwrap_or(rest.len())
    }
}

/// Returns whether `c` is a space between parts, as RON has it: fewer than Unicode has.
fn is_space(c: char) -> bool {
    matches!(
        c,
        ' ' | '\t'..='\r' | '\u{85}' | '\u{200e}' | '\u{200f}' | '\u{2028}' | '\u{2029}'
    )
}

/// Returns whether `c` may stand in a number or in a word without quotes. Unit signs are let in, so
/// that a unit without quotes is found as one word.
fn is_bare(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '_' | '-' | '+' | '.' | '·' | '°' | '%' | 'µ')
}
