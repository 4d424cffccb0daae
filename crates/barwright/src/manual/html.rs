//! The manual as markup: CommonMark without HTML in it, links between pages, headings that can be linked to.
#[cfg(test)]
use pulldown_cmark::HeadingLevel;
use pulldown_cmark::{CowStr, Event, Options, Parser, Tag, TagEnd};

/// Where links and pictures lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Links {
    /// To the manual's pages at `/manual/…`.
    Kept,
    /// Nowhere: a section by itself, folded beside a step.
    Dropped,
}

/// A page, with its first heading.
pub fn whole_html(text: &str) -> String {
    to_html(text, Links::Kept)
}

/// A section by itself: words of links without the links, and no pictures.
pub fn section_html(text: &str) -> String {
    to_html(text, Links::Dropped)
}

/// A heading's place in its page, as most readers of Markdown make it: small letters and figures, everything else a hyphen or nothing.
pub fn anchor(heading: &str) -> String {
    let kept = heading.chars().filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
    kept.flat_map(char::to_lowercase).map(|c| if c == ' ' { '-' } else { c }).collect()
}

/// The address inside the program of what a page links to; `None` for what the program does not carry.
fn address(target: &str) -> Option<String> {
    if target.starts_with('#') || target.starts_with("https://") {
        return Some(target.to_owned());
    }
    let (file, place) = target.split_once('#').unwrap_or((target, ""));
    let page = super::page(file.strip_suffix(".md")?)?;
    let place = if place.is_empty() { String::new() } else { format!("#{place}") };
    Some(format!("/manual/{}{place}", page.name))
}

fn to_html(markdown: &str, links: Links) -> String {
    let mut events: Vec<Event<'_>> = Vec::new();
    let (mut in_picture, mut dropped) = (false, 0_usize);
    for event in Parser::new_ext(markdown, Options::ENABLE_TABLES) {
        match event {
            Event::Start(Tag::Image { .. }) if links == Links::Dropped => in_picture = true,
            Event::End(TagEnd::Image) if links == Links::Dropped => in_picture = false,
            Event::Start(Tag::Image { link_type, dest_url, title, id }) => {
                let dest_url = CowStr::from(format!("/manual/{dest_url}"));
                events.push(Event::Start(Tag::Image { link_type, dest_url, title, id }));
            }
            Event::Start(Tag::Link { link_type, dest_url, title, id }) => {
                match address(&dest_url).filter(|_| links == Links::Kept) {
                    Some(to) => events.push(Event::Start(Tag::Link { link_type, dest_url: to.into(), title, id })),
                    None => dropped += 1,
                }
            }
            // Links never stand inside each other, so the last one begun is the one that ends.
            Event::End(TagEnd::Link) if dropped > 0 => dropped -= 1,
            // The manual holds no HTML; nothing may come in that way.
            Event::Html(_) | Event::InlineHtml(_) => {}
            event if !in_picture => events.push(event),
            _ => {}
        }
    }
    name_headings(&mut events);
    let mut out = String::new();
    pulldown_cmark::html::push_html(&mut out, events.into_iter());
    // Tables and examples may be wider than a phone; what scrolls can be reached by keyboard.
    out.replace("<pre>", "<pre tabindex=\"0\">")
        // A column that needs no heading has no heading.
        .replace("<th></th>", "<td></td>")
        .replace("<table>", "<div class=\"scroll\" tabindex=\"0\"><table>")
        .replace("</table>", "</table></div>")
}

fn name_headings(events: &mut [Event<'_>]) {
    for at in 0..events.len() {
        let words = words_until_end(&events[at..]);
        if let Event::Start(Tag::Heading { id, .. }) = &mut events[at] {
            *id = Some(anchor(&words).into());
        }
    }
}

/// The words of the heading that begins here; nothing elsewhere.
fn words_until_end(events: &[Event<'_>]) -> String {
    if !matches!(events.first(), Some(Event::Start(Tag::Heading { .. }))) {
        return String::new();
    }
    let inside = events.iter().take_while(|event| !matches!(event, Event::End(TagEnd::Heading(_))));
    inside
        .filter_map(|event| if let Event::Text(text) | Event::Code(text) = event { Some(&**text) } else { None })
        .collect()
}

/// A line of a page as it is read, without the marks of links and emphasis.
pub(super) fn words(line: &str) -> String {
    // A heading or a row of a table by itself is a line of text like any other.
    let text = |event| if let Event::Text(text) | Event::Code(text) = event { Some(text.into_string()) } else { None };
    Parser::new(line.trim_start_matches(['#', ' ', '-', '>'])).filter_map(text).collect()
}

/// Every heading below the first, as its words.
#[cfg(test)]
pub(super) fn headings(text: &str) -> Vec<String> {
    let events: Vec<Event<'_>> = Parser::new_ext(text, Options::ENABLE_TABLES).collect();
    let below =
        |event: &Event<'_>| matches!(event, Event::Start(Tag::Heading { level, .. }) if *level != HeadingLevel::H1);
    (0..events.len()).filter(|at| below(&events[*at])).map(|at| words_until_end(&events[at..])).collect()
}

/// Where its links and pictures lead, and which are pictures.
#[cfg(test)]
pub(super) fn targets(text: &str) -> Vec<(String, bool)> {
    let target = |event: Event<'_>| match event {
        Event::Start(Tag::Link { dest_url, .. }) => Some((dest_url.into_string(), false)),
        Event::Start(Tag::Image { dest_url, .. }) => Some((dest_url.into_string(), true)),
        _ => None,
    };
    Parser::new_ext(text, Options::ENABLE_TABLES).filter_map(target).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_section_by_itself_has_no_links_and_no_pictures() {
        let html = section_html("See [the record](record.md). ![A picture](p.png)\n\n<script>x</script>");
        assert_eq!(html.trim(), "<p>See the record. </p>");
    }

    #[test]
    fn a_page_links_to_pages_and_pictures_inside_the_program_and_to_nothing_it_lacks() {
        let html =
            whole_html("# T\n\n## The `--even` way\n\n[r](record.md#safe) [e](../examples/) ![P](pictures/arch.svg)");
        assert!(html.contains(r#"<a href="/manual/record#safe">r</a>"#), "{html}");
        assert!(html.contains(" e ") && html.contains(r#"src="/manual/pictures/arch.svg""#), "{html}");
        assert!(html.contains(r#"<h2 id="the---even-way">"#), "{html}");
        assert!(!whole_html("<script>x</script>\n\na <b>c</b>").contains("<script"));
    }
}
