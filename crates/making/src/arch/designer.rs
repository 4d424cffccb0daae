//! Sequential quadratic programming on the slopes of the arch, with the solid's own sensitivities.
//!
//! Each step linearises the tuned modes about the arch at hand and finds the slopes that bring them to
//! their aims at the least cost: little bending, gentle slopes, much wood at the centre (Nocedal & Wright
//! 2006, ch. 18). Far from the aim a coarse solid is good enough, the last steps use the full one.
use super::programme::{self, Row, add_square};
use super::slopes::{Grid, NODES, Slopes};
use super::{Arch, ArchTask, Design, OutOfReach};
use crate::error::MakingError;
use crate::qp::BoxQp;
use bar_physics::solid::{self, Resolution};
use bar_physics::units::cents;
use bar_physics::{Bar, Grain, Modes, Underside, Wanted};
use words::{figure, tell};

/// A mode this near its aim is there: a tenth of what can be measured.
const CLOSE_CENTS: f64 = 0.3;
/// What a careful maker can read: an arch this near is an answer when nothing nearer is found.
const READABLE_CENTS: f64 = 1.0;
/// Nearer than this the full solid takes over from the coarse one, whose own error is a few cents …
const FINE_CENTS: f64 = 12.0;
/// … once the shape moves by less than this in a step, metres.
const NEAR_M: f64 = 1.0e-3;
const COARSE_STEPS: usize = 9;
/// Fine steps without coming a tenth nearer before the arch counts as out of reach.
const PATIENCE: usize = 3;
/// An arch that stays this far off will not come near in a few more steps.
const FAR_CENTS: f64 = 40.0;
/// Largest change of thickness in one step, as a share of the thickness there.
const STEP_SHARE: f64 = 0.3;
/// Share of the thickness that a step may change freely: at first, from step to step, and at last.
const FIRST_REACH: f64 = 0.2;
const REACH_SHRINK: f64 = 0.7;
const LEAST_REACH: f64 = 0.02;

/// For steps far from the aim: within some 10 cents of the full solid at a quarter of its time.
const COARSE: Resolution = Resolution { order_along: 3, order_across: 3, order_through: 3, elements: 12 };

/// Weights of the cost, in units of the squared slope averaged along the arch.
mod weight {
    /// Of the squared change of slope over the whole half-length.
    pub const BEND: f64 = 0.02;
    /// Of the squared slope.
    pub const SLOPE: f64 = 1.0;
    /// Of the wood at the centre, as a share of the blank.
    pub const CENTRE: f64 = 0.2;
    /// Of the wood taken off in all, as a share of the blank over the longest arch.
    pub const AREA: f64 = 0.3;
    /// Of the squared distance from the shape to follow, in half-millimetres.
    pub const FOLLOW: f64 = 1.0;
    /// Distance from the shape to follow that counts as one, metres.
    pub const FOLLOW_M: f64 = 0.5e-3;
    /// What a usual arch costs.
    pub const USUAL_COST: f64 = 0.05;
    /// Miss of a mode that weighs as much as a slope of 1, cents.
    pub const MISS_CENTS: f64 = 0.1;
}

struct Designer<'a> {
    task: &'a ArchTask,
    grid: Grid,
    /// Depth per slope at each place of the solid's grid, and at the centre.
    depths: Vec<Slopes>,
    centre: Slopes,
    hold_hole: bool,
    solves: usize,
}

/// One arch with what the solid says of it.
#[derive(Clone)]
struct Trial {
    slopes: Slopes,
    underside: Underside,
    modes: Modes,
    misses: Vec<f64>,
}

impl Trial {
    fn worst(&self) -> f64 {
        self.misses.iter().fold(0.0, |a: f64, b| a.max(b.abs()))
    }
}

/// With wood enough at the hole if that can be; rather with less there than no arch at all (the layout tells it).
pub(super) fn design(task: &ArchTask) -> Result<Design, MakingError> {
    let mut designer = Designer::new(task);
    let start = designer.start();
    let best = designer.search(start)?;
    if best.worst() <= READABLE_CENTS {
        return Ok(Design::Found(designer.arch(&best)));
    }
    designer.hold_hole = false;
    let free = if designer.hole_binds(&best) { designer.search(best.slopes)? } else { best };
    if free.worst() <= READABLE_CENTS {
        return Ok(Design::Found(designer.arch(&free)));
    }
    let nearest = designer.arch(&free);
    let error = out_of_reach(task, &nearest);
    Ok(Design::OutOfReach(Box::new(OutOfReach { nearest, error })))
}

