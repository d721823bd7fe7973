//! The recogniser child: `benchcall ears MODEL` (hidden). Orders come in on standard input, words go
//! out on standard output; it ends when its input ends, so it never outlives the program.

use std::process::ExitCode;

/// Runs the child with the arguments after `ears`: the model's folder, and `--words` to be asked for
/// words (one a line) instead of sound, or `--open` to write down free speech (see [`super::open`]), or
/// the names of aids to do without.
pub fn child_main(arguments: &[String]) -> ExitCode {
    match run(arguments) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

#[cfg(not(ears))]
fn run(_: &[String]) -> Result<(), String> {
    Err(super::model::NO_LIBRARY.to_string())
}

#[cfg(ears)]
fn run(arguments: &[String]) -> Result<(), String> {
    use std::io::{self, BufRead, BufReader, Write};
    use std::path::Path;

    use super::Aid;
    use super::recogniser::Recogniser;
    use super::wire::Word;

    let stopped = |error: io::Error| format!("Cannot talk to the program: {error}");
    let mut out = io::stdout();
    let (model, asked, open) = match arguments {
        [model, words] if words == "--words" => (model, true, false),
        [model, open] if open == "--open" => (model, false, true),
        [model, aids @ ..] if aids.iter().all(|name| Aid::named(name).is_some()) => {
            (model, false, false)
        }
        _ => return Err("Start benchcall without `ears`: it starts this by itself".into()),
    };
    let loaded = if asked || open {
        Recogniser::load(Path::new(model))
    } else {
        Recogniser::listening(Path::new(model), || {
            // Where the program is gone, the next order ends this.
            let _ = Word::Looking.write(&mut io::stdout());
        })
    };
    let mut recogniser = match loaded {
        Ok(recogniser) => recogniser,
        Err(why) => {
            if !asked && !open {
                Word::Failed(why.clone()).write(&mut out).map_err(stopped)?;
            }
            return Err(why);
        }
    };
    let input = BufReader::new(io::stdin().lock());
    if asked {
        for word in input.lines() {
            let word = word.map_err(stopped)?;
            if !recogniser.knows(&word) {
                writeln!(out, "{word}").map_err(stopped)?;
            }
        }
        return out.flush().map_err(stopped);
    }
    if open {
        return super::open::write_down(recogniser, input, out).map_err(stopped);
    }
    let without: Vec<Aid> = arguments
        .iter()
        .filter_map(|name| Aid::named(name))
        .collect();
    listen(recogniser, Path::new(model), &without, input, out).map_err(stopped)
}

#[cfg(ears)]
fn listen(
    mut recogniser: super::recogniser::Recogniser,
    model: &std::path::Path,
    without: &[super::Aid],
    mut input: impl std::io::Read,
    mut out: impl std::io::Write,
) -> std::io::Result<()> {
    use std::cell::RefCell;
    use std::rc::Rc;

    use super::deep_filter::DeepFilter;
    use super::denoised::Network;
    use super::forms::Forms;
    use super::overhear::Listener;
    use super::wire::{Order, Word};

    let network = DeepFilter::beside(model).map(|network| Rc::new(RefCell::new(network)));
    let forms = |rate| {
        let network = network.clone();
        let network = network.map(|network| Box::new(network) as Box<dyn Network>);
        Forms::new(rate, without, network)
    };
    if !without.contains(&super::Aid::Opinion) {
        recogniser.ask_for_opinions(model);
    }
    Word::Ready.write(&mut out)?;
    let mut rate = 16_000;
    let mut listener = Listener::new(forms(rate), rate, &mut recogniser);
    let mut position = 0;
    while let Some(order) = Order::read(&mut input)? {
        match order {
            Order::Rate(new) => {
                rate = new.clamp(8_000, 384_000);
                recogniser.set_rate(rate);
                listener = listener.at_rate(forms(rate), rate, &mut recogniser);
            }
            Order::Listen(vocabulary) => {
                let known = known_to(&mut recogniser, vocabulary);
                listener.listen_for(known, &mut recogniser);
            }
            Order::Speaking(only) => {
                let known = only.map(|only| known_to(&mut recogniser, only));
                listener.speaking(known, &mut recogniser);
            }
            Order::Begins => listener.begins(),
            Order::Played(rate, samples) => {
                position += samples.len() as u64;
                listener.played(rate.clamp(4_000, 768_000), &samples);
            }
            Order::Missed => listener.missed(),
            Order::Deaf(deaf) => listener.set_deaf(deaf),
            Order::Sound(samples) => {
                position += samples.len() as u64;
                if let Some(heard) = listener.hear(samples, &mut recogniser) {
                    Word::Heard(heard).write(&mut out)?;
                }
                Word::Position(position).write(&mut out)?;
            }
        }
    }
    Ok(())
}

/// Leaves out phrases with a word that the model lacks: the library would drop that word silently,
/// and the rest would pass for the phrase.
#[cfg(ears)]
fn known_to(
    recogniser: &mut super::recogniser::Recogniser,
    mut vocabulary: super::Vocabulary,
) -> super::Vocabulary {
    vocabulary
        .phrases
        .retain(|phrase| phrase.words.split(' ').all(|word| recogniser.knows(word)));
    vocabulary
}
