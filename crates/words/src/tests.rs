use super::*;
use std::collections::BTreeMap;
use std::path::Path;

/// Names of the texts of a catalogue, each with the values it uses.
fn entries(language: Language) -> BTreeMap<String, Vec<String>> {
    let mut found = BTreeMap::new();
    let mut name = String::new();
    for line in language.catalogue().lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
        if let Some((head, _)) = line.split_once(" =").filter(|_| !line.starts_with([' ', '['])) {
            head.clone_into(&mut name);
            assert!(found.insert(name.clone(), Vec::new()).is_none(), "{name} stands twice in {}", language.tag());
        }
        let values = line.split('$').skip(1).map(|rest| {
            rest.chars().take_while(|letter| letter.is_ascii_alphanumeric() || *letter == '_').collect::<String>()
        });
        let known: &mut Vec<String> = found.get_mut(&name).unwrap_or_else(|| panic!("a line before the first text"));
        known.extend(values);
        known.sort();
        known.dedup();
    }
    found
}

#[test]
fn every_language_has_every_text_with_the_same_values() {
    let english = entries(Language::English);
    assert!(english.len() > 100, "{}", english.len());
    for language in Language::ALL {
        FluentResource::try_new(language.catalogue().to_owned()).unwrap_or_else(|(_, errors)| panic!("{errors:?}"));
        assert_eq!(entries(language), english, "{}", language.tag());
    }
}

/// Reads the sources of the whole program: a text that is asked for is there, and one that is there is asked for.
#[test]
fn the_program_and_its_catalogue_know_the_same_texts() {
    fn sources(folder: &Path, found: &mut String) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                sources(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") && !path.ends_with("words/src/lib.rs") {
                found.push_str(&std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    let mut text = String::new();
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    for entry in std::fs::read_dir(crates).unwrap() {
        let folder = entry.unwrap().path().join("src");
        if folder.is_dir() && !folder.starts_with(env!("CARGO_MANIFEST_DIR")) {
            sources(&folder, &mut text);
        }
    }
    let asked: Vec<&str> = text
        .split("tell!(")
        .skip(1)
        .map(|rest| rest.trim_start().strip_prefix('"').and_then(|rest| rest.split('"').next()).unwrap_or("?"))
        .collect();
    let known = entries(Language::English);
    let missing: Vec<&&str> = asked.iter().filter(|name| !known.contains_key(**name)).collect();
    assert!(missing.is_empty(), "asked for, in no catalogue: {missing:?}");
    let idle: Vec<&String> = known.keys().filter(|name| !asked.contains(&name.as_str())).collect();
    assert!(idle.is_empty(), "in the catalogue, never asked for: {idle:?}");
}

#[test]
fn notes_and_figures_are_written_as_they_are_read() {
    assert_eq!((note("B3"), number("442.5")), ("B3".to_owned(), "442.5".to_owned()));
    in_language(Language::German, || {
        let names = ["C4", "C♯4", "F#2", "B3", "B♭3", "E♭5", "A♭5", "D♭5", "A♯3", "spare F♯3–B3", "17"];
        let called = names.map(note);
        assert_eq!(called, ["C4", "Cis4", "Fis2", "H3", "B3", "Es5", "As5", "Des5", "Ais3", "spare F♯3–B3", "17"]);
        assert_eq!(number("−442.5"), "−442,5");
    });
    assert_eq!(language(), Language::English, "set back");
}

#[test]
fn plurals_and_missing_texts() {
    assert_eq!(tell!("page-of", number = 2, all = 12), "page 2 of 12");
    in_language(Language::German, || assert_eq!(tell!("page-of", number = 2, all = 12), "Seite 2 von 12"));
    assert_eq!(text("no-such-text", &[]), "[no-such-text]");
}
