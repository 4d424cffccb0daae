//! Help beside a step: a section of the manual, carried inside the program, folded until it is asked for.
use crate::manual::{page, section_html};
use maud::{Markup, PreEscaped, html};

/// A section of the manual.
#[derive(Debug, Clone, Copy)]
pub struct Help {
    /// What it tells, as the fold's own words.
    ask: &'static str,
    /// The page of the manual.
    manual: &'static str,
    /// The section's heading.
    heading: &'static str,
}

/// One bout of cutting.
pub const CUT: Help = Help { ask: "How a bout goes", manual: "cutting", heading: "One bout" };
/// What the answers to a blow mean.
pub const STRIKE: Help = Help { ask: "How to strike and record", manual: "listening", heading: "What to do" };
/// The microphone.
pub const MICROPHONE: Help = Help { ask: "About the microphone", manual: "bench", heading: "The microphone" };
/// Keys and foot switches.
pub const KEYS: Help = Help { ask: "Keys and foot switches", manual: "bench", heading: "Keys and foot switches" };
/// Reading node lines.
pub const NODES: Help = Help { ask: "How to read the node lines", manual: "frame", heading: "What to measure" };
/// Laying rails.
pub const RAILS: Help = Help { ask: "How the rails are laid", manual: "frame", heading: "Laying the rails" };
/// Copies and backups.
pub const COPIES: Help = Help { ask: "Keeping the record safe", manual: "record", heading: "Keeping it safe" };
/// Phones and tablets in the workshop's network.
pub const DEVICES: Help = Help { ask: "How to pair a device", manual: "lan", heading: "Pairing a device" };
/// The hand from bar to bar.
pub const HAND: Help = Help { ask: "How the hand is learnt", manual: "cutting", heading: "Your hand, from bar to bar" };

/// The section, folded.
pub fn fold(id: &str, help: &Help) -> Markup {
    html! {
        details id=(id) .help {
            summary { (help.ask) }
            div { (PreEscaped(section_html(section(help))))
                p { a .button href={ "/manual/" (help.manual) } { "The whole page of the manual" } } }
        }
    }
}

/// The text under the heading, up to the next one of its kind; empty if there is none (a test sees to that).
fn section(help: &Help) -> &'static str {
    let mut sections = page(help.manual).into_iter().flat_map(|page| page.sections());
    sections.find(|(heading, _)| *heading == help.heading).map_or("", |(_, text)| text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_section_is_in_the_manual_and_stands_by_itself() {
        for help in [CUT, STRIKE, MICROPHONE, KEYS, NODES, RAILS, COPIES, DEVICES, HAND] {
            let html = section_html(section(&help));
            assert!(html.len() > 100, "{}: {html}", help.heading);
            assert!(!html.contains("<a ") && !html.contains("<img") && !html.contains("style="), "{}", help.heading);
        }
    }
}
