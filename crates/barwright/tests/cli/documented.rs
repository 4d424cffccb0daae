//! The manual's commands: every one in a block is run, in the order of its page, in a folder that holds what the pages speak of; every one in a sentence
//! is at least understood.
use crate::common::photograph::{Shot, jpeg};
use crate::common::{barwright, blow_samples, example, wav};
use barwright::invented_set::InventedSet;
use barwright::manual::PAGES;
use records::workshop::{Body, OrderRecord};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// What cannot be run to an end, and why.
const NOT_RUN: [(&str, &str); 2] =
    [("serve", "answers until it is interrupted"), ("--take tap.wav", "needs the sound of a real tube")];

/// A line as a shell would take it apart: words, quoted words; what stands behind two blanks and more, or `#`, explains.
fn words_of(line: &str) -> Vec<String> {
    let command = line.split("  ").next().unwrap_or("");
    let (mut words, mut word, mut quoted, mut any) = (Vec::new(), String::new(), false, false);
    for c in command.chars() {
        match c {
            '"' => (quoted, any) = (!quoted, true),
            ' ' if !quoted => {
                if any {
                    words.push(std::mem::take(&mut word));
                }
                any = false;
            }
            // A note sharp is a word, a remark is behind a blank.
            '#' | '…' if !any && !quoted => return words,
            c => {
                word.push(c);
                any = true;
            }
        }
    }
    if any {
        words.push(word);
    }
    words
}

/// The commands in the blocks of a page that begin with that fence, without the program's name.
fn commands(text: &str, fence: &str) -> Vec<Vec<String>> {
    let mut inside = None;
    let mut found = Vec::new();
    for line in text.lines() {
        if let Some(word) = line.strip_prefix("```") {
            inside = if inside.is_some() { None } else { Some(word.to_owned()) };
        } else if inside.as_deref() == Some(fence)
            && let Some(command) = line.trim_start().strip_prefix("barwright ")
        {
            found.push(words_of(command));
        }
    }
    found
}

/// Runs a command there; its exit status and everything it said.
fn run_in(folder: &Path, words: &[String]) -> (Option<i32>, String) {
    let output = barwright()
        .current_dir(folder)
        .env("BARWRIGHT_WORKSHOP", folder.join("shop"))
        .args(words)
        .output()
        .expect("the program runs");
    let said = [output.stdout, output.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).concat();
    (output.status.code(), said)
}

#[test]
fn the_tutorial_can_be_typed_along_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let text = barwright::manual::page("tutorial").unwrap().text;
    let steps = commands(text, "run");
    assert!(steps.len() > 20, "{}", steps.len());
    for step in &steps {
        let (status, said) = run_in(folder.path(), step);
        assert_eq!(status, Some(0), "barwright {}\n{said}", step.join(" "));
    }
    for left in ["plan.toml", "specification.pdf", "c3.svg", "shop/workshop.db", "copies"] {
        assert!(folder.path().join(left).exists(), "{left}");
    }
}

/// The bars of the invented instrument's lower and middle part: what the pages name must be among them.
const COMPASS: [i32; 2] = [48, 67];
const NAMES: [&str; 12] = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
/// Invented tables, as the pages describe them.
const TABLES: [(&str, &str); 3] = [
    (
        "boards.toml",
        "[[board]]\nname = \"A\"\nlength_mm = 2400\nwidth_mm = 180\nthickness_mm = 27\n\n\
         [[board]]\nname = \"B\"\nlength_mm = 2400\nwidth_mm = 180\nthickness_mm = 27\n",
    ),
    ("logger.csv", "time,temperature_c,humidity_percent\n2022-02-01T08:00:00Z,21.0,44\n2022-02-01T09:00:00Z,21.4,45\n"),
    ("stoppers.csv", "note,inner_mm,stopper_mm,temperature_c\nC3,50,628,21\nC4,40,300,21\nC5,40,142,21\n"),
];

/// Everything the pages speak of: a workshop with an instrument, blanks, boards, bar files, tables, recordings, a photograph.
fn workshop_of_the_manual() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let start = "2022-01-10T08:00:00Z".parse().unwrap();
    let mut set = InventedSet::new(&at("shop"), COMPASS, 5, start, true).unwrap();
    let order = set.workshop.order(set.instrument).unwrap();
    let order = OrderRecord { name: "Concert marimba".to_owned(), ..order };
    let (instrument, now) = (set.instrument, set.now());
    set.workshop.write(|step| step.add(instrument, Body::Order(order).into(), now)).unwrap();
    drop(set);
    for (name, table) in TABLES {
        fs::write(at(name), table).unwrap();
    }
    for (name, note) in [("c3", "C3"), ("d3", "D3"), ("e3", "E3")] {
        let bar = fs::read_to_string(example("blank.bar.json")).unwrap().replace("\"C3\"", &format!("\"{note}\""));
        fs::write(at(&format!("{name}.bar.json")), bar).unwrap();
    }
    let neighbour = fs::read_to_string(example("c3-rough.bar.json")).unwrap().replace("\"C3\"", "\"B2\"");
    fs::write(at("b2.bar.json"), neighbour).unwrap();
    fs::create_dir_all(at("examples/frame")).unwrap();
    for table in ["frame/nodes.csv", "frame/built.csv"] {
        fs::copy(example(table), at("examples").join(table)).unwrap();
    }
    let picture = Shot::HAND_HELD.render();
    fs::write(at("salt.jpg"), jpeg(&picture, true)).unwrap();
    let seen = image::load_from_memory(&jpeg(&picture, true)).unwrap().to_rgb8();
    fs::write(at("marks.json"), Shot::HAND_HELD.marks(&seen).to_string()).unwrap();
    sounds(folder.path());
    let said = |line: &str| {
        let (status, said) = run_in(folder.path(), &words_of(line));
        assert_eq!(status, Some(0), "barwright {line}\n{said}");
        said
    };
    said("board 12 --length 2400 --width 180 --thickness 27 --wood \"Honduras rosewood\"");
    for label in ["31", "98"] {
        said(&format!("bar {label} new --length 470 --width 62 --thickness 23 --mass 566"));
        said(&format!("bar {label} heard 464 1220 2230"));
    }
    salted(folder.path());
    folder
}

