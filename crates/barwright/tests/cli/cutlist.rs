//! Cut lists on the command line: boards from a file or from the record; all boards are made up.
use crate::common::shop::{Shop, text};
use crate::common::{answer, refusal, run};
use std::fs;

const SPEC: &str = "kind = \"marimba\"\nlowest = \"C4\"\nhighest = \"C5\"\na4_hz = 442\nwood = \"Honduras rosewood\"\n";
const BOARDS: &str = "[[board]]\nname = \"A\"\nlength_mm = 2400\nwidth_mm = 180\nthickness_mm = 27\n\
    defects = [{ from_mm = 800, to_mm = 900, near_mm = 0, far_mm = 60, what = \"knot\" }]\n\n\
    [[board]]\nname = \"B\"\nlength_mm = 2000\nwidth_mm = 130\nthickness_mm = 27\n";

fn files(shop: &Shop, boards: &str) -> [String; 2] {
    [("spec.toml", SPEC), ("boards.toml", boards)].map(|(name, words)| {
        let path = shop.path(name);
        fs::write(&path, words).unwrap();
        text(&path).to_owned()
    })
}

#[test]
fn an_octave_comes_out_of_two_boards_around_a_knot() {
    let shop = Shop::new();
    let [spec, boards] = files(&shop, BOARDS);
    let (csv, picture) = (shop.path("cuts.csv"), shop.path("boards.svg"));
    let list =
        answer(&["cutlist", &spec, "--boards", &boards, "--json", "--csv", text(&csv), "--picture", text(&picture)]);
    let placed: usize =
        list["boards"].as_array().unwrap().iter().map(|board| board["blanks"].as_array().unwrap().len()).sum();
    // Thirteen bars; one spare in six of the first twelve, one for the last.
    assert_eq!((placed, list["missing"].as_array().unwrap().len()), (16, 0), "{list}");
    assert!(list["blanks_m2"].as_f64() < list["boards_m2"].as_f64());
    let table = fs::read_to_string(&csv).unwrap();
    assert_eq!(table.lines().count(), 17);
    // The table's C4: 365 mm by the law of lengths and 20 mm more.
    let c4 = table.lines().find(|line| line.starts_with("C4,")).unwrap();
    let cells: Vec<f64> = c4.split(',').skip(3).take(2).map(|cell| cell.parse().unwrap()).collect();
    assert!((cells[1] - cells[0] - 385.0).abs() < 0.11, "{c4}");
    assert!(fs::read_to_string(&picture).unwrap().contains("C4"));
    let (_, words, _) = run(&["cutlist", &spec, "--boards", &boards, "--units", "mm"]);
    for part in ["crosscut at", "rip at", "[ ]", "cannot give a C2", "Guard", "less than which no cutting takes"] {
        assert!(words.contains(part), "{part}: {words}");
    }
    assert_eq!(refusal(&["cutlist", &spec, "--boards", &boards, "--csv", text(&csv)]).0, "cannot_write");
    // The same trials, the same list.
    assert_eq!(answer(&["cutlist", &spec, "--boards", &boards, "--json"])["boards"], list["boards"]);
}

#[test]
fn boards_that_are_too_small_are_answered_with_what_would_do() {
    let shop = Shop::new();
    let short = BOARDS
        .replace("2400", "300")
        .replace("2000", "300")
        .replace("defects = [{ from_mm = 800, to_mm = 900, near_mm = 0, far_mm = 60, what = \"knot\" }]\n", "");
    let [spec, boards] = files(&shop, &short);
    let list = answer(&["cutlist", &spec, "--boards", &boards, "--json"]);
    assert!(list["missing"].as_array().unwrap().len() >= 13, "{list}");
    // 365 mm and 20 mm more, 45 mm off each end.
    assert!((list["to_buy"]["at_least_mm"]["length"].as_f64().unwrap() - 475.0).abs() < 0.2, "{list}");
    let (_, words, _) = run(&["cutlist", &spec, "--boards", &boards]);
    assert!(words.contains("Possible with more boards") && words.contains("trade rules"), "{words}");
}

#[test]
fn the_records_boards_are_cut_with_their_defects() {
    let shop = Shop::new();
    let [spec, _] = files(&shop, BOARDS);
    assert_eq!(shop.refuses(&["cutlist", &spec, "--stock"]), "no_boards");
    shop.says(&[
        "board",
        "12",
        "--length",
        "2400",
        "--width",
        "180",
        "--thickness",
        "27",
        "--defect",
        "0-2400:80-100:long check",
    ]);
    shop.says(&["board", "13", "--length", "2400"]);
    let list = shop.json(&["cutlist", &spec, "--stock"]);
    assert_eq!(list["boards_of_unknown_size"][0], "13");
    for blank in list["boards"][0]["blanks"].as_array().unwrap() {
        let [near, far] = [0, 1].map(|i| blank["across_mm"][i].as_f64().unwrap());
        assert!(far <= 80.0 + 1e-9 || near >= 100.0 - 1e-9, "{blank}");
    }
    for wrong in ["800-900:knot", "900-800:0-60:knot", "800-900:0-60:", "a-b:0-60:knot"] {
        assert_eq!(shop.refuses(&["board", "14", "--defect", wrong]), "wrong_defect", "{wrong}");
    }
}

#[test]
fn what_is_wrong_with_boards_is_named() {
    let shop = Shop::new();
    for (boards, code, part) in [
        ("", "no_boards", "names no board"),
        ("[[board]]\nname = \"A\"\nlength_mm = 2400\n", "not_boards", "width_mm"),
        (&BOARDS.replace("2400", "24000"), "out_of_range", "length of board A"),
        (&BOARDS.replace("to_mm = 900", "to_mm = 2900"), "out_of_range", "knot of board A"),
        (&BOARDS.replace("27", "nan"), "out_of_range", "thickness of board A"),
    ] {
        let [spec, boards] = files(&shop, boards);
        let (found, message) = refusal(&["cutlist", &spec, "--boards", &boards]);
        assert!(found == code && message.contains(part), "{found}: {message}");
    }
    let [spec, boards] = files(&shop, BOARDS);
    assert_eq!(refusal(&["cutlist", &spec, "--boards", &boards, "--kerf", "0"]).0, "out_of_range");
    assert_eq!(refusal(&["cutlist", &spec, "--boards", text(&shop.path("none.toml"))]).0, "unreadable");
}