impl<'a> Designer<'a> {
    fn new(task: &'a ArchTask) -> Self {
        let half_m = 0.5 * task.blank.length_m();
        let (_, thickness_m) = task.blank.underside.thinnest();
        let grid = Grid { half_m, longest_m: half_m - task.limits.end_m, thickness_m };
        Self { task, grid, depths: Vec::new(), centre: grid.depths(0.0), hold_hole: true, solves: 0 }
    }

    fn start(&self) -> Slopes {
        if let Some(shape) = &self.task.follow {
            return self.grid.like(|u| shape.thickness_at(self.grid.half_m + u));
        }
        // The usual shape: somewhat under half the thickness, arch over 60 % of the length, cubic. Memory.
        let (h, a) = (self.grid.thickness_m, (0.6 * self.grid.half_m).min(self.grid.longest_m));
        let centre_m = (0.45 * h).max(self.task.limits.min_thickness_m);
        self.grid.like(|u| centre_m + (h - centre_m) * (u.abs() / a).min(1.0).powi(3))
    }

    /// Coarse steps from the start to near the aims, then fine ones until the modes are there or no step helps.
    fn search(&mut self, start: Slopes) -> Result<Trial, MakingError> {
        let mut here = self.trial(start, false)?;
        let mut reach = FIRST_REACH;
        let mut worst = Vec::new();
        for _ in 0..COARSE_STEPS {
            let (next, moved_m) = self.step(&here, reach);
            here = self.trial(next, false)?;
            reach = (REACH_SHRINK * reach).max(LEAST_REACH);
            worst.push(here.worst());
            if here.worst() < FINE_CENTS && moved_m < NEAR_M || is_stuck(&worst) {
                break;
            }
        }
        let mut best = self.trial(here.slopes, true)?;
        here = best.clone();
        let mut idle = if best.worst() > FAR_CENTS { PATIENCE - 1 } else { 0 };
        while best.worst() > CLOSE_CENTS && idle < PATIENCE {
            let (next, _) = self.step(&here, LEAST_REACH);
            here = self.trial(next, true)?;
            idle = if here.worst() < 0.9 * best.worst() { 0 } else { idle + 1 };
            if here.worst() < best.worst() {
                best = here.clone();
            }
        }
        Ok(best)
    }

    fn trial(&mut self, slopes: Slopes, fine: bool) -> Result<Trial, MakingError> {
        self.solves += 1;
        let underside = self.grid.underside(&slopes, self.task.limits.min_thickness_m)?;
        let mut bar = Bar { underside: underside.clone(), ..self.task.blank.clone() };
        let wanted = Wanted::bending(self.task.ratios.len());
        let modes = if fine {
            solid::modes(&bar, wanted)?
        } else {
            // Straight grain halves the unknowns again; the last steps know the turn.
            bar.grain = Grain { plan_rad: 0.0, ..bar.grain };
            solid::modes_at(&bar, wanted, COARSE)?
        };
        if self.depths.is_empty() {
            // The solid gives its sensitivities at the same places for every arch of this length.
            let places = modes.grid_m.iter();
            self.depths = places.map(|x| self.grid.depths((x - self.grid.half_m).abs())).collect();
        }
        let aims = self.task.ratios.iter().zip(&self.task.headroom_cents);
        let miss = |(mode, (ratio, headroom)): (&bar_physics::Mode, (&f64, &f64))| {
            cents(mode.hz, self.task.note_hz * ratio) - headroom
        };
        let misses = modes.bending.iter().zip(aims).map(miss).collect();
        Ok(Trial { slopes, underside, modes, misses })
    }

