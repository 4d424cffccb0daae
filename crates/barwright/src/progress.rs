//! Progress of long work, on stderr; indicatif shows none where stderr is no terminal.
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar that counts in `unit`, up to `length` if that is known.
pub(crate) fn bar(length: Option<u64>, unit: &str) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(length, ProgressDrawTarget::stderr());
    let form = if length.is_some() {
        format!("{{bar:40}} {{pos}} of {{len}} {unit}, {{eta}} left")
    } else {
        format!("{{spinner}} {{pos}} {unit}")
    };
    // Should the template ever be wrong, the plain bar serves as well.
    match ProgressStyle::with_template(&form) {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

/// Tells a bar where the work is, for work that learns its length on the way.
pub(crate) fn at(bar: &ProgressBar, done: usize, all: usize) {
    bar.set_length(all as u64);
    bar.set_position(done as u64);
}

/// A line that says what is being done, for work whose length nobody knows.
pub(crate) fn spinner() -> ProgressBar {
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    match ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

/// Says what is being done now.
pub(crate) fn say(bar: &ProgressBar, what: &str) {
    bar.set_message(what.to_owned());
    bar.tick();
}
