//! Commands: everything that can be said, by every voice, in every noise. What may be said at one time
//! are the standard phrases and those of the procedures that a recording draws from.

use crate::Order;
use crate::corpus_file::Folder;
use crate::corpus_file::Head;
use crate::corpus_file::NoiseBegins;
use crate::echo::Workshop;
use crate::mixing::Scene;
use crate::mouth::Mouth;
use crate::mouth::label;
use crate::noises::Noises;
use crate::split::SPEEDS;
use crate::texts::Phrases;

/// Decibels that speech is above noise.
const RATIOS: [f64; 4] = [20.0, 10.0, 5.0, 0.0];
/// Commands in noise in one part, about.
const IN_NOISE: usize = 4_200;
const IN_NOISE_SMALL: usize = 500;
/// Silence between commands, in seconds.
const PAUSES: std::ops::RangeInclusive<f64> = 1.2..=2.5;
/// How much of the room's response is used, in seconds: its fall by 60 dB and a little.
pub const ECHO: f64 = 0.6;

/// One recording that is to be made.
#[derive(Debug, Clone, PartialEq)]
struct Planned {
    voice: usize,
    speed: f32,
    /// Which noise, and the ratio.
    noise: Option<(usize, f64)>,
    begins: NoiseBegins,
    in_workshop: bool,
    phrases: Vec<usize>,
}

/// A seeded plan in which every voice is heard at every ratio of every noise, half of each in the
/// workshop and half with noise that begins with the speech, and every phrase as often as every
/// other; and without noise at every speed in both rooms. A small one has one voice for each ratio
/// of a noise, and one speed and room for each voice without noise.
fn plan(
    voices: usize,
    noises: usize,
    mut deck: Deck,
    small: bool,
    random: &mut fastrand::Rng,
) -> Vec<Planned> {
    let phrases = deck.size();
    let mut planned = Vec::new();
    for voice in 0..voices {
        let settings = SPEEDS
            .iter()
            .flat_map(|speed| [(speed, false), (speed, true)]);
        let settings: Vec<_> = settings.collect();
        let only = random.usize(..settings.len());
        for (n, (&speed, in_workshop)) in settings.into_iter().enumerate() {
            if !small || n == only {
                planned.push(Planned {
                    voice,
                    speed,
                    noise: None,
                    begins: NoiseBegins::Before,
                    in_workshop,
                    phrases: deck.draw(if small { phrases.div_ceil(3) } else { phrases }, random),
                });
            }
        }
    }
    let wanted = if small { IN_NOISE_SMALL } else { IN_NOISE };
    let cells = noises * RATIOS.len();
    let speakers = if small { 1 } else { voices };
    let of_pair = wanted.div_ceil((cells * speakers).max(1));
    let times = of_pair.div_ceil(phrases.max(1));
    for cell in 0..cells {
        let mut order: Vec<usize> = (0..voices).collect();
        random.shuffle(&mut order);
        for (n, &voice) in order.iter().take(speakers).enumerate() {
            // The voices take turns over the settings; each ratio of a noise starts with another one,
            // and so does each noise at the same ratio.
            let turn = n + cell + cell / RATIOS.len();
            for time in 0..times {
                planned.push(Planned {
                    voice,
                    speed: SPEEDS[random.usize(..SPEEDS.len())],
                    noise: Some((cell / RATIOS.len(), RATIOS[cell % RATIOS.len()])),
                    begins: match (turn + time) % 2 {
                        0 => NoiseBegins::Before,
                        _ => NoiseBegins::WithSpeech,
                    },
                    in_workshop: turn / 2 % 2 == 1,
                    phrases: deck.draw(of_pair / times, random),
                });
            }
        }
    }
    planned
}

/// Draws numbers in shuffled order, each once before any comes again. Those of one group follow each
/// other, with numbers of no group between them.
struct Deck {
    /// The numbers of no group come first, then group after group.
    of_none: usize,
    groups: Vec<usize>,
    left: Vec<usize>,
}

impl Deck {
    fn new(of_none: usize, groups: Vec<usize>) -> Self {
        Self {
            of_none,
            groups,
            left: Vec::new(),
        }
    }

