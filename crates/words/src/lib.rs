//! What sheets say, in the language of who reads them: one catalogue a language (`texts/*.ftl`, Fluent syntax 1.0), decimal marks, names of notes.
//!
//! * [`in_language`] — sets the language for a piece of work on this thread; English without it
//! * [`tell!`] — a text of the catalogue; [`number`], [`note`] — figures and notes as that language writes them
//!
//! It knows nothing of bars, drawings or pages.
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource};
use std::cell::Cell;
use std::sync::OnceLock;

pub use fluent_bundle::FluentValue;

/// A language with a whole catalogue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English, decimal points, B and B♭.
    #[default]
    English,
    /// German, decimal commas, H and B.
    German,
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::English, Self::German];

    /// Its tag (BCP 47).
    pub fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
        }
    }

    /// Its own name for itself.
    pub fn own_name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::German => "Deutsch",
        }
    }

    /// The language of that tag.
    pub fn of_tag(tag: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|language| language.tag() == tag)
    }

    /// Its catalogue as it is kept.
    pub fn catalogue(self) -> &'static str {
        match self {
            Self::English => include_str!("../texts/en.ftl"),
            Self::German => include_str!("../texts/de.ftl"),
        }
    }

    fn bundle(self) -> &'static FluentBundle<FluentResource> {
        static ENGLISH: OnceLock<FluentBundle<FluentResource>> = OnceLock::new();
        static GERMAN: OnceLock<FluentBundle<FluentResource>> = OnceLock::new();
        let kept = match self {
            Self::English => &ENGLISH,
            Self::German => &GERMAN,
        };
        kept.get_or_init(|| bundle(self))
    }
}

fn bundle(language: Language) -> FluentBundle<FluentResource> {
    let tags = language.tag().parse().into_iter().collect();
    let mut bundle = FluentBundle::new_concurrent(tags);
    // Marks of direction would stand as boxes on paper; no catalogue here is written from the right.
    bundle.set_use_isolating(false);
    // What cannot be read of a catalogue is missing from it; the tests ask for every line.
    let resource = FluentResource::try_new(language.catalogue().to_owned()).unwrap_or_else(|(resource, _)| resource);
    bundle.add_resource_overriding(resource);
    bundle
}

thread_local! {
    static SPOKEN: Cell<Language> = const { Cell::new(Language::English) };
}

/// The language of this thread.
pub fn language() -> Language {
    SPOKEN.get()
}

/// Does `work` with texts, figures and notes of that language, on this thread; threads that it starts speak English.
pub fn in_language<T>(language: Language, work: impl FnOnce() -> T) -> T {
    /// Sets it back, whatever happens.
    struct Before(Language);
    impl Drop for Before {
        fn drop(&mut self) {
            SPOKEN.set(self.0);
        }
    }
    let _before = Before(SPOKEN.replace(language));
    work()
}

/// The text of that name with its values; the name itself where no catalogue has it, so that nothing is silently left out.
///
/// Use [`tell!`].
pub fn text(name: &str, values: &[(&'static str, FluentValue<'_>)]) -> String {
    let mut arguments = FluentArgs::new();
    for (key, value) in values {
        arguments.set(*key, value.clone());
    }
    let of = |language: Language| {
        let bundle = language.bundle();
        let pattern = bundle.get_message(name)?.value()?;
        let mut errors = Vec::new();
        let text = bundle.format_pattern(pattern, Some(&arguments), &mut errors).into_owned();
        errors.is_empty().then_some(text)
    };
    of(language()).or_else(|| of(Language::English)).unwrap_or_else(|| format!("[{name}]"))
}

/// A text of the catalogue: `tell!("page-of", number = 3, all = 7)`. Values are words, or whole numbers where a plural depends on them.
#[macro_export]
macro_rules! tell {
    ($name:literal $(, $key:ident = $value:expr)* $(,)?) => {
        $crate::text($name, &[$((stringify!($key), $crate::FluentValue::from($value))),*])
    };
}

/// A figure written with a decimal point, with this language's decimal mark.
pub fn number(figure: impl Into<String>) -> String {
    let figure = figure.into();
    match language() {
        Language::English => figure,
        Language::German => figure.replace('.', ","),
    }
}

/// A value to so many decimals, with this language's decimal mark and a true minus sign.
pub fn figure(value: f64, decimals: usize) -> String {
    number(format!("{value:.decimals$}").replace('-', "−"))
}

/// As [`figure`], with its sign.
pub fn figure_with_sign(value: f64, decimals: usize) -> String {
    number(format!("{value:+.decimals$}").replace('-', "−"))
}

/// The name of a note such as "C♯4" or "B♭3" as this language calls it: in German "Cis4", "B3" and "H3".
pub fn note(name: &str) -> String {
    if language() == Language::English {
        return name.to_owned();
    }
    let mut letters = name.chars();
    let Some(step) = letters.next().filter(|step| ('A'..='G').contains(step)) else { return name.to_owned() };
    let rest = letters.as_str();
    let (accidental, octave) = match rest.chars().next() {
        Some(mark @ ('♯' | '#' | '♭')) => (Some(mark), &rest[mark.len_utf8()..]),
        _ => (None, rest),
    };
    if !octave.is_empty() && octave.parse::<i32>().is_err() {
        return name.to_owned();
    }
    let called = match (step, accidental) {
        ('B', None) => "H".to_owned(),
        ('B', Some('♭')) => "B".to_owned(),
        ('B', Some(_)) => "His".to_owned(),
        ('E' | 'A', Some('♭')) => format!("{step}s"),
        (_, Some('♭')) => format!("{step}es"),
        (_, Some(_)) => format!("{step}is"),
        (_, None) => step.to_string(),
    };
    called + octave
}

#[cfg(test)]
mod tests;
