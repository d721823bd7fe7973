//! Phrases as the second opinion's network spells them: in the pieces of words it was trained with.

use std::collections::{HashMap, HashSet};

/// Stands for the space before a word in the vocabulary.
const SPACE: char = 'Ġ';
/// The beginning of what is said, without times; and its end.
const BEGINNING: [&str; 2] = ["<|startoftranscript|>", "<|notimestamps|>"];
const END: &str = "<|endoftext|>";
/// What may follow the last word: the end, or a mark before it.
const MARKS: [&str; 4] = [".", ",", "!", "?"];
/// Only so many of the vocabulary's pieces are told from one another, the commonest, beside those of the phrases: the
/// others hardly change a likelihood, and would take most of the time.
const COMMONEST: usize = 8_192;

/// The vocabulary: pieces of words, the ones joined first with the lowest numbers.
pub struct Tokens {
    numbers: HashMap<String, usize>,
    /// Those that begin a word.
    first: HashSet<usize>,
}

impl Tokens {
    /// Reads a vocabulary of one piece a line.
    pub fn read(text: &str) -> Tokens {
        let pieces = text.lines().enumerate();
        let first = pieces.clone().filter(|(_, piece)| piece.starts_with(SPACE));
        Tokens {
            first: first.map(|(n, _)| n).collect(),
            numbers: pieces.map(|(n, piece)| (piece.to_string(), n)).collect(),
        }
    }

    /// Returns how many pieces there are.
    pub fn count(&self) -> usize {
        self.numbers.len()
    }

    fn number(&self, piece: &str) -> Option<usize> {
        self.numbers.get(piece).copied()
    }

    /// Returns how many words a text of `pieces` has.
    pub fn words(&self, pieces: &[usize]) -> usize {
        let first = pieces.iter().filter(|piece| self.first.contains(piece));
        first.count()
    }

    /// Returns the pieces of a phrase of `[a-z' ]`, written as a sentence begins.
    fn of(&self, phrase: &str) -> Option<Vec<usize>> {
        let mut all = Vec::new();
        for (n, word) in phrase.split_whitespace().enumerate() {
            let mut letters: Vec<char> = word.chars().collect();
            if n == 0 {
                letters[0] = letters[0].to_ascii_uppercase();
            }
            letters.insert(0, SPACE);
            let mut from = 0;
            for at in 1..=letters.len() {
                // What an apostrophe begins is spelled by itself.
                if at == letters.len() || letters[at] == '\'' {
                    all.extend(self.joined(&letters[from..at])?);
                    from = at;
                }
            }
        }
        Some(all)
    }

    /// Joins letters to pieces, always the two neighbours with the lowest number first (byte pair encoding:
    /// Sennrich, Haddow and Birch, 2016).
    fn joined(&self, letters: &[char]) -> Option<Vec<usize>> {
        let mut pieces: Vec<String> = letters.iter().map(char::to_string).collect();
        loop {
            let pairs = pieces.windows(2).enumerate();
            let known = pairs.filter_map(|(at, two)| Some((self.number(&two.concat())?, at)));
            let Some((_, at)) = known.min() else { break };
            let second = pieces.remove(at + 1);
            pieces[at].push_str(&second);
        }
        pieces.iter().map(|piece| self.number(piece)).collect()
    }

    /// Returns the phrases as a tree that shares what they begin with; phrases that cannot be spelled are none of it.
    pub fn tree<'a>(&self, phrases: impl Iterator<Item = &'a String>) -> Option<Tree> {
        let mut tree = Tree {
            told: (0..COMMONEST).collect(),
            ..Tree::default()
        };
        let mut beginning = None;
        for piece in BEGINNING {
            beginning = Some(tree.grow(beginning, self.number(piece)?));
        }
        for phrase in phrases {
            let Some(pieces) = self.of(phrase) else {
                continue;
            };
            let grow = |at, piece| Some(tree.grow(at, piece));
            let last = pieces.into_iter().fold(beginning, grow)?;
            tree.phrases.push((phrase.clone(), last));
        }
        let end = self.number(END)?;
        let ends = MARKS.iter().filter_map(|mark| self.number(mark));
        tree.ends = ends.chain([end]).collect();
        tree.told.extend(&tree.ends);
        tree.told.extend(tree.nodes.iter().map(|node| node.piece));
        tree.told.sort_unstable();
        tree.told.dedup();
        Some(tree)
    }
}

