//! Finding in the manual: sections that hold all words, the likeliest first.
use super::{PAGES, Page, anchor};

/// A section that answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The page it is in.
    pub page: &'static Page,
    /// Its heading; the page's own for what stands before the first.
    pub heading: &'static str,
    /// The line in which most of the words stand.
    pub line: String,
}

impl Found {
    /// Where it is in the program's own pages.
    pub fn address(&self) -> String {
        let place =
            if self.heading == self.page.title() { String::new() } else { format!("#{}", anchor(self.heading)) };
        format!("/manual/{}{place}", self.page.name)
    }
}

/// Most sections that are shown.
const MOST: usize = 12;
/// A word in a heading says what the section is about; in the text it may stand by the way.
const HEADING_COUNTS: usize = 8;
/// As much of a line as is shown, in characters.
const LINE_CHARS: usize = 160;

/// Sections that hold every word asked for (or its beginning), the likeliest first; nothing for no words.
pub fn find(asked: &str) -> Vec<Found> {
    let words: Vec<String> = asked.split_whitespace().map(stem).filter(|word| !word.is_empty()).collect();
    if words.is_empty() {
        return Vec::new();
    }
    let mut found: Vec<(usize, Found)> = Vec::new();
    for page in PAGES {
        for (heading, body) in page.sections() {
            if let Some(score) = score(&words, heading, body) {
                found.push((score, Found { page, heading, line: best_line(&words, body) }));
            }
        }
    }
    // A stable sort: equals stay in the order of the contents, where the maker's pages stand first.
    found.sort_by_key(|(score, _)| std::cmp::Reverse(*score));
    found.into_iter().take(MOST).map(|(_, found)| found).collect()
}

/// Small letters without the endings that make one word two: "tubes" finds "tube", "flattened" does not find "flat".
fn stem(word: &str) -> String {
    let word: String =
        word.chars().filter(|c| c.is_alphanumeric() || matches!(c, '#' | '-')).flat_map(char::to_lowercase).collect();
    match word.strip_suffix('s') {
        Some(one) if one.len() > 2 && !one.ends_with('s') => one.to_owned(),
        _ => word,
    }
}

fn score(words: &[String], heading: &str, body: &str) -> Option<usize> {
    let (heading, body) = (heading.to_lowercase(), body.to_lowercase());
    let count = |text: &str, word: &str| {
        text.split(|c: char| !c.is_alphanumeric() && !matches!(c, '#' | '-'))
            .filter(|known| known.starts_with(word))
            .count()
    };
    let each =
        words.iter().map(|word| HEADING_COUNTS * count(&heading, word).min(1) + count(&body, word).min(HEADING_COUNTS));
    each.map(|score| (score > 0).then_some(score)).sum()
}

/// The line that holds most of the words, without its marks, cut where it is long.
fn best_line(words: &[String], body: &str) -> String {
    let held = |line: &&str| {
        let line = line.to_lowercase();
        words.iter().filter(|word| line.contains(word.as_str())).count()
    };
    let lines =
        body.lines().filter(|line| !line.trim().is_empty() && !line.starts_with("```") && !line.starts_with("|--"));
    // The first of the best: `max_by_key` would take the last.
    let best = lines.rev().max_by_key(held).unwrap_or("");
    let words = super::html::words(best).replace('|', " ");
    let mut short: String = words.split_whitespace().collect::<Vec<_>>().join(" ");
    if short.chars().count() > LINE_CHARS {
        short = short.chars().take(LINE_CHARS).chain(['…']).collect();
    }
    short
}

#[cfg(test)]
mod tests {
    use super::*;

    fn first(asked: &str) -> &'static str {
        find(asked).first().map_or("nothing", |found| found.page.name)
    }

    #[test]
    fn a_makers_questions_find_their_page() {
        for (asked, wanted) in [
            ("tubes stopper", "tubes"),
            ("pair a device", "lan"),
            ("salt", "frame"),
            ("overtone flat", "troubleshooting"),
            ("node", "glossary"),
            ("first bar", "tutorial"),
            ("moisture", "wood"),
        ] {
            let pages: Vec<&str> = find(asked).iter().map(|found| found.page.name).collect();
            assert!(pages.contains(&wanted), "{asked}: {pages:?}");
        }
        assert_eq!(first("stopper tubes"), "tubes");
    }

    #[test]
    fn every_word_must_be_there_and_nothing_is_no_error() {
        assert!(find("").is_empty() && find("  ?! ").is_empty());
        assert!(find("tubes zeppelin").is_empty());
        assert!(find("Tube").iter().map(|f| f.page.name).eq(find("tubes").iter().map(|f| f.page.name)));
    }

    #[test]
    fn what_is_found_can_be_opened() {
        let found = &find("pairing a device")[0];
        assert_eq!((found.page.name, found.address().as_str()), ("lan", "/manual/lan#pairing-a-device"));
        assert!(found.line.len() > 10, "{found:?}");
        // A line is shown as it is read, not as it is written.
        let rescue = &find("overtone flat sharp rescue")[0];
        assert!(
            rescue.line.contains("rescue") && !rescue.line.contains("](") && !rescue.line.contains('`'),
            "{rescue:?}"
        );
    }
}
