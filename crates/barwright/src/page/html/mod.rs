//! The page as markup. Every function takes values and returns markup; nothing here asks the bench.
mod actions;
mod advice;
mod bench;
mod heard;
mod layout;
mod marks;
mod motion;
mod record;

pub use bench::bench_page;
pub use layout::words_page;
