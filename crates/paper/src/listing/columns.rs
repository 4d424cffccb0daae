//! How wide each column is.
use super::{LINE, Table, wrapped};
use crate::lettering::width_mm;

/// Space between columns, in millimetres.
const GAP: f64 = 3.5;
/// Lettering is made no smaller than 10 pt to make a table fit.
const LEAST: f64 = 3.53;
/// Height of a row to write in.
const WRITING: f64 = 8.0;

/// A line of words is still easy to read when it is broken at this width.
const BROKEN: f64 = 75.0;

/// Widths of the columns and the lettering that fits.
pub(super) struct Columns {
    pub widths: Vec<f64>,
    pub size_mm: f64,
    free: bool,
}

fn widest<'a>(cells: impl Iterator<Item = &'a str>, size: f64) -> f64 {
    cells.map(|cell| width_mm(cell, size)).fold(0.0, f64::max)
}

/// (all in one line, longest word) of each column.
fn wishes(table: &Table, size: f64) -> Vec<(f64, f64)> {
    table
        .columns
        .iter()
        .enumerate()
        .map(|(i, column)| {
            let cells = || table.rows.iter().filter_map(move |row| row.get(i)).map(String::as_str);
            let free = f64::from(column.free_mm.unwrap_or(0));
            // A head may always be broken.
            let head = widest(column.head.split_whitespace(), size);
            let words = widest(cells().flat_map(str::split_whitespace), size).max(head).max(free);
            (widest(cells().flat_map(|cell| cell.split('\n')), size).max(words), words)
        })
        .collect()
}

impl Columns {
    /// Width of a table whose figures all stand in one line; words are broken at [`BROKEN`] without harm.
    pub fn natural_mm(table: &Table, size: f64) -> f64 {
        let wish = |((whole, words), column): (&(f64, f64), &super::Column)| {
            if column.figures { *whole } else { whole.min(BROKEN).max(*words) }
        };
        let sum: f64 = wishes(table, size).iter().zip(&table.columns).map(wish).sum();
        sum + GAP * (table.columns.len() - 1) as f64
    }

    /// Columns that fit into `width`: as wide as they wish, else the widest ones broken, else smaller lettering; what is left goes to columns to write in.
    pub fn of(table: &Table, width: f64, size: f64) -> Self {
        let free = table.columns.iter().any(|column| column.free_mm.is_some());
        let room = width - GAP * (table.columns.len() - 1) as f64;
        let mut size_mm = size;
        loop {
            let wishes = wishes(table, size_mm);
            let least: f64 = wishes.iter().map(|(_, words)| words).sum();
            if least <= room || size_mm <= LEAST {
                return Self { widths: Self::shared(table, &wishes, (room, size_mm)), size_mm, free };
            }
            size_mm = (size_mm - 0.1).max(LEAST);
        }
    }

    /// What is left goes to heads that would be broken, then to columns to write in.
    fn spare(table: &Table, wishes: &[(f64, f64)], (spare, size_mm): (f64, f64)) -> Vec<f64> {
        let more: Vec<f64> = wishes
            .iter()
            .zip(&table.columns)
            .map(|((whole, _), column)| (width_mm(&column.head, size_mm) - whole).max(0.0))
            .collect();
        let wanted: f64 = more.iter().sum();
        let share = if wanted > 0.0 { (spare / wanted).min(1.0) } else { 0.0 };
        // A head that is still broken gains nothing by a little more room.
        let share = if share < 1.0 { 0.0 } else { share };
        let frees = table.columns.iter().filter(|column| column.free_mm.is_some()).count();
        let free = if frees > 0 { (spare - share * wanted) / frees as f64 } else { 0.0 };
        let width =
            |i: usize| wishes[i].0 + share * more[i] + if table.columns[i].free_mm.is_some() { free } else { 0.0 };
        (0..wishes.len()).map(width).collect()
    }

    fn shared(table: &Table, wishes: &[(f64, f64)], (room, size_mm): (f64, f64)) -> Vec<f64> {
        let whole: f64 = wishes.iter().map(|(whole, _)| whole).sum();
        if whole <= room {
            return Self::spare(table, wishes, (room - whole, size_mm));
        }
        // No column wider than a cap that makes all fit, none narrower than its longest word.
        let (mut low, mut high) = (0.0, room);
        let at = |cap: f64| wishes.iter().map(move |(whole, words)| whole.min(cap).max(*words));
        for _ in 0..60 {
            let cap = 0.5 * (low + high);
            if at(cap).sum::<f64>() <= room { low = cap } else { high = cap }
        }
        at(low).collect()
    }

    pub fn left(&self, column: usize) -> f64 {
        self.widths[..column].iter().map(|width| width + GAP).sum()
    }

    pub fn right(&self, column: usize) -> f64 {
        self.left(column) + self.widths[column]
    }

    /// Height of a row.
    pub fn height(&self, cells: &[String]) -> f64 {
        let lines = self.widths.iter().zip(cells).map(|(width, cell)| wrapped(cell, *width, self.size_mm).len()).max();
        let words = lines.unwrap_or(1).max(1) as f64 * LINE * self.size_mm + 1.4;
        if self.free { words.max(WRITING) } else { words }
    }
}
