//! An instrument's frame: node lines of its bars, how it is to be, how it stands — and what follows from these.
//!
//! Shared by the command line and the page; what is decided is decided in [`making::frame`].
mod from_record;
mod node_row;
mod pitch;
mod rails;

pub use from_record::node_rows;
pub use node_row::NodeRow;
pub use pitch::drilling_cents;
pub use rails::{built_rows, rail_records};

use crate::convert;
use crate::error::Refused;
use jiff::Timestamp;
use making::frame::{
    self, BuiltRow, DrillTask, DrilledBar, FacesPlayer, FramePlan, FrameTask, Gap, Members, MembersTask, Row,
};
use records::workshop::{Body, DrilledRecord, FrameBuiltRecord, FramePlanRecord, HoleRecord, Uid, Workshop};

/// All that is known of a frame.
#[derive(Debug, Clone)]
pub struct Framed {
    /// Its bars, bass to treble.
    pub rows: Vec<NodeRow>,
    /// How it is to be.
    pub plan: FramePlanRecord,
    /// How its rails were found to stand, and when that was entered.
    pub built: Option<(FrameBuiltRecord, Timestamp)>,
}

impl Framed {
    /// Of an instrument of the record.
    ///
    /// # Errors
    /// [`Refused`] as [`node_rows`]; if the record cannot be read.
    pub fn of_record(workshop: &Workshop, instrument: Uid, name: &str) -> Result<Self, Refused> {
        let state = workshop.frame(instrument)?;
        Ok(Self {
            rows: node_rows(workshop, instrument, name)?,
            plan: state.plan.unwrap_or_default(),
            built: state.built,
        })
    }

    /// What is to be laid out.
    ///
    /// # Errors
    /// [`Refused`] `no_such_bar` where the rails bend after a bar that is not there.
    pub fn task(&self) -> Result<FrameTask, Refused> {
        let plan = &self.plan;
        Ok(FrameTask {
            bars: self.rows.iter().map(|row| row.bar(plan.sigma_mm)).collect(),
            gap: Gap { between_m: plan.gap_mm * 1e-3 },
            one_row: plan.one_row,
            outer_share: (plan.outer_share[0], plan.outer_share[1]),
            fairness: plan.fairness,
            overlap_m: plan.overlap_mm * 1e-3,
            bend_after: plan.bend_after.iter().map(|note| self.index_of(note)).collect::<Result<_, _>>()?,
            symmetric: plan.symmetric,
            by_hand: built_rows(&plan.by_hand),
        })
    }

    fn index_of(&self, note: &str) -> Result<usize, Refused> {
        let wanted: records::Note = note.parse()?;
        let at = |row: &NodeRow| row.note.semitones_above_a4() == wanted.semitones_above_a4();
        self.rows.iter().position(at).ok_or_else(|| {
            Refused::new(
                "no_such_bar",
                format!("there is no {wanted} among the bars"),
                "name a bar that is in the list",
            )
        })
    }

    /// The frame as planned.
    ///
    /// # Errors
    /// [`Refused`] as [`frame::lay_frame`].
    pub fn laid(&self) -> Result<FramePlan, Refused> {
        Ok(frame::lay_frame(&self.task()?)?)
    }

    /// The bars on the rails that stand; `None` before these were measured.
    ///
    /// # Errors
    /// [`Refused`] as [`frame::on_built`].
    pub fn standing(&self) -> Result<Option<FramePlan>, Refused> {
        let Some((built, _)) = &self.built else { return Ok(None) };
        self.on(&built_rows(&built.rails), built.sigma_mm * 1e-3).map(Some)
    }

    /// The bars on these rails.
    ///
    /// # Errors
    /// [`Refused`] as [`frame::on_built`].
    pub fn on(&self, rails: &[BuiltRow], sigma_m: f64) -> Result<FramePlan, Refused> {
        Ok(frame::on_built(&self.task()?, rails, sigma_m)?)
    }

    /// Every bar's holes on the rails of `plan`, bass to treble.
    ///
    /// # Errors
    /// [`Refused`] as [`frame::drill`].
    pub fn holes(&self, plan: &FramePlan) -> Result<Vec<DrilledBar>, Refused> {
        let task = self.drill_task();
        let mut bars = Vec::new();
        for row in &plan.rows {
            let of = |index: usize| self.row(&row.bars[index].bar.name);
            bars.extend(frame::drill(row, task, |index, places_m| of(index)?.least_thickness_m(places_m))?);
        }
        bars.sort_by_key(|bar| self.rows.iter().position(|row| row.note.to_string() == bar.name));
        Ok(bars)
    }

