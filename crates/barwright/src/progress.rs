//! Progress of long work, on stderr and only where somebody looks.
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar that appears only on a terminal.
pub(crate) fn bar(doing: &'static str) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    if let Ok(style) = ProgressStyle::with_template("{prefix} [{bar:30}] {pos}/{len}, {eta} left") {
        bar.set_style(style);
    }
    bar.set_prefix(doing);
    bar
}

/// Tells a bar where the work is.
pub(crate) fn at(bar: &ProgressBar, done: usize, all: usize) {
    bar.set_length(all as u64);
    bar.set_position(done as u64);
}
