//! The `barwright` program.
fn main() {}
