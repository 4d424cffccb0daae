//! Answers as text tables and as JSON.
pub mod arch;
pub mod assign;
pub mod bouts;
pub mod calendar;
pub mod certificate;
pub mod changes;
pub mod check;
pub mod climate;
pub mod cutlist;
pub mod drill;
pub mod fine;
pub mod frame;
pub mod listen;
pub mod members;
pub mod modes;
pub mod motion;
pub mod next;
pub mod pictures;
pub mod plan;
pub mod record;
pub mod rehearse;
pub mod rescue;
pub mod retune;
pub mod salt;
pub mod salt_list;
pub mod saw;
pub mod shapes;
pub mod stock;
pub mod take;
pub mod tubes;
pub mod units;

/// A table with two spaces between columns and no lines; every value has its own words or unit.
pub(crate) fn table() -> comfy_table::Table {
    let mut table = comfy_table::Table::new();
    table.load_style(comfy_table::presets::NOTHING);
    table
}
