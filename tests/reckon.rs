//! The trade's sums as they are typed: every topic for people and as JSON, what is refused, and
//! published examples that are wrong.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::process::{Command, Output, Stdio};

use benchcall::command_line::CommandLine;
use clap::CommandFactory;
use serde_json::Value;

fn reckon(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_benchcall"))
        .arg("reckon")
        .args(args)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Takes a command apart as a shell does with words in plain or double quotes.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            _ => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Runs a command line after `benchcall reckon`; the output and the exit code.
fn run(line: &str) -> (Output, i32) {
    let words = words(line);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let output = reckon(&words);
    let code = output.status.code().unwrap();
    (output, code)
}

/// Returns every topic with the examples of its help.
fn topics() -> Vec<(String, Vec<String>)> {
    let command = CommandLine::command();
    let reckon = command.find_subcommand("reckon").unwrap();
    let examples = |topic: &clap::Command| {
        let help = topic.get_after_help().map(ToString::to_string);
        // A long example goes on in the next line, as in a shell.
        let joined = help.unwrap_or_default().replace("\\\n", " ");
        joined
            .lines()
            .filter_map(|line| line.trim().strip_prefix("benchcall reckon "))
            .map(str::to_owned)
            .collect()
    };
    reckon
        .get_subcommands()
        .map(|topic| (topic.get_name().to_owned(), examples(topic)))
        .collect()
}

#[test]
fn every_topic_has_an_example_that_runs_for_people_and_as_json() {
    for (topic, examples) in topics() {
        assert!(!examples.is_empty(), "{topic} has no example in its help");
        for example in examples {
            assert!(example.starts_with(&topic), "{topic}: {example}");
            let (output, code) = run(&example);
            let said = text(&output.stdout);
            assert!(
                code == 0 || code == 5,
                "{example}: {code}\n{}",
                text(&output.stderr)
            );
            let mut lines = said.lines();
            assert!(!lines.next().unwrap().trim().is_empty(), "{said}");
            for part in ["\nWorked:  ", "\nSource:  "] {
                let at = said
                    .find(part)
                    .unwrap_or_else(|| panic!("{example}\n{said}"));
                let line = said[at + part.len()..].lines().next().unwrap();
                assert!(line.len() > 2, "{example}\n{said}");
            }
            let (output, json_code) = run(&format!("{example} --json"));
            assert_eq!(json_code, code, "{example}");
            let json: Value = serde_json::from_slice(&output.stdout).unwrap();
            let keys: Vec<&String> = json.as_object().unwrap().keys().collect();
            let mut wanted = vec!["result", "unit", "formula", "source", "cautions"];
            wanted.sort_unstable();
            assert_eq!(keys, wanted, "{example}");
            assert!(!json["result"].is_null(), "{example}");
            assert!(json["cautions"].is_array(), "{example}");
            for part in ["formula", "source"] {
                assert!(!json[part].as_str().unwrap().is_empty(), "{example}");
            }
        }
    }
}

/// The first line for people, a part of the rest, and the exit code.
#[test]
fn topics_answer_what_was_asked() {
    for (line, first, part, wanted) in [
        (
            "torque \"80 ft-lb\" --in N·m --step \"5 N·m\"",
            "dial 105 N·m",
            "exact 108.5 N·m",
            0,
        ),
        ("torque 11mkg", "107.9 N·m", "9.807 N·m/kgf·m", 0),
        (
            "band \"47 ± 5 N·m\" --class \"4 %\"",
            "band proved",
            "45.12 to 48.88",
            0,
        ),
        (
            "band \"47 ± 1 N·m\" --class \"4 %\"",
            "band not proved",
            "No setting of this wrench",
            5,
        ),
        (
            "order --bolts 12",
            "1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12",
            "12 bolts",
            0,
        ),
        (
            "order --bolts 5 --slacken",
            "4, 2, 5, 3, 1",
            "in reverse",
            0,
        ),
        ("order --bolts 3 --by-hand 2,1,3", "2, 1, 3", "own order", 0),
        (
            "passes \"110 N·m\" --shares \"50 %,100 %\" --check",
            "1. torque 55 N·m, order by the pattern",
            "3. torque 110 N·m, order all the way round",
            0,
        ),
        (
            "wrench --torque \"110 N·m\" --length \"400 mm\" --adapter \"80 mm\" --angle \"90 deg\"",
            "110 N·m",
            "cos 90",
            0,
        ),
        (
            "thread M12x1.5 --class 8.8",
            "proof load 51.1 kN",
            "88.1 mm² × 580 MPa",
            0,
        ),
        (
            "thread M12",
            "thread M12×1.75",
            "π/4·((10.8633 mm + 9.8530 mm)/2)² = 84.2",
            0,
        ),
        (
            "thread 3/8-16",
            "thread 3/8-16 UNC",
            "0.9743 × 0.0625 in)²",
            0,
        ),
        (
            "preload \"17 lb-ft\" --thread 5/16-18 --nut-factor 0.2 --class \"grade 5\"",
            "verdict go",
            "preload: middle",
            0,
        ),
        (
            "bolt-torque --proof-share \"75 %\" --thread M12 --class 8.8 --condition dry",
            "105.6 N·m",
            "84.3 mm² × 580 MPa = 48.89 kN; 75 % of it = 36.67 kN; 0.24 × 12 mm",
            0,
        ),
        (
            "bolt-torque --yield-share \"90 %\" --thread M12 --class 8.8 --friction 0.12",
            "83.42 N·m",
            "VDI 2230-1:2003",
            0,
        ),
        (
            "nut-travel \"90 deg\" --thread M20x1.5",
            "0.375 mm",
            "not the end float",
            0,
        ),
        (
            "lubricant --stated dry --actual greased",
            "verdict refuse",
            "do not guess a figure",
            5,
        ),
        (
            "dew-point --air \"18 °C\" --humidity \"70 %\"",
            "12.44 °C",
            "243.12·γ",
            0,
        ),
        (
            "climate --air \"18 °C\" --humidity \"70 %\" --metal \"16 °C\"",
            "decision go",
            "give --least and --most",
            0,
        ),
        (
            "climate --air \"18 °C\" --humidity \"90 %\" --metal \"-5 °C\" --least \"5 °C\" --most \"30 °C\"",
            "decision stop",
            "\n  cures: Warm the metal to at least 19.5 °C",
            5,
        ),
        (
            "cure \"8 h\" --at \"13 °C\" --least \"5 °C\" --most \"35 °C\"",
            "16 h",
            "2^((23 − 13)/10)",
            0,
        ),
        (
            "pot-life \"2 h\" --spell \"3 h at 23 °C\" --least \"5 °C\" --most \"35 °C\"",
            "0 min",
            "2 h − 3 h used",
            5,
        ),
        (
            "recoat --column \"10 °C to 30 °C: 8 h to 5 days\" --spell \"2 h at 23 °C\" \
             --least \"5 °C\" --most \"35 °C\"",
            "state too early",
            "wait 6 h",
            5,
        ),
        (
            "mix \"2:1 + 10 % of mix\" --total \"600 ml\" --mark \"50 ml\"",
            "base to 400 ml",
            "hardener to 600 ml",
            0,
        ),
        ("mix 4:1 --base \"1 L\"", "base 1 L", "hardener 0.25 L", 0),
        (
            "film --dry \"60 µm\" --solids \"50 %\" --thinner \"10 %\"",
            "132 µm",
            "60 µm·(1 + 0.1)/0.5",
            0,
        ),
        (
            "coverage --dry \"60 µm\" --solids \"50 %\" --area \"12 m²\"",
            "1.44 L",
            "12 m²/8.333",
            0,
        ),
        (
            "sling \"350 kg\" --legs 2 --leg \"1.2 m\" --height \"900 mm\" --rigging \"12 kg\"",
            "hook 362 kg",
            "leg: tension 241.3 kg",
            0,
        ),
        (
            "sling-limit \"1 t\" --legs 3 --from-vertical \"60 deg\"",
            "1.5 t",
            "own plate",
            0,
        ),
        (
            "off-centre \"2 t\" --height \"800 mm\" --first \"200 mm\" --second \"800 mm\"",
            "first 1.649 t",
            "second 0.5657 t",
            0,
        ),
        ("shackle --pull \"90 deg\"", "50 %", "pin", 0),
        ("eyebolt --pull \"45 deg\"", "25 %", "bracket", 0),
        (
            "weakest --link \"strop: 1 t, bears 362 kg\" \
             --link \"eyebolt: 700 kg, bears 230 kg, eyebolt at 40 deg\"",
            "verdict refuse",
            "eyebolt is overloaded: do not lift",
            5,
        ),
        (
            "crane \"550 kg\" --plate \"A: 1 t\" --plate \"B: 500 kg\" --hole B",
            "verdict refuse",
            "pull the boom in",
            5,
        ),
        (
            "crane \"700 kg\" --limit \"1 t\" --limit-reach \"0.9 m\" --reach \"1.4 m\"",
            "verdict refuse",
            "642.9 kg",
            5,
        ),
        (
            "hook --pivot \"1.5 m\" --boom \"1.2 m\" --height \"1.2 m\" --to \"2.2 m\"",
            "roll 0.1872 m",
            "way towards the load",
            0,
        ),
        (
            "stands \"1 t per pair\" --axle \"1.4 t\" --vehicle \"2.6 t\"",
            "verdict refuse",
            "use stronger stands",
            5,
        ),
        (
            "chocks --raised rear --brake-on rear",
            "chock the front wheels",
            "only the chocks do",
            0,
        ),
        (
            "wheels-off",
            "1. the vehicle on firm, level ground, because a stand sinks or tips on soft or sloping \
             ground",
            "15. torque checked after 50 km",
            0,
        ),
        (
            "disc \"20.4 20.5 20.5 20.5 20.5 20.5 20.5 20.5 mm\" --minimum \"20.5 mm\"",
            "verdict refuse",
            "worn out",
            5,
        ),
        (
            "run-out \"0.00 0.03 0.09 -0.02 mm\" --limit \"0.1 mm\"",
            "verdict refuse",
            "run-out 0.11 mm",
            5,
        ),
        (
            "disc-position \"0.08 0.05 0.11 mm\"",
            "position 2 of 3",
            "run-out 0.05 mm",
            0,
        ),
        (
            "end-float --pulled \"0.06 mm\" --pushed \"-0.02 mm\" --least \"0.03 mm\" --most \"0.13 mm\"",
            "verdict go",
            "end float 0.08 mm",
            0,
        ),
        (
            "shim \"2.40 mm\" --measured \"0.28 mm\" --least \"0.15 mm\" --most \"0.25 mm\" \
             --smallest \"2 mm\" --largest \"3 mm\" --step \"0.05 mm\"",
            "shim 2.5 mm",
            "leaves 0.18 mm",
            0,
        ),
        (
            "brake-fluid --inside DOT4 --poured dot5",
            "refuse",
            "DOT 5.1 is not DOT 5",
            5,
        ),
        ("brake-fluid --poured dot4", "refuse", "not known", 5),
        ("letters \"3 m\"", "17.45 mm", "tan(20′/2)", 0),
        (
            "letters \"3 m\" --screen 1920x1080 --diagonal \"24 in\"",
            "capitals 64 px",
            "font 91 px",
            0,
        ),
        (
            "contrast \"#000000\" \"#ffa500\"",
            "ratio 10.63:1",
            "level enhanced",
            0,
        ),
        (
            "alarm --noise \"68 dB(A)\" --lasting \"82 dB(A)\"",
            "at least 87 dB(A)",
            "82 + 5",
            0,
        ),
        ("engagement M10 --into aluminium", "20 mm", "2 × 10 mm", 0),
        (
            "nut-turns M14x1.5 --counted \"8 turns\"",
            "needed 10 turns",
            "do not drive on it",
            5,
        ),
    ] {
        let (output, code) = run(line);
        let said = text(&output.stdout);
        assert_eq!(code, wanted, "{line}\n{said}{}", text(&output.stderr));
        assert_eq!(said.lines().next(), Some(first), "{line}\n{said}");
        assert!(said.contains(part), "{line}: no {part:?} in\n{said}");
    }
}

#[test]
fn what_cannot_be_names_the_range_and_what_to_type() {
    for (line, wanted, part) in [
        ("torque 80", 2, "A torque is a number and a unit"),
        (
            "wrench --torque \"110 N·m\" --length \"-400 mm\"",
            2,
            "A length goes from 0 mm to 1000000 mm, not -400 mm: type 0 mm",
        ),
        (
            "wrench --torque \"110 N·m\" --length \"400 mm\" --adapter \"80 mm\" --angle \"200 deg\"",
            1,
            "0° to 180° to the handle, not 200 °: write 180 °",
        ),
        (
            "torque \"2000 ft-lb\"",
            2,
            "at most 2000 N·m, not 2000 lbf·ft: type 1475 lbf·ft",
        ),
        ("torque \"-5 N·m\"", 2, "not -5 N·m: type more than 0"),
        ("thread M12 --class 8.7", 2, "write a class (4.6, 4.8,"),
        ("thread M12x1.4", 2, "write M12×1.75 or M12×1.5"),
        ("thread 3/8-16 --class 8.8", 1, "grades with unified"),
        ("order --bolts 65", 1, "1 to 64 bolts"),
        ("order --bolts twelve", 2, "a whole number, such as 12"),
        ("order --bolts 12,5", 2, "a whole number, such as 12"),
        (
            "band \"47 ± 5 N·m\" --class \"0 %\"",
            1,
            "The wrench's deviation must be from 0.1 % to 25 %, not 0 %: try 0.1 %",
        ),
        (
            "nut-turns M14x1.5 --counted \"-8 turns\"",
            1,
            "The turns counted must be from 0",
        ),
        (
            "disc \"22.05 22.03 22.04 22.05 22.02 22.04 22.03 22.05 mm\" --minimum \"0 mm\"",
            1,
            "A disc's minimum lies above 0 and below 200 mm, not at 0 mm",
        ),
        ("order --bolts 48 --together 5", 1, "write 4 to a group"),
        ("order --bolts 5 --by-hand 1,2,3,4", 1, "leaves out bolt 5"),
        ("torque \"80 ft-lb\" --in Nmm", 2, "write N·m, lbf·ft"),
        (
            "sling \"350 kg\" --legs 2 --from-vertical \"61 deg\"",
            1,
            "the least is 30 ° from horizontal",
        ),
        (
            "sling \"350 kg\" --legs 2 --leg \"1 m\" --height \"1.1 m\"",
            1,
            "cannot reach straight up",
        ),
        (
            "sling \"350 kg\" --legs 5 --from-vertical \"45 deg\"",
            2,
            "possible values: 1, 2",
        ),
        (
            "sling \"1 ton\" --legs 1 --from-vertical \"0 deg\"",
            2,
            "write t for 1000 kg",
        ),
        (
            "shackle --pull \"100 deg\"",
            1,
            "from 0 ° to 90 °, not 100 °: try 90 °",
        ),
        (
            "shackle --pull \"30 deg\" --between \"130 deg\"",
            1,
            "the most is 120 °",
        ),
        (
            "eyebolt --pull \"50 deg\"",
            1,
            "the most is 45° from its axis",
        ),
        (
            "eyebolt --plain --pull \"30 deg\"",
            1,
            "use a shouldered eyebolt",
        ),
        (
            "weakest --link \"strop 1 t\"",
            2,
            "such as \"strop: 1 t, bears 360 kg\"",
        ),
        ("crane \"1 kg\" --plate \"A: 1 t\" --hole C", 1, "it has A"),
        (
            "hook --pivot \"1.5 m\" --boom \"1.2 m\" --height \"3 m\"",
            1,
            "it goes from",
        ),
        (
            "stands \"3 t\" --axle \"1 t\" --vehicle \"2 t\"",
            2,
            "write \"3 t per stand\"",
        ),
        (
            "disc \"22.05 22.03 mm\" --minimum \"20 mm\"",
            1,
            "8 places at least",
        ),
        (
            "climate --air \"70 °C\" --humidity \"70 %\" --metal \"16 °C\"",
            1,
            "from -45 °C to 60 °C, not 70 °C: try 60 °C",
        ),
        (
            "dew-point --air \"18 °C\" --humidity \"130 %\"",
            2,
            "from 0 % to 100 %, not 130 %: type 100 %",
        ),
        (
            "cure \"8 h\" --at \"2 °C\" --least \"5 °C\" --most \"35 °C\"",
            1,
            "warm the work to at least 5 °C",
        ),
        ("mix \"4:1 + 10 %\" --total \"1 L\"", 2, "% of base"),
        (
            "film --dry \"60 µm\" --solids \"0 %\"",
            1,
            "from 1 % to 100 %",
        ),
        ("letters \"300 m\"", 1, "try 100 m"),
        ("contrast orange black", 2, "such as \"#ffa500\""),
        ("alarm --noise \"68\"", 2, "has no unit"),
        ("shim \"2.4 mm\"", 2, "--measured"),
        ("lubricant --actual wet", 2, "possible values: dry, oiled"),
    ] {
        let (output, code) = run(line);
        let said = text(&output.stderr);
        assert_eq!(code, wanted, "{line}\n{said}");
        assert!(said.contains(part), "{line}: no {part:?} in\n{said}");
        assert!(output.stdout.is_empty(), "{line}");
    }
}

/// A homework page gives 5/16 in grade 5 bolts 8400 lbf and 1083.6 lbf·in: three times what they bear.
#[test]
fn the_published_preload_beyond_proof_is_refused() {
    let line = "preload \"1083.6 lbf·in\" --thread 5/16-18 --nut-factor 0.2 --class \"grade 5\"";
    let (output, code) = run(line);
    let said = text(&output.stdout);
    assert_eq!(code, 5, "{said}");
    assert!(said.starts_with("verdict refuse\n"), "{said}");
    assert!(said.contains("stretched for good"), "{said}");
}

/// A shipyard's page reckons 4000 lb on slings of 4 and 14 ft that run 2 and 10 ft across and 3 ft up:
/// such slings cannot be.
#[test]
fn the_published_impossible_lengths_are_contradicted() {
    let line = "off-centre \"4000 lb\" --height \"3 ft\" --first \"2 ft\" --second \"10 ft\"";
    let (output, code) = run(&format!(
        "{line} --first-leg \"4 ft\" --second-leg \"14 ft\""
    ));
    let said = text(&output.stderr);
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("it would be 3.606 ft long"), "{said}");
    assert!(output.stdout.is_empty());
    // With their true lengths the far sling lies too flat.
    let (output, code) = run(line);
    assert_eq!(code, 1);
    assert!(text(&output.stderr).contains("too flat"));
}

