//! Help beside a step: a section of the manual, carried inside the program, folded until it is asked for.
use maud::{Markup, PreEscaped, html};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

const BENCH: &str = include_str!("../../../../../docs/bench.md");
const CUTTING: &str = include_str!("../../../../../docs/cutting.md");
const FRAME: &str = include_str!("../../../../../docs/frame.md");
const LAN: &str = include_str!("../../../../../docs/lan.md");
const LISTENING: &str = include_str!("../../../../../docs/listening.md");
const RECORD: &str = include_str!("../../../../../docs/record.md");

/// A section of the manual.
#[derive(Debug, Clone, Copy)]
pub struct Help {
    /// What it tells, as the fold's own words.
    ask: &'static str,
    manual: &'static str,
    /// The section's heading.
    heading: &'static str,
}

/// One bout of cutting.
pub const CUT: Help = Help { ask: "How a bout goes", manual: CUTTING, heading: "One bout" };
/// What the answers to a blow mean.
pub const STRIKE: Help = Help { ask: "How to strike and record", manual: LISTENING, heading: "What to do" };
/// The microphone.
pub const MICROPHONE: Help = Help { ask: "About the microphone", manual: BENCH, heading: "The microphone" };
/// Keys and foot switches.
pub const KEYS: Help = Help { ask: "Keys and foot switches", manual: BENCH, heading: "Keys and foot switches" };
/// Reading node lines.
pub const NODES: Help = Help { ask: "How to read the node lines", manual: FRAME, heading: "What to measure" };
/// Laying rails.
pub const RAILS: Help = Help { ask: "How the rails are laid", manual: FRAME, heading: "Laying the rails" };
/// Copies and backups.
pub const COPIES: Help = Help { ask: "Keeping the record safe", manual: RECORD, heading: "Keeping it safe" };
/// Phones and tablets in the workshop's network.
pub const DEVICES: Help = Help { ask: "How to pair a device", manual: LAN, heading: "Pairing a device" };
/// The hand from bar to bar.
pub const HAND: Help = Help { ask: "How the hand is learnt", manual: CUTTING, heading: "Your hand, from bar to bar" };

/// The section, folded.
pub fn fold(id: &str, help: &Help) -> Markup {
    html! {
        details id=(id) .help {
            summary { (help.ask) }
            div { (PreEscaped(to_html(section(help)))) }
        }
    }
}

/// The text under the heading, up to the next one of its kind; empty if there is none (a test sees to that).
fn section(help: &Help) -> &'static str {
    let head = format!("\n## {}\n", help.heading);
    let Some(from) = help.manual.find(&head) else { return "" };
    let text = &help.manual[from + head.len()..];
    &text[..text.find("\n## ").unwrap_or(text.len())]
}

/// As the page shows it: words of links without the links and no pictures, for the manual itself is not served.
fn to_html(markdown: &str) -> String {
    let mut in_picture = false;
    let plain = Parser::new_ext(markdown, Options::ENABLE_TABLES).filter(|event| match event {
        Event::Start(Tag::Image { .. }) => {
            in_picture = true;
            false
        }
        Event::End(TagEnd::Image) => {
            in_picture = false;
            false
        }
        Event::Start(Tag::Link { .. }) | Event::End(TagEnd::Link) => false,
        // The manual holds no HTML; nothing may come in that way.
        Event::Html(_) | Event::InlineHtml(_) => false,
        _ => !in_picture,
    });
    let mut out = String::new();
    pulldown_cmark::html::push_html(&mut out, plain);
    // Tables and examples may be wider than a phone; what scrolls can be reached by keyboard.
    out.replace("<pre>", "<pre tabindex=\"0\">")
        .replace("<table>", "<div class=\"scroll\"><table>")
        .replace("</table>", "</table></div>")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_section_is_in_the_manual_and_stands_by_itself() {
        for help in [CUT, STRIKE, MICROPHONE, KEYS, NODES, RAILS, COPIES, DEVICES, HAND] {
            let html = to_html(section(&help));
            assert!(html.len() > 100, "{}: {html}", help.heading);
            assert!(!html.contains("<a ") && !html.contains("<img") && !html.contains("style="), "{}", help.heading);
        }
    }

    #[test]
    fn links_lose_their_address_and_pictures_go() {
        let html = to_html("See [the record](record.md). ![A picture](p.png)\n\n<script>x</script>");
        assert_eq!(html.trim(), "<p>See the record. </p>");
    }
}