    fn size(&self) -> usize {
        self.of_none + self.groups.iter().sum::<usize>()
    }

    fn draw(&mut self, count: usize, random: &mut fastrand::Rng) -> Vec<usize> {
        let mut drawn = Vec::new();
        while drawn.len() < count && self.size() > 0 {
            if self.left.is_empty() {
                self.shuffle(random);
            }
            drawn.extend(self.left.pop());
        }
        drawn
    }

    fn shuffle(&mut self, random: &mut fastrand::Rng) {
        let mut from = self.of_none;
        let mut groups = Vec::new();
        for &size in &self.groups {
            let mut group: Vec<usize> = (from..from + size).collect();
            random.shuffle(&mut group);
            groups.push(group);
            from += size;
        }
        random.shuffle(&mut groups);
        let mut of_groups = groups.into_iter().flatten();
        let mut of_none: Vec<usize> = (0..self.of_none).collect();
        random.shuffle(&mut of_none);
        let mut is_of_none: Vec<bool> = (0..self.size()).map(|n| n < self.of_none).collect();
        random.shuffle(&mut is_of_none);
        let next = |none| {
            if none {
                of_none.pop()
            } else {
                of_groups.next()
            }
        };
        self.left = is_of_none.into_iter().filter_map(next).collect();
    }
}

/// Makes a part's recordings of commands, and says what it makes.
///
/// # Errors
///
/// One line where a voice cannot speak or a file cannot be written.
pub fn make(
    order: &Order,
    mouth: &mut Mouth,
    noises: &Noises,
    to: &mut Folder,
) -> Result<(), String> {
    let (phrases, spoken) = match &order.phrases {
        None => {
            let phrases = Phrases::of_the_program(order.call_sign)?;
            let spoken = phrases.standard.len();
            (phrases, spoken)
        }
        Some(file) => (Phrases::to_try(file)?, 0),
    };
    let silent = phrases.standard.len() - spoken;
    let all = phrases.all().split_off(silent);
    let sizes = phrases.own.iter().map(|own| own.said.len()).collect();
    let voices = mouth.voices().to_vec();
    let plan = plan(
        voices.len(),
        noises.tracks.len(),
        Deck::new(spoken, sizes),
        order.small,
        &mut order.random("plan of commands"),
    );
    tell(&plan, order, all.len(), noises);
    let response = Workshop::usual().response(ECHO);
    for (n, recording) in plan.iter().enumerate() {
        let mut voice = voices[recording.voice].clone();
        voice.speed = recording.speed;
        // All at once, for starting an engine takes longer than speaking.
        mouth.say(&voice, &all)?;
        let texts: Vec<String> = recording.phrases.iter().map(|&p| all[p].clone()).collect();
        let own = phrases.own.iter();
        let open = Phrases {
            standard: phrases.standard.clone(),
            own: own
                .filter(|own| own.said.iter().any(|phrase| texts.contains(phrase)))
                .cloned()
                .collect(),
        };
        let utterances = mouth.say(&voice, &texts)?;
        let noise = recording
            .noise
            .map(|(noise, ratio)| (&noises.tracks[noise], ratio));
        let scene = Scene {
            noise,
            begins: recording.begins,
            room: recording.in_workshop.then_some(&response[..]),
        };
        let mut random = order.random(&format!("commands {n}"));
        let (samples, said) = scene.record(&utterances, PAUSES, &mut random);
        let head = Head {
            voice: label(&voice),
            noise_begins: recording.begins,
            in_workshop: recording.in_workshop,
            phrases: open.all(),
            grave: open.grave(),
            ..Head::new("commands", order.part).in_noise(noise)
        };
        to.keep(
            &format!("{:04}-{}", n + 1, head.short()),
            &head,
            &samples,
            &said,
        )?;
    }
    println!("{} commands: {}", order.part, to.account());
    Ok(())
}