/// A toolbox talk gives a leg of 1000 lb a capacity of 707 lb at 30° and 500 lb at 45°, and 1000 lb lying
/// level: from either line it is wrong.
#[test]
fn the_published_sling_angles_are_contradicted() {
    let capacity = |direction: &str| {
        let (output, code) = run(&format!("sling \"1000 lb\" --legs 1 {direction} --json"));
        let json: Option<Value> = serde_json::from_slice(&output.stdout).ok();
        let tension = json.map(|json| json["result"]["leg"]["tension"]["result"].as_f64().unwrap());
        (
            tension.map(|tension| 1e6 / tension),
            code,
            text(&output.stderr),
        )
    };
    let (found, ..) = capacity("--from-horizontal \"30 deg\"");
    assert!((found.unwrap() - 500.0).abs() < 1e-6);
    let (found, ..) = capacity("--from-vertical \"30 deg\"");
    assert!((found.unwrap() - 866.0).abs() < 0.5);
    let (found, ..) = capacity("--from-vertical \"45 deg\"");
    assert!((found.unwrap() - 707.1).abs() < 0.5);
    let (found, code, said) = capacity("--from-horizontal \"0 deg\"");
    assert_eq!((found, code), (None, 1));
    assert!(said.contains("too flat"), "{said}");
}

