use super::*;
use proptest::prelude::*;

fn table(rows: usize, columns: usize, words: &str) -> Table {
    Table {
        columns: (0..columns)
            .map(|i| if i == 0 { Column::words("note") } else { Column::figures(format!("figure {i}")) })
            .collect(),
        rows: (0..rows).map(|row| (0..columns).map(|i| format!("{words} {row}.{i}")).collect()).collect(),
    }
}

fn listing(parts: Vec<Part>) -> Listing {
    Listing { title: "A sheet".to_owned(), parts }
}

/// All lettering of a page.
fn letters(page: &Page) -> Vec<crate::Lettering> {
    let items = page.parts.iter().flat_map(|part| part.drawing.items());
    items.filter_map(|item| if let crate::Item::Text(text) = item { Some(text.clone()) } else { None }).collect()
}

#[test]
fn long_names_keep_clear_of_date_and_number() {
    let letterhead = Letterhead {
        workshop: "Invented workshop of three generations by the old mill at the lower river".to_owned(),
        job: "Concert marimba of five octaves for the invented festival orchestra".to_owned(),
        date: "2026-11-27".to_owned(),
        reference: "A4 = 442 Hz at 22 °C and 45 %, brought there with the workshop's own reference bars".to_owned(),
    };
    let document = pages(&listing(vec![Part::Table(table(3, 4, "w"))]), &letterhead, PaperSize::A4).unwrap();
    assert!(document.pages[0].parts[1].drawing.collisions(0.5).is_empty());
}

#[test]
fn a_long_table_runs_on_with_its_head_and_pages_are_counted() {
    let letterhead = Letterhead {
        workshop: "Invented workshop".to_owned(),
        job: "Invented marimba".to_owned(),
        ..Letterhead::default()
    };
    let document = pages(&listing(vec![Part::Table(table(80, 4, "w"))]), &letterhead, PaperSize::A4).unwrap();
    assert!(document.pages.len() >= 2, "{}", document.pages.len());
    for (number, page) in document.pages.iter().enumerate() {
        let words: Vec<String> = letters(page).into_iter().map(|letter| letter.text).collect();
        assert!(
            words.iter().any(|w| w == "note") && words.iter().any(|w| w == "Invented workshop · Invented marimba"),
            "{words:?}"
        );
        assert!(words.contains(&format!("page {} of {}", number + 1, document.pages.len())));
    }
    let rows: usize =
        document.pages.iter().map(|page| letters(page).iter().filter(|l| l.text.ends_with(".0")).count()).sum();
    assert_eq!(rows, 80, "every row stands once");
    crate::pdf::render(&document).unwrap();
}

#[test]
fn wide_tables_lie_and_long_cells_are_broken() {
    let upright = pages(&listing(vec![Part::Table(table(3, 3, "w"))]), &Letterhead::default(), PaperSize::A4).unwrap();
    assert!(upright.pages[0].size_mm[0] < upright.pages[0].size_mm[1]);
    let lying = pages(&listing(vec![Part::Table(table(3, 12, "w"))]), &Letterhead::default(), PaperSize::A4).unwrap();
    assert!(lying.pages[0].size_mm[0] > lying.pages[0].size_mm[1]);
    let long =
        "a long remark that goes on and on about what was seen on this bar when it came back from the hall it stood in";
    let broken =
        pages(&listing(vec![Part::Table(table(2, 3, long))]), &Letterhead::default(), PaperSize::Letter).unwrap();
    assert!(letters(&broken.pages[0]).iter().all(|letter| letter.size_mm > 3.5));
    assert!(pages(&listing(vec![Part::Table(Table::default())]), &Letterhead::default(), PaperSize::A4).is_err());
}

proptest! {
    /// Nothing stands outside the sheet, whatever is on it.
    #[test]
    fn nothing_runs_off_the_sheet(rows in 0_usize..70, columns in 1_usize..11, words in "[a-z]{1,12}( [a-z]{1,12}){0,8}", caution in "[a-z ]{0,300}") {
        let parts = vec![Part::Words(words.clone()), Part::Heading(words.clone()), Part::Table(table(rows, columns, &words)), Part::Caution(caution)];
        let document = pages(&listing(parts), &Letterhead::default(), PaperSize::A4).unwrap();
        for page in &document.pages {
            for letter in letters(page) {
                let bounds = letter.bounds();
                prop_assert!(bounds.min.x >= 9.0 && bounds.min.y >= 8.0 && bounds.max.y <= page.size_mm[1] - 8.0, "{letter:?}");
                // A table of many columns of long words is wider than any sheet at 10 pt; those of real sheets are not.
                prop_assert!(columns > 7 || bounds.max.x <= page.size_mm[0] - 9.0, "{letter:?} {:?}", page.size_mm);
            }
        }
    }
}