    /// The next slopes and the largest change of thickness, metres.
    fn step(&self, here: &Trial, reach: f64) -> (Slopes, f64) {
        let mut qp = self.cost();
        self.stay_within(&mut qp, here, reach);
        for (mode, miss) in here.modes.bending.iter().zip(&here.misses) {
            let jacobian = self.jacobian(&here.modes.grid_m, &mode.underside_cents_per_m2);
            let now: f64 = jacobian.iter().zip(&here.slopes).map(|(j, s)| j * s).sum();
            add_square(&mut qp, &jacobian, now - miss, weight::MISS_CENTS);
        }
        let wish = programme::solve(&qp, &self.rows(here));
        let change =
            |at: &Slopes| -> f64 { at.iter().zip(wish.iter().zip(&here.slopes)).map(|(d, (w, s))| d * (w - s)).sum() };
        let share =
            self.depths.iter().zip(&here.modes.grid_m).map(|(d, x)| change(d).abs() / here.underside.thickness_at(*x));
        let largest = share.fold(0.0, f64::max);
        let damp = if largest > STEP_SHARE { STEP_SHARE / largest } else { 1.0 };
        let mut next = here.slopes;
        next.iter_mut().zip(&wish).for_each(|(s, w)| *s += damp * (w - *s));
        let moved = self.depths.iter().map(|d| change(d).abs()).fold(0.0, f64::max);
        (next, moved)
    }

    /// Cents of a mode per slope of each node: wood taken off per slope, times what it does.
    fn jacobian(&self, grid_m: &[f64], cents_per_m2: &[f64]) -> Slopes {
        let mut out = [0.0; NODES];
        let last = grid_m.len() - 1;
        for k in 0..=last {
            let left = if k > 0 { grid_m[k] - grid_m[k - 1] } else { 0.0 };
            let right = if k < last { grid_m[k + 1] - grid_m[k] } else { 0.0 };
            let per_m = 0.5 * (left + right) * cents_per_m2[k];
            out.iter_mut().zip(&self.depths[k]).for_each(|(o, d)| *o += per_m * d);
        }
        out
    }

    /// Bending, slopes and wood at the centre; bounds.
    fn cost(&self) -> BoxQp<NODES> {
        let mut qp = BoxQp {
            h: [[0.0; NODES]; NODES],
            g: [0.0; NODES],
            low: [0.0; NODES],
            high: [self.task.limits.steepest_slope; NODES],
        };
        (qp.high[0], qp.high[NODES - 1]) = (0.0, 0.0);
        let pieces = (NODES - 1) as f64;
        for i in 0..NODES {
            let mut one = [0.0; NODES];
            if i + 1 < NODES {
                (one[i], one[i + 1]) = (-pieces, pieces);
                add_square(&mut qp, &one, 0.0, (pieces / weight::BEND).sqrt());
            }
            one = [0.0; NODES];
            one[i] = 1.0;
            // Following a shape, slopes are left alone but for what keeps the programme definite.
            let slope = if self.task.follow.is_some() { 1e-3 } else { weight::SLOPE };
            add_square(&mut qp, &one, 0.0, (pieces / slope).sqrt());
        }
        match &self.task.follow {
            Some(shape) => self.stay_near(&mut qp, shape),
            None => {
                let (centre, area) = (weight::CENTRE / self.grid.thickness_m, weight::AREA / self.grid.thickness_m);
                for (i, (g, d)) in qp.g.iter_mut().zip(&self.centre).enumerate() {
                    // A slope takes wood off everything inside it.
                    *g -= d * (centre + area * i as f64 / pieces);
                }
            }
        }
        qp
    }

    /// The linearised modes hold only for small changes: a change of thickness by the share `reach` costs
    /// as much as a usual arch (proximal point, Rockafellar 1976).
    fn stay_within(&self, qp: &mut BoxQp<NODES>, here: &Trial, reach: f64) {
        let pieces = (NODES - 1) as f64;
        for i in 0..NODES - 1 {
            let u = self.grid.spacing_m() * i as f64;
            let depths = self.grid.depths(u);
            let now_m: f64 = depths.iter().zip(&here.slopes).map(|(d, s)| d * s).sum();
            let t_m = self.grid.thickness_m - now_m;
            add_square(qp, &depths, now_m, reach * t_m * (pieces / weight::USUAL_COST).sqrt());
        }
    }