/// A wrench and an adapter of the person's own file give the mark to dial.
#[test]
fn the_persons_own_tools_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("tools.ron");
    let tools = r#"(
        wrenches: [(name: "the long wrench", length: "450 mm", lowest: "40 N·m",
                    highest: "200 N·m", step: "1 N·m", deviation: "4 %")],
        adapters: [(name: "the open end", length: "50 mm", most: "120 N·m")],
    )"#;
    std::fs::write(&path, tools).unwrap();
    let path = path.to_str().unwrap();
    let ask = |torque: &str, more: &[&str]| {
        let output = reckon(&[&["wrench", "--torque", torque, "--tools", path], more].concat());
        (
            text(&output.stdout),
            text(&output.stderr),
            output.status.code().unwrap(),
        )
    };
    let (said, _, code) = ask("110 N·m", &["--with", "the open end"]);
    assert_eq!(code, 0);
    assert!(said.starts_with("dial 99 N·m\n"), "{said}");
    let (said, ..) = ask("110 N·m", &[]);
    assert!(said.starts_with("dial 110 N·m\n"), "{said}");
    for (torque, more, part) in [
        ("110 N·m", ["--with", "the bar"], "one of: \"the open end\""),
        ("130 N·m", ["--with", "the open end"], "rated to 120 N·m"),
        (
            "110 N·m",
            ["--wrench", "the short"],
            "one of: \"the long wrench\"",
        ),
        (
            "20 N·m",
            ["--wrench", "the long wrench"],
            "take a smaller wrench",
        ),
    ] {
        let (_, complaint, code) = ask(torque, &more);
        assert_eq!(code, 1, "{complaint}");
        assert!(complaint.contains(part), "{complaint}");
    }
    std::fs::write(path, "(wrenches: [(name: 3)])").unwrap();
    let (_, complaint, code) = ask("110 N·m", &[]);
    assert_eq!(code, 1);
    assert!(
        complaint.contains("shows how the file is written"),
        "{complaint}"
    );
    let missing = reckon(&["wrench", "--torque", "110 N·m", "--tools", "no/such.ron"]);
    assert_eq!(missing.status.code(), Some(3));
}
