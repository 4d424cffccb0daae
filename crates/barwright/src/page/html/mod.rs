//! The page as markup. Every function takes values and returns markup; nothing here asks the bench.
mod actions;
mod advice;
mod bars;
mod bench;
mod devices;
mod ear;
mod heard;
mod help;
mod history;
mod layout;
mod marks;
mod motion;
mod queue;
mod record;
mod salt;
mod settings;
mod workshop;

pub use bars::bars_page;
pub use bench::{Shown, bench_page};
pub use devices::{devices_page, pair_page};
pub use history::history_page;
pub use layout::words_page;
pub use queue::queue_page;
pub use salt::salt_page;
pub use settings::settings_page;
pub use workshop::workshop_page;