/// Recordings of an invented blank.
fn sounds(folder: &Path) {
    let sound = wav(&blow_samples(48_000), 48_000, 1, 16, false);
    fs::create_dir(folder.join("TAKES")).unwrap();
    for name in ["blank.wav", "blow.wav", "take.wav", "TAKES/117 centre.wav"] {
        fs::write(folder.join(name), &sound).unwrap();
    }
}

/// Salt tests of the instrument's bars at the nodes they have, and the rails of its frame as they stand.
fn salted(folder: &Path) {
    let json = |words: &str| -> Value {
        let (status, said) = run_in(folder, &words_of(&format!("{words} --json")));
        assert_eq!(status, Some(0), "{words}: {said}");
        serde_json::from_str(&said).unwrap()
    };
    let mut table = "note,length_mm,width_mm,player_left_mm,player_right_mm,far_left_mm,far_right_mm\n".to_owned();
    for midi in COMPASS[0]..=COMPASS[1] {
        let name = NAMES[usize::try_from(midi % 12).unwrap()];
        let note = format!("{name}{}", midi / 12 - 1);
        let nodes = &json(&format!("bar {note} modes"))["bending"][0]["nodes_mm"];
        let file = folder.join(format!("{midi}.bar.json"));
        json(&format!("bar {note} file \"{}\"", file.display()));
        let bar: Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
        let [player, far] = [0, 1].map(|line| nodes[line]["centre"].as_f64().unwrap());
        table += &format!("{note},{},{},{player},{player},{far},{far}\n", bar["length_mm"], bar["width_mm"]);
    }
    fs::write(folder.join("nodes-read.csv"), table).unwrap();
    json("instrument salt \"Concert marimba\" nodes-read.csv --face A");
    let rails = json("rails --instrument \"Concert marimba\"");
    let mut built = "row,rail,x_mm,y_mm\n".to_owned();
    for row in rails["rows"].as_array().unwrap() {
        let name = row["row"].as_str().unwrap().trim_end_matches('s');
        for (rail, points) in [("player", &row["player_rail"]), ("far", &row["far_rail"])] {
            for point in points.as_array().unwrap() {
                built += &format!("{name},{rail},{},{}\n", point["x_mm"], point["y_mm"]);
            }
        }
    }
    fs::write(folder.join("built.csv"), built).unwrap();
}

/// What must be refused as it stands on the page, and why the page shows it all the same.
const REFUSED: [(&str, &str); 3] = [
    ("certificate verify", "the print on the page is another workshop's: exactly that is to be told"),
    ("--enter-in", "the invented instrument's notes are served already"),
    ("--drilled C3", "the invented instrument's bars are drilled already"),
];

#[test]
fn every_command_of_the_manual_runs_in_a_workshop_that_has_what_it_speaks_of() {
    let base = workshop_of_the_manual();
    let fresh = tempfile::tempdir().unwrap();
    sounds(fresh.path());
    run_in(fresh.path(), &words_of("workshop new"));
    let (mut ran, mut failed) = (0, Vec::new());
    for page in PAGES {
        // That page begins with a record in which nothing is yet.
        let folder = if page.name == "record" { fresh.path() } else { base.path() };
        if page.name == "rescue" {
            // From there on the bar is sawn.
            fs::copy(example("c3-rough.bar.json"), folder.join("c3.bar.json")).unwrap();
        }
        for words in commands(page.text, "") {
            let line = words.join(" ");
            if NOT_RUN.iter().any(|(part, _)| line.contains(part)) {
                continue;
            }
            let wanted = if REFUSED.iter().any(|(part, _)| line.contains(part)) { 1 } else { 0 };
            let (status, said) = run_in(folder, &words);
            ran += 1;
            if status != Some(wanted) {
                let said: Vec<&str> = said.lines().take(3).collect();
                failed.push(format!("{}: barwright {line}\n  {}", page.name, said.join("\n  ")));
            }
        }
    }
    assert!(ran > 80, "{ran}");
    assert!(failed.is_empty(), "{} of {ran}:\n{}", failed.len(), failed.join("\n"));
}

/// Commands in the middle of a sentence have words that stand for others; the program must at least know them and their options.
#[test]
fn every_command_in_a_sentence_is_known() {
    let (mut known, mut unknown) = (0, Vec::new());
    for page in PAGES {
        for part in page.text.split('`').skip(1).step_by(2) {
            let part = part.replace('\n', " ");
            let Some(command) = part.strip_prefix("barwright ") else { continue };
            // `[what may be left out]`, `one \\| another`, WORDS that stand for others, "and so on".
            let plain =
                command.split(" \\|").next().unwrap_or("").replace(['[', ']', '…'], "").replace("WHAT", "check");
            let first = |word: String| word.split("\\|").next().unwrap_or("").to_owned();
            let words: Vec<String> = words_of(&plain).into_iter().map(first).collect();
            match barwright::cli::knows(&words) {
                Ok(()) => known += 1,
                Err(why) => unknown.push(format!("{}: `{part}`: {why}", page.name)),
            }
        }
    }
    assert!(known > 40, "{known}");
    assert!(unknown.is_empty(), "{}", unknown.join("\n"));
}
