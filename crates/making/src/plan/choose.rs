//! Which bands, and how deep: the best of all triples of sandable bands.
//!
//! For each set of up to three bands that do not overlap, the depths minimise a weighted sum of
//! squared misses of the wanted change, those expected of an unsteady hand included (narrow bands with
//! edges where the modes feel them miss most), plus a little for the wood taken and for depth, under 0 ≤ depth ≤ what the smallest thickness allows. All sets on a
//! coarse grid are tried, and the best is refined edge by edge on the maker's grid.
use super::kernel::Kernel;
use crate::priors;
use crate::qp::BoxQp;

/// Widths a person sands in one place, one side, metres. A centre band is one patch, so half of it counts.
const WIDTHS_M: [f64; 5] = [0.020, 0.030, 0.040, 0.060, 0.080];
const NARROWEST_M: f64 = 0.020;
const WIDEST_M: f64 = 0.080;
const CENTRE_HALF_WIDTHS_M: [f64; 6] = [0.010, 0.020, 0.030, 0.040, 0.060, 0.080];
/// Most bands of one bout.
pub(crate) const MOST_BANDS: usize = 3;
/// Most tuned modes.
pub(crate) const MOST_MODES: usize = 5;
/// Weights of wood taken, of depth and of each further band against one unit of squared miss.
const WOOD_WEIGHT: f64 = 0.3;
const DEPTH_WEIGHT: f64 = 1.0;
const BAND_WEIGHT: f64 = 0.1;

/// A place for a band, both sides alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    pub from_m: f64,
    pub to_m: f64,
}

impl Place {
    fn width_m(&self) -> f64 {
        self.to_m - self.from_m
    }

    fn apart_from(&self, other: &Self) -> bool {
        self.to_m <= other.from_m + 1e-9 || other.to_m <= self.from_m + 1e-9
    }

    fn sandable(&self, half_m: f64) -> bool {
        let narrowest = if self.from_m <= 1e-9 { 0.5 * NARROWEST_M } else { NARROWEST_M };
        // Two bands that all but meet in the middle are one band to a drum.
        let middle = self.from_m.abs() <= 1e-9;
        (middle || self.from_m >= NARROWEST_M / 2.0 - 1e-9)
            && self.to_m <= half_m + 1e-9
            && self.width_m() >= narrowest - 1e-9
            && self.width_m() <= WIDEST_M + 1e-9
    }
}

/// What one mode is to do in this bout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wish {
    /// Wanted fall, in cents, 0 or more.
    pub fall_cents: f64,
    /// A miss of this many cents counts as one unit.
    pub scale_cents: f64,
}

/// The task of choosing bands.
pub(crate) struct Choice<'a> {
    pub kernel: &'a Kernel,
    pub wishes: &'a [Wish],
    /// Deepest allowed removal at a place.
    pub deepest_m: Box<dyn Fn(&Place) -> f64 + 'a>,
    /// Step of band edges, metres.
    pub grid_m: f64,
}

/// One place with its depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Removal {
    pub place: Place,
    pub depth_m: f64,
}

#[derive(Clone, Copy)]
struct Candidate {
    place: Place,
    /// Cents per metre of depth, in units of each mode's scale.
    pull: [f64; MOST_MODES],
    /// Expected squared miss, in the same units, that the hand's own error adds per square metre of depth.
    unsteady: f64,
    deepest_m: f64,
}