/// Phrases that share what they begin with.
#[derive(Debug, Default)]
pub struct Tree {
    /// What a node stands on comes before it.
    pub nodes: Vec<Node>,
    /// Each phrase with its last node.
    pub phrases: Vec<(String, usize)>,
    /// The pieces that are told from one another, in order.
    pub told: Vec<usize>,
    /// Those that end a phrase.
    pub ends: Vec<usize>,
}

/// A piece after others.
#[derive(Debug, PartialEq, Eq)]
pub struct Node {
    pub piece: usize,
    /// The nodes before it, from the first on, and itself.
    pub path: Vec<usize>,
}

impl Tree {
    /// Returns only what every text begins with.
    pub fn beginning(&self) -> Tree {
        let mut beginning = Tree::default();
        let of_all = self.nodes.iter().take(BEGINNING.len());
        of_all.fold(None, |at, node| Some(beginning.grow(at, node.piece)));
        beginning
    }

    /// Returns the node of `piece` after the node `after`.
    pub fn grow(&mut self, after: Option<usize>, piece: usize) -> usize {
        let before: &[usize] = after.map_or(&[], |after| &self.nodes[after].path);
        let is_it = |node: &Node| {
            node.piece == piece
                && node
                    .path
                    .split_last()
                    .is_some_and(|(_, path)| path == before)
        };
        if let Some(known) = self.nodes.iter().position(is_it) {
            return known;
        }
        let next = self.nodes.len();
        let path = before.iter().copied().chain([next]).collect();
        self.nodes.push(Node { piece, path });
        next
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phrases_share_what_they_begin_with() {
        let vocabulary = "Ġ\nA\nb\na\nĠA\n'\n'b\nab\nĠa\nĠab\n<|endoftext|>\n<|startoftranscript|>\n<|notimestamps|>\n.";
        let tokens = Tokens::read(vocabulary);
        assert_eq!(tokens.of("a ab"), Some(vec![4, 9]));
        assert_eq!(tokens.of("a ab'b"), Some(vec![4, 9, 6]));
        assert_eq!(tokens.of("ax"), None);
        assert_eq!(tokens.words(&[4, 9, 6]), 2);
        let phrases = ["a", "a ab", "a b", "a z"].map(str::to_string);
        let tree = tokens.tree(phrases.iter()).unwrap();
        let paths: Vec<&[usize]> = tree.nodes.iter().map(|node| node.path.as_slice()).collect();
        assert_eq!(paths[..4], [&[0][..], &[0, 1], &[0, 1, 2], &[0, 1, 2, 3]]);
        let last: Vec<(&str, usize)> = tree.phrases.iter().map(|(p, n)| (p.as_str(), *n)).collect();
        assert_eq!(last[..2], [("a", 2), ("a ab", 3)]);
        assert_eq!(tree.phrases.len(), 3);
        assert_eq!(tree.ends, [13, 10]);
    }

    /// By the package tokenizers, version 0.23.3, from the vocabulary and merges that lie beside the weights.
    #[test]
    fn phrases_are_spelled_as_by_the_reference() {
        let Some(second) = crate::hear::opinion::tests::loaded() else {
            return;
        };
        for (phrase, expected) in [
            ("work complete", &[5_521, 1_844][..]),
            ("next instruction", &[7_406, 12_064]),
            ("override skip", &[3_827, 13_154, 14_267]),
            ("disregard", &[3_167, 2_301, 446]),
            ("stop stop", &[13_707, 2_245]),
            ("driver's seat", &[12_434, 338, 5_852]),
            ("assistance required", &[25_126, 2_672]),
            ("shaft all clear", &[911, 14_940, 477, 1_598]),
            ("rear wheels blocked", &[30_144, 13_666, 10_226]),
        ] {
            assert_eq!(
                second.tokens.of(phrase).as_deref(),
                Some(expected),
                "{phrase}"
            );
        }
    }
}
