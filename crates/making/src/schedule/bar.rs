//! One bar of the plan: what it shall be, and the arch that makes it so.
use crate::arch::{Arch, ArchTask, Design, design};
use crate::error::MakingError;
use crate::frame::{NodeLines, Row};
use crate::schedule::Specification;
use crate::torsion::{NearMode, neighbours};
use crate::{Limits, Targets};
use bar_physics::{Bar, Grain, Underside, Wanted, modes_that_stand_out};

/// What a bar shall be.
#[derive(Debug, Clone, PartialEq)]
pub struct WantedBar {
    /// Its note as a MIDI number.
    pub midi: i32,
    /// Its note.
    pub name: String,
    /// Its row.
    pub row: Row,
    /// Frequency of the note.
    pub hz: f64,
    /// Length, no longer than the longest blank.
    pub length_m: f64,
    /// Length by the law.
    pub law_length_m: f64,
    /// Width.
    pub width_m: f64,
    /// Thickness of the blank.
    pub thickness_m: f64,
    /// Ratios of the tuned modes to the note.
    pub ratios: Vec<f64>,
}

impl WantedBar {
    /// Volume of the planed blank.
    pub fn blank_m3(&self) -> f64 {
        self.length_m * self.width_m * self.thickness_m
    }

    /// The task of its arch; finished, without headroom.
    ///
    /// # Errors
    /// An impossible size.
    pub fn task(&self, specification: &Specification) -> Result<ArchTask, MakingError> {
        let flat = Underside::flat(self.length_m, self.thickness_m)?;
        let blank = Bar::new(self.width_m, flat, specification.wood.clone(), Grain::default());
        let targets = Targets { ratios: self.ratios.clone(), headroom_cents: 0.0 };
        let limits = Limits { min_thickness_m: specification.min_thickness_m };
        Ok(ArchTask::usual(&blank, self.hz, &targets, limits))
    }
}

/// A bar that can be made.
#[derive(Debug, Clone)]
pub struct Made {
    /// Its arch.
    pub arch: Arch,
    /// Mass of the finished bar, holes not counted.
    pub mass_kg: f64,
    /// Node lines of bending 1, from the end that faces the player.
    pub nodes: NodeLines,
    /// The torsion mode nearest to a tuned mode, of the first two.
    pub torsion: Option<NearMode>,
}

/// A bar of the plan.
#[derive(Debug, Clone)]
pub struct PlannedBar {
    /// What it shall be.
    pub wanted: WantedBar,
    /// What became of it; the error says why it cannot be made.
    pub made: Result<Made, MakingError>,
}

/// Plans one bar: its arch, mass, nodes and torsion by the full solid.
pub fn plan_bar(specification: &Specification, wanted: &WantedBar) -> PlannedBar {
    PlannedBar { wanted: wanted.clone(), made: make(specification, wanted) }
}

fn make(specification: &Specification, wanted: &WantedBar) -> Result<Made, MakingError> {
    let task = wanted.task(specification)?;
    match design(&task)? {
        Design::Found(arch) => made(specification, wanted, &task, arch),
        Design::OutOfReach(out) => Err(out.error),
    }
}

/// What the bar is with that arch.
fn made(specification: &Specification, wanted: &WantedBar, task: &ArchTask, arch: Arch) -> Result<Made, MakingError> {
    let bar = Bar { underside: arch.underside.clone(), ..task.blank.clone() };
    let modes = modes_that_stand_out(&bar, Wanted { bending: wanted.ratios.len(), torsion: 2, sideways: 0 })?;
    let lines = modes.bending.first().map(|mode| mode.node_lines.as_slice());
    let Some([left, right]) = lines else {
        let message = format!("bending 1 of {} has no two node lines", wanted.name);
        return Err(MakingError::new("not_computable", message, "check the size of the bar"));
    };
    let nodes = NodeLines { player_m: [left.near_m, left.far_m], away_m: [right.near_m, right.far_m] };
    let near = neighbours(&modes, wanted.ratios.len());
    let torsion = near.into_iter().min_by(|a, b| a.cents.abs().total_cmp(&b.cents.abs()));
    let mass_kg = specification.wood.density_kg_m3 * wanted.width_m * side_view_m2(&arch.underside);
    Ok(Made { arch, mass_kg, nodes, torsion })
}

/// Area of the side view, by trapezoids.
fn side_view_m2(underside: &Underside) -> f64 {
    let (x, t) = (underside.x_m(), underside.thickness_m());
    x.windows(2).zip(t.windows(2)).map(|(x, t)| (x[1] - x[0]) * f64::midpoint(t[0], t[1])).sum()
}