impl Choice<'_> {
    /// The best removals, nothing if no band helps.
    pub fn best(&self) -> Vec<Removal> {
        let candidates = self.candidates();
        let sets = self.sets(&candidates);
        let Some(mut best) = sets else { return Vec::new() };
        self.refine(&mut best);
        best
    }

    /// Depths for given places.
    pub fn depths(&self, places: &[Place]) -> Vec<Removal> {
        let set: Vec<Candidate> = places.iter().map(|p| self.candidate(*p)).collect();
        let picked: Vec<&Candidate> = set.iter().collect();
        let (depths, _) = self.solve(&picked);
        places.iter().zip(depths).map(|(place, depth_m)| Removal { place: *place, depth_m }).collect()
    }

    fn candidate(&self, place: Place) -> Candidate {
        let mut pull = [0.0; MOST_MODES];
        let mut unsteady = 0.0;
        for (i, wish) in self.wishes.iter().enumerate() {
            pull[i] = self.kernel.cents_per_m(i, place.from_m, place.to_m) / wish.scale_cents;
            unsteady += self.unsteady(i, &place, pull[i], wish.scale_cents);
        }
        Candidate { place, pull, unsteady, deepest_m: (self.deepest_m)(&place) }
    }

    /// What one metre of depth at `place` may miss mode `i` by, squared: the gain of each patch, and edges that
    /// come to lie elsewhere. Left and right err apart, so each half counts with half its pull.
    fn unsteady(&self, i: usize, place: &Place, pull: f64, scale_cents: f64) -> f64 {
        let middle = place.from_m <= 1e-9;
        let patches = if middle { 1.0 } else { 2.0 };
        let edge = |u_m: f64| {
            let half_m = 0.001;
            let per_m2 = self.kernel.cents_per_m(i, (u_m - half_m).max(0.0), u_m + half_m) / (2.0 * half_m);
            0.5 * (per_m2 * priors::EDGE_SIGMA_M / scale_cents).powi(2)
        };
        let inner = if middle { 0.0 } else { edge(place.from_m) };
        (priors::PATCH_GAIN_SIGMA * pull).powi(2) / patches + inner + edge(place.to_m)
    }

    fn candidates(&self) -> Vec<Candidate> {
        let half_m = self.kernel.half_m();
        let coarse_m = if half_m > 0.12 { 0.010 } else { 0.005 };
        let steps = (half_m / coarse_m) as usize;
        let centre = CENTRE_HALF_WIDTHS_M.into_iter().map(|w| Place { from_m: 0.0, to_m: w });
        let beside = (1..steps).flat_map(|k| {
            let from_m = k as f64 * coarse_m;
            WIDTHS_M.into_iter().map(move |w| Place { from_m, to_m: from_m + w })
        });
        let places = centre.chain(beside).filter(|p| p.sandable(half_m));
        let all: Vec<Candidate> = places.map(|p| self.candidate(p)).collect();
        // Places that move nothing, or up (the ends), only cost time here; the ends are for rescue.
        let strength = |c: &Candidate| -c.pull.iter().sum::<f64>() / c.place.width_m();
        let strongest = all.iter().map(strength).fold(0.0, f64::max);
        all.into_iter().filter(|c| c.deepest_m > 0.0 && strength(c) > 0.05 * strongest).collect()
    }

    /// The best of all sets of up to three candidates.
    fn sets(&self, all: &[Candidate]) -> Option<Vec<Removal>> {
        let mut best: Option<(f64, Vec<Removal>)> = None;
        let mut offer = |set: &[&Candidate]| {
            let (depths, value) = self.solve(set);
            if best.as_ref().is_none_or(|(least, _)| value < *least) {
                let removals = set.iter().zip(depths).map(|(c, depth_m)| Removal { place: c.place, depth_m }).collect();
                best = Some((value, removals));
            }
        };
        for (i, a) in all.iter().enumerate() {
            offer(&[a]);
            for (j, b) in all.iter().enumerate().skip(i + 1) {
                if !a.place.apart_from(&b.place) {
                    continue;
                }
                offer(&[a, b]);
                if self.wishes.len() < 3 {
                    continue;
                }
                for c in &all[j + 1..] {
                    if c.place.apart_from(&a.place) && c.place.apart_from(&b.place) {
                        offer(&[a, b, c]);
                    }
                }
            }
        }
        best.map(|(_, set)| set.into_iter().filter(|r| r.depth_m > 0.0).collect())
    }

    /// Moves single edges by one or two steps of the maker's grid while that helps.
    fn refine(&self, best: &mut Vec<Removal>) {
        let places = |set: &[Removal]| set.iter().map(|r| r.place).collect::<Vec<_>>();
        let mut value = self.value_of(&places(best));
        for _ in 0..40 {
            let current = places(best);
            let better = self.neighbours(&current).into_iter().map(|n| (self.value_of(&n), n));
            let Some((least, set)) = better.min_by(|a, b| a.0.total_cmp(&b.0)) else { break };
            if least >= value - 1e-9 {
                break;
            }
            value = least;
            *best = self.depths(&set);
        }
        best.retain(|r| r.depth_m > 0.0);
    }

    fn value_of(&self, places: &[Place]) -> f64 {
        let set: Vec<Candidate> = places.iter().map(|p| self.candidate(*p)).collect();
        let picked: Vec<&Candidate> = set.iter().collect();
        self.solve(&picked).1
    }

    fn neighbours(&self, places: &[Place]) -> Vec<Vec<Place>> {
        let mut out = Vec::new();
        for i in 0..places.len() {
            for (a, b) in [(-1, 0), (1, 0), (0, -1), (0, 1), (1, 1), (-1, -1), (2, 2), (-2, -2)] {
                let on_grid = |m: f64, k: i32| ((m / self.grid_m).round() + f64::from(k)) * self.grid_m;
                let moved = Place { from_m: on_grid(places[i].from_m, a), to_m: on_grid(places[i].to_m, b) };
                let clear = places.iter().enumerate().all(|(j, p)| j == i || moved.apart_from(p));
                if moved.sandable(self.kernel.half_m()) && clear && moved != places[i] {
                    let mut set = places.to_vec();
                    set[i] = moved;
                    out.push(set);
                }
            }
        }
        out
    }

    /// Best depths for up to three candidates, and the value of the whole choice.
    fn solve(&self, set: &[&Candidate]) -> ([f64; MOST_BANDS], f64) {
        let (wood_m2, depth_m) = self.size();
        let mut qp = BoxQp {
            h: [[0.0; MOST_BANDS]; MOST_BANDS],
            g: [0.0; MOST_BANDS],
            low: [0.0; MOST_BANDS],
            high: [0.0; MOST_BANDS],
        };
        for j in 0..MOST_BANDS {
            let Some(a) = set.get(j) else {
                qp.h[j][j] = 1.0;
                continue;
            };
            qp.high[j] = a.deepest_m;
            for (k, b) in set.iter().enumerate().take(MOST_BANDS) {
                qp.h[j][k] = 2.0 * (0..self.wishes.len()).map(|i| a.pull[i] * b.pull[i]).sum::<f64>();
            }
            let width_m = a.place.width_m();
            qp.h[j][j] += 2.0 * (a.unsteady + DEPTH_WEIGHT * width_m / (wood_m2 * depth_m));
            let aimed: f64 =
                self.wishes.iter().enumerate().map(|(i, w)| a.pull[i] * w.fall_cents / w.scale_cents).sum();
            qp.g[j] = -2.0 * aimed - WOOD_WEIGHT * width_m / wood_m2;
        }
        let depths = qp.solve();
        let constant: f64 = self.wishes.iter().map(|w| (w.fall_cents / w.scale_cents).powi(2)).sum();
        let used = depths.iter().filter(|d| **d > 0.0).count() as f64;
        (depths, qp.value(&depths) + constant + BAND_WEIGHT * used)
    }

    /// The size of this bout: wood for the largest fall if taken where it works best, and its depth
    /// over a band of 40 mm. Only scales the small terms.
    fn size(&self) -> (f64, f64) {
        let largest = self.wishes.iter().map(|w| w.fall_cents).fold(0.1, f64::max);
        let half_m = self.kernel.half_m();
        let whole = (0..self.kernel.modes()).map(|i| -self.kernel.cents_per_m(i, 0.0, half_m)).fold(1.0, f64::max);
        let depth_all_over_m = largest / whole;
        (depth_all_over_m * half_m, depth_all_over_m * half_m / 0.040)
    }
}
