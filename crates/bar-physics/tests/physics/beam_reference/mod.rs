//! The beam models against closed forms, the reference tables, and properties of the theory.
mod bars;
mod properties;
mod refusals;
mod sensitivity;
mod torsion;
mod undercut;
mod uniform;

/// A table of the reference folder as rows of cells, quoted cells kept whole.
pub(crate) fn table(name: &str) -> Vec<Vec<String>> {
    let path = format!("{}/../../reference/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    text.lines().skip(1).map(cells).collect()
}

pub(crate) fn cells(line: &str) -> Vec<String> {
    let mut row = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(String::new()),
            _ => row.last_mut().unwrap().push(letter),
        }
    }
    row
}

pub(crate) fn number(cell: &str) -> f64 {
    cell.trim().parse().unwrap_or_else(|_| panic!("{cell:?} is not a number"))
}

pub(crate) fn numbers(cell: &str) -> Vec<f64> {
    cell.split_whitespace().map(number).collect()
}

#[track_caller]
pub(crate) fn check_relative(what: &str, got: f64, want: f64, tolerance: f64) {
    let error = (got / want - 1.0).abs();
    assert!(error <= tolerance, "{what}: {got} against {want}, relative {error:.2e} > {tolerance:.0e}");
}

#[track_caller]
pub(crate) fn check_absolute(what: &str, got: f64, want: f64, tolerance: f64) {
    let error = (got - want).abs();
    assert!(error <= tolerance, "{what}: {got} against {want}, off by {error:.2e} > {tolerance:.0e}");
}
