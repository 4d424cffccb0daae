//! One consistent table of what moves which mode.
use super::PhysicsError;
use super::types::{Mode, Modes};
use crate::{Bar, Wood};

/// What one small change does to every mode of a kind.
#[derive(Debug, Clone, PartialEq)]
pub struct SensitivityRow {
    /// Stable name: `E_L`, `density`, `trim_left`, `underside`, `top`, `arch_length`, …
    pub name: &'static str,
    /// What is changed, and by how much.
    pub change: &'static str,
    /// Change in cents of each mode, in the order of the list given.
    pub cents: Vec<f64>,
}

/// A name, what changes, and the change itself.
type WoodChange = (&'static str, &'static str, fn(&mut Wood));

/// Every relative change of the wood by one per cent.
const WOOD_CHANGES: [WoodChange; 10] = [
    ("E_L", "+1 %", |w| w.e_l_pa *= 1.01),
    ("E_W", "+1 %", |w| w.e_w_pa *= 1.01),
    ("E_H", "+1 %", |w| w.e_h_pa *= 1.01),
    ("G_LW", "+1 %", |w| w.g_lw_pa *= 1.01),
    ("G_LH", "+1 %", |w| w.g_lh_pa *= 1.01),
    ("G_WH", "+1 %", |w| w.g_wh_pa *= 1.01),
    ("nu_LW", "+1 %", |w| w.nu_lw *= 1.01),
    ("nu_LH", "+1 %", |w| w.nu_lh *= 1.01),
    ("nu_WH", "+1 %", |w| w.nu_wh *= 1.01),
    ("density", "+1 %", |w| w.density_kg_m3 *= 1.01),
];

/// First-order changes of `list` (modes of `modes`) for every constant of the wood and every simple change of shape.
///
/// # Errors
/// [`PhysicsError::Geometry`] if the wood is impossible after a change.
pub fn sensitivity_table(bar: &Bar, modes: &Modes, list: &[Mode]) -> Result<Vec<SensitivityRow>, PhysicsError> {
    let mut rows = Vec::new();
    for (name, change, apply) in WOOD_CHANGES {
        let mut wood = bar.wood.clone();
        apply(&mut wood);
        let cents = list.iter().map(|m| m.stiffness_cents(bar, &wood)).collect::<Result<_, _>>()?;
        rows.push(SensitivityRow { name, change, cents });
    }
    let grid = &modes.grid_m;
    let centre_m = 0.5 * bar.length_m();
    let slope = |x: f64| {
        let step_m = 1e-4;
        (bar.underside.thickness_at(x + step_m) - bar.underside.thickness_at(x - step_m)) / (2.0 * step_m)
    };
    let mut shape_row = |name, change, cents: &dyn Fn(&Mode) -> f64| {
        rows.push(SensitivityRow { name, change, cents: list.iter().map(cents).collect() });
    };
    shape_row("trim_left", "1 mm off the left end", &|m| 1e-3 * m.end_trim_cents_per_m[0]);
    shape_row("trim_right", "1 mm off the right end", &|m| 1e-3 * m.end_trim_cents_per_m[1]);
    shape_row("underside", "0.1 mm off the whole underside", &|m| m.removal_cents(grid, |_| 1e-4));
    shape_row("top", "0.1 mm off the whole top face", &|m| m.top_removal_cents(grid, |_| 1e-4));
    shape_row("underside_far", "0.1 mm off the far edge of the underside, none off the near", &|m| {
        m.crooked_removal_cents(grid, |_| 0.0, |_| 1e-4)
    });
    // t(x) stretched by 1 % about the centre loses t′(x)·(x − centre)·1 %.
    shape_row("arch_length", "arch 1 % longer", &|m| m.removal_cents(grid, |x| 0.01 * slope(x) * (x - centre_m)));
    Ok(rows)
}