    /// Puts bars that were marked on the standing frame in place of what the rails say; returns for each its name and how far
    /// its marks lie off the rails' cords at most, in millimetres.
    ///
    /// # Errors
    /// [`Refused`] `no_such_bar` for a marked bar that is not in the chart; as [`frame::drill_marked`].
    pub fn mark(&self, chart: &mut [DrilledBar], marked: &[NodeRow]) -> Result<Vec<(String, f64)>, Refused> {
        let mut told = Vec::new();
        for (row, marks) in marked.iter().filter_map(|row| Some((row, row.nodes?))) {
            let known = &self.rows[self.index_of(&row.note.to_string())?];
            let name = known.note.to_string();
            let Some(bar) = chart.iter_mut().find(|bar| bar.name == name) else { continue };
            let size_m = [convert::mm(known.length_mm), convert::mm(known.width_mm)];
            let thickness = |places_m| known.least_thickness_m(places_m);
            let by_marks = frame::drill_marked((&name, bar.row), size_m, marks, self.drill_task(), thickness)?;
            let apart = bar.holes.iter().zip(&by_marks.holes).flat_map(|(rails, marks)| {
                [0, 1].map(|side| (rails.from_player_end_m[side] - marks.from_player_end_m[side]).abs() * 1e3)
            });
            told.push((name, apart.fold(0.0, f64::max)));
            *bar = by_marks;
        }
        Ok(told)
    }

    fn drill_task(&self) -> DrillTask {
        DrillTask {
            below_top_m: self.plan.below_top_mm * 1e-3,
            diameter_m: self.plan.diameter_mm * 1e-3,
            faces: FacesPlayer::LeftEnd,
        }
    }

    /// The event of drilling that bar by the chart, and the bar it happens to.
    ///
    /// # Errors
    /// [`Refused`] `no_such_bar`; `read_again` for a bar that must not be drilled yet; `drilled_already`.
    pub fn drilled(&self, chart: &[DrilledBar], note: &str) -> Result<(Uid, Body), Refused> {
        let row = &self.rows[self.index_of(note)?];
        let name = row.note.to_string();
        let (Some((uid, _)), Some(bar)) = (&row.of_record, chart.iter().find(|bar| bar.name == name)) else {
            return Err(Refused::new(
                "no_such_bar",
                format!("{name} is not in the record"),
                "name a bar that is in the list",
            ));
        };
        if row.drilled {
            let hint = "correct its entry if its holes are elsewhere: barwright bar LABEL history, then correct";
            return Err(Refused::new("drilled_already", format!("{name} is entered as drilled"), hint));
        }
        if bar.interpolated || bar.misread {
            let what = if bar.interpolated { "has not been read with salt" } else { "does not belong to its row" };
            return Err(Refused::new(
                "read_again",
                format!("the chart must not be used for {name}: it {what}"),
                "salt it and read it again; if it was drilled otherwise, enter where: barwright bar LABEL drilled",
            ));
        }
        let mm = |m: f64| convert::rounded(m * 1e3, 2);
        let hole = |hole: &frame::Hole| HoleRecord {
            near_mm: mm(hole.bench_m[0]),
            far_mm: mm(hole.bench_m[1]),
            below_top_mm: self.plan.below_top_mm,
        };
        let holes = bar.holes.iter().map(hole).collect();
        Ok((*uid, Body::Drilled(DrilledRecord { diameter_mm: self.plan.diameter_mm, holes, why: None })))
    }

    /// The bar of that name.
    pub fn row(&self, name: &str) -> Option<&NodeRow> {
        self.rows.iter().find(|row| row.note.to_string() == name)
    }

    /// What the frame of `plan` is made of.
    ///
    /// # Errors
    /// [`Refused`] as [`frame::members`].
    pub fn members(&self, plan: &FramePlan) -> Result<Members, Refused> {
        let said = &self.plan;
        let naturals = plan.rows.iter().filter(|row| row.row == Row::Natural).flat_map(|row| &row.bars);
        // Accidentals lie over the naturals' far ends.
        let far_end = |row: &NodeRow| row.thickness_mm.last().map(|(_, thickness_mm)| convert::mm(*thickness_mm));
        let thickest = naturals.filter_map(|bar| far_end(self.row(&bar.bar.name)?)).reduce(f64::max);
        let task = MembersTask {
            rail_thickness_m: convert::mm(said.rail_thickness_mm),
            rail_height_m: convert::mm(said.rail_height_mm),
            end_board_m: convert::mm(said.end_board_mm),
            post_m: convert::mm(said.post_mm),
            raise_m: convert::mm(said.raise_mm),
            thickest_natural_m: thickest,
        };
        Ok(frame::members(plan, &self.task()?, &task)?)
    }
}

/// How far the cord lines that stand lie off those planned, at the worst place under a bar, in millimetres.
pub fn most_moved_mm(planned: &FramePlan, standing: &FramePlan) -> Option<f64> {
    let of_row = |stands: &frame::RowFit| {
        let was = planned.rows.iter().find(|row| row.row == stands.row)?;
        let at = |x_m: f64| [0, 1].map(|rail| (stands.rails[rail].y_at(x_m) - was.rails[rail].y_at(x_m)).abs());
        stands.bars.iter().flat_map(|bar| at(bar.bar.centre_x_m)).reduce(f64::max)
    };
    standing.rows.iter().filter_map(of_row).reduce(f64::max).map(|m| m * 1e3)
}