fn tell(plan: &[Planned], order: &Order, phrases: usize, noises: &Noises) {
    let count = |of: &dyn Fn(&Planned) -> bool| {
        let recordings = plan.iter().filter(|p| of(p));
        recordings.map(|p| p.phrases.len()).sum::<usize>()
    };
    println!(
        "{} commands: {} phrases; {} commands without noise, {} in noise ({} of them in the workshop)",
        order.part,
        phrases,
        count(&|p| p.noise.is_none()),
        count(&|p| p.noise.is_some()),
        count(&|p| p.noise.is_some() && p.in_workshop),
    );
    for (n, track) in noises.tracks.iter().enumerate() {
        let at = RATIOS.map(|ratio| {
            let commands = count(&|p| p.noise == Some((n, ratio)));
            format!("{commands} at {ratio} dB")
        });
        println!("  {}: {}", track.name, at.join(", "));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn deck() -> Deck {
        Deck::new(10, vec![7, 1, 0, 12])
    }

    #[test]
    fn what_is_of_one_group_is_said_in_a_row() {
        let mut deck = deck();
        let mut random = fastrand::Rng::with_seed(4);
        for _ in 0..20 {
            let drawn = deck.draw(30, &mut random);
            let group = |n: &usize| match n {
                ..10 => None,
                10..17 => Some(0),
                17 => Some(1),
                _ => Some(3),
            };
            let mut groups: Vec<i32> = drawn.iter().filter_map(group).collect();
            groups.dedup();
            assert_eq!(groups.len(), 3, "{drawn:?}");
            let mut drawn = drawn;
            drawn.sort_unstable();
            assert!(drawn.into_iter().eq(0..30));
        }
    }

    #[test]
    fn every_voice_is_heard_at_every_ratio_of_every_noise() {
        let plan = plan(8, 7, deck(), false, &mut fastrand::Rng::with_seed(1));
        for noise in 0..7 {
            for ratio in RATIOS {
                let cell = || plan.iter().filter(|p| p.noise == Some((noise, ratio)));
                for voice in 0..8 {
                    assert!(cell().any(|p| p.voice == voice), "{noise} {ratio} {voice}");
                }
                for begins in [NoiseBegins::Before, NoiseBegins::WithSpeech] {
                    for in_workshop in [false, true] {
                        assert!(cell().any(|p| p.begins == begins && p.in_workshop == in_workshop));
                    }
                }
            }
        }
    }

    #[test]
    fn every_phrase_comes_as_often_and_the_corpus_is_as_large_as_said() {
        for (noises, voices) in [(7, 8), (2, 8), (8, 7), (0, 3)] {
            let plan = plan(
                voices,
                noises,
                deck(),
                false,
                &mut fastrand::Rng::with_seed(2),
            );
            let mut counts = [0; 30];
            for &phrase in plan.iter().flat_map(|p| &p.phrases) {
                counts[phrase] += 1;
            }
            let (least, most) = (counts.iter().min().unwrap(), counts.iter().max().unwrap());
            assert!(most - least <= 1, "{counts:?}");
            let in_noise: usize = plan
                .iter()
                .filter(|p| p.noise.is_some())
                .map(|p| p.phrases.len())
                .sum();
            assert!(
                noises == 0 || (4_000..5_000).contains(&in_noise),
                "{in_noise}"
            );
        }
    }

    #[test]
    fn a_small_plan_still_has_every_cell_and_every_voice() {
        let plan = plan(8, 8, deck(), true, &mut fastrand::Rng::with_seed(3));
        for noise in 0..8 {
            for ratio in RATIOS {
                assert!(plan.iter().any(|p| p.noise == Some((noise, ratio))));
            }
        }
        assert!((0..8).all(|voice| plan.iter().any(|p| p.voice == voice)));
        for ratio in RATIOS {
            let at = || {
                plan.iter()
                    .filter(|p| p.noise.is_some_and(|n| n.1 == ratio))
            };
            assert!(at().any(|p| p.in_workshop) && at().any(|p| !p.in_workshop));
        }
        let commands: usize = plan.iter().map(|p| p.phrases.len()).sum();
        assert!((500..750).contains(&commands), "{commands}");
    }
}
