//! The manual, carried inside the program: its pages, its pictures, and what of it answers a question. It is `docs/`, word for word.
mod find;
mod html;

pub use find::{Found, find};
pub use html::{anchor, section_html, whole_html};

/// A page of the manual.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Page {
    /// Its name in addresses: `tubes` for docs/tubes.md.
    pub name: &'static str,
    /// For whom it is, as a group of the contents.
    pub part: Part,
    /// Its text, CommonMark with tables.
    pub text: &'static str,
}

/// A group of the contents.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// To begin with.
    Begin,
    /// Stage by stage, in the order of the work.
    Stages,
    /// To look things up.
    LookUp,
    /// How and how well it works.
    Inside,
}

impl Part {
    /// All, in order.
    pub const ALL: [Self; 4] = [Self::Begin, Self::Stages, Self::LookUp, Self::Inside];

    /// As the contents say it.
    pub fn title(self) -> &'static str {
        match self {
            Self::Begin => "To begin with",
            Self::Stages => "Stage by stage",
            Self::LookUp => "To look up",
            Self::Inside => "How it works, and how well",
        }
    }
}

impl Page {
    /// Its first heading.
    pub fn title(&self) -> &'static str {
        self.text.lines().find_map(|line| line.strip_prefix("# ")).unwrap_or(self.name)
    }

    /// Its sections as heading and text, what stands before the first under the page's own heading.
    pub fn sections(&self) -> impl Iterator<Item = (&'static str, &'static str)> {
        let mut parts = self.text.split("\n## ");
        let first = parts.next().unwrap_or("").split_once('\n').map_or("", |(_, body)| body);
        std::iter::once((self.title(), first)).chain(parts.map(|part| part.split_once('\n').unwrap_or((part, ""))))
    }
}

macro_rules! pages {
    ($($part:ident: $($name:literal),+;)+) => {
        /// Every page, in the order of the contents.
        pub const PAGES: &[Page] = &[$($(
            Page { name: $name, part: Part::$part, text: include_str!(concat!("../../../../docs/", $name, ".md")) },
        )+)+];
    };
}

pages! {
    Begin: "start", "tutorial", "sound-of-a-bar", "cautions";
    Stages: "planning", "wood", "cutlist", "arch", "saw", "bench", "cutting", "rescue", "frame", "fine", "tubes",
        "sheets", "certificate", "retuning", "climate";
    LookUp: "troubleshooting", "glossary", "command-line", "places", "lan", "record", "bar-file", "woods";
    Inside: "listening", "physics", "security", "reliability", "fuzzing";
}

/// The page of that name.
pub fn page(name: &str) -> Option<&'static Page> {
    PAGES.iter().find(|page| page.name == name)
}

macro_rules! pictures {
    ($($name:literal),+ $(,)?) => {
        /// A picture by its name: its bytes and media type.
        pub fn picture(name: &str) -> Option<(&'static [u8], &'static str)> {
            let bytes: &'static [u8] = match name {
                $($name => include_bytes!(concat!("../../../../docs/pictures/", $name)),)+
                _ => return None,
            };
            Some((bytes, if name.ends_with(".svg") { "image/svg+xml" } else { "image/png" }))
        }
    };
}

pictures! {
    "arch.svg",
    "bench-answer.png",
    "bench-tablet.png",
    "cutting-descent.svg",
    "drill-page.png",
    "frame-page.png",
    "frame.png",
    "saw.svg",
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn docs() -> std::path::PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs")
    }

    #[test]
    fn every_page_of_the_folder_is_carried_and_has_a_heading() {
        for entry in std::fs::read_dir(docs()).unwrap().flatten() {
            let name = entry.file_name().into_string().unwrap();
            let Some(name) = name.strip_suffix(".md").filter(|name| *name != "README") else { continue };
            let page = page(name).unwrap_or_else(|| panic!("{name}.md is in no part of the manual"));
            assert_ne!(page.title(), page.name, "{name} has no first heading");
        }
    }

    #[test]
    fn every_link_and_picture_of_the_manual_leads_somewhere() {
        let mut links = 0;
        for from in PAGES {
            for (target, is_picture) in html::targets(from.text) {
                if target.starts_with("http") || target.starts_with("../") || target.ends_with(".json") {
                    continue;
                }
                links += 1;
                if is_picture {
                    let name = target.strip_prefix("pictures/").unwrap_or(&target);
                    assert!(picture(name).is_some(), "{}: picture {target} is not carried", from.name);
                    continue;
                }
                let (file, place) = target.split_once('#').unwrap_or((&target, ""));
                let to = if file.is_empty() { Some(from) } else { file.strip_suffix(".md").and_then(page) };
                let to = to.unwrap_or_else(|| panic!("{}: no page {target}", from.name));
                let headings: Vec<String> = html::headings(to.text).iter().map(|words| anchor(words)).collect();
                assert!(place.is_empty() || headings.iter().any(|known| known == place), "{}: {target}", from.name);
            }
        }
        assert!(links > 40, "{links}");
    }
}