    fn stay_near(&self, qp: &mut BoxQp<NODES>, shape: &Underside) {
        let pieces = (NODES - 1) as f64;
        for i in 0..NODES - 1 {
            let u = self.grid.spacing_m() * i as f64;
            let depth_m = self.grid.thickness_m - shape.thickness_at(self.grid.half_m + u);
            add_square(qp, &self.grid.depths(u), depth_m, weight::FOLLOW_M * (pieces / weight::FOLLOW).sqrt());
        }
    }

    /// Wood that must stay: at the centre, and at the node line of mode 1.
    fn rows(&self, here: &Trial) -> Vec<Row<NODES>> {
        let spare_m = |least_m: f64| self.grid.thickness_m - least_m;
        let mut rows = vec![Row { a: self.centre, limit_m: spare_m(self.task.limits.min_thickness_m) }];
        let hole = self.hold_hole.then(|| node_from_centre_m(&here.modes, self.grid.half_m)).flatten();
        if let Some(u) = hole {
            rows.push(Row { a: self.grid.depths(u), limit_m: spare_m(self.task.limits.hole_wood_m).max(0.0) });
        }
        rows
    }

    /// Whether the wood at the hole is what holds this arch back.
    fn hole_binds(&self, trial: &Trial) -> bool {
        // Half a millimetre more than wanted leaves it free.
        node_from_centre_m(&trial.modes, self.grid.half_m)
            .is_some_and(|u| self.grid.thickness(&trial.slopes, u) < self.task.limits.hole_wood_m + 0.5e-3)
    }

    fn arch(&self, trial: &Trial) -> Arch {
        let (grid, s) = (&self.grid, &trial.slopes);
        let steps = 400;
        let u = |k: usize| grid.longest_m * k as f64 / f64::from(steps);
        let shoulder = (0..=steps as usize).rev().find(|k| grid.thickness(s, u(*k)) < grid.thickness_m - 0.1e-3);
        let sharpest = s.windows(2).map(|w| (w[1] - w[0]).abs() / grid.spacing_m()).fold(0.0, f64::max);
        let at_node_m =
            node_from_centre_m(&trial.modes, grid.half_m).map_or(grid.thickness_m, |u| grid.thickness(s, u));
        Arch {
            centre_m: trial.underside.thickness_at(grid.half_m),
            half_length_m: shoulder.map_or(0.0, u),
            cents: trial.misses.iter().zip(&self.task.headroom_cents).map(|(m, h)| m + h).collect(),
            misses_cents: trial.misses.clone(),
            steepest_slope: s.iter().copied().fold(0.0, f64::max),
            tightest_radius_m: 1.0 / sharpest.max(1e-3),
            at_node_m,
            underside: trial.underside.clone(),
            solves: self.solves,
        }
    }
}

/// Whether the last three coarse steps brought a far-off arch no tenth nearer.
fn is_stuck(worst: &[f64]) -> bool {
    match worst {
        [.., before, _, _, now] => *now > FAR_CENTS && *now > 0.9 * before,
        _ => false,
    }
}

/// Distance of the outer nodes of mode 1 from the centre, their mean.
pub(super) fn node_from_centre_m(modes: &Modes, half_m: f64) -> Option<f64> {
    let lines = &modes.bending.first()?.node_lines;
    let (first, last) = (lines.first()?, lines.last()?);
    Some(0.5 * ((first.centre_m - half_m).abs() + (last.centre_m - half_m).abs()))
}

/// "+37", "−82".
fn signed(cents: f64) -> String {
    format!("{cents:+.0}").replace('-', "−")
}

fn out_of_reach(task: &ArchTask, nearest: &Arch) -> MakingError {
    let misses = &nearest.misses_cents;
    let parts: Vec<String> = (1..)
        .zip(misses)
        .map(|(mode, miss): (usize, &f64)| tell!("arch-mode-misses", mode = mode, cents = signed(*miss)))
        .collect();
    let low = misses.first().is_some_and(|m| *m < 0.0);
    let hint = if low { tell!("arch-hint-low") } else { tell!("arch-hint-high") };
    let message = tell!(
        "arch-none",
        centre = figure(nearest.centre_m * 1e3, 1),
        limit = figure(task.limits.min_thickness_m * 1e3, 1),
        misses = parts.join(", "),
    );
    MakingError::new("arch_out_of_reach", message, hint)
}
