//! Thickness along a bar, and how it is cut into elements.
use super::{BeamError, check_positive};
use crate::{MIN_SOLVABLE_THICKNESS_M, Underside, Unevenness};

/// Lowest order of the elements: the classic cubic beam element.
const LOWEST_ORDER: usize = 2;
const HIGHEST_ORDER: usize = 16;
/// Order unless another is asked for. With sixteen elements the frequencies of a smooth arch are exact to
/// 1e-10 (order 6 would do) and the strain at any point to 1e-6.
const USUAL_ORDER: usize = 8;
/// Longest element unless another is asked for, as a share of the length.
const USUAL_LONGEST: f64 = 1.0 / 16.0;
/// Edges closer than this share of the length are not all made element edges: tiny elements only add
/// rounding. Quadrature still respects every one of them.
const SHORTEST: f64 = 1.0 / 250.0;

/// Cross-section and wood at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Thickness of the wood left.
    pub thickness_m: f64,
    /// Factor on both moduli.
    pub stiffness_factor: f64,
    /// Factor on the density.
    pub density_factor: f64,
}

/// Thickness along a bar of constant width, with the element edges to solve it on.
pub struct Profile<'a> {
    edges_m: Vec<f64>,
    breaks_m: Vec<f64>,
    order: usize,
    section: Box<dyn Fn(f64) -> Section + Send + Sync + 'a>,
}

impl std::fmt::Debug for Profile<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Profile").field("edges_m", &self.edges_m).field("order", &self.order).finish_non_exhaustive()
    }
}

impl<'a> Profile<'a> {
    /// A bar whose thickness is the function `thickness_m` of x, smooth between `edges_m`.
    ///
    /// `edges_m` are places from the left end, rising, both ends included: wherever the thickness jumps,
    /// kinks or is not smooth. Long stretches are divided further.
    ///
    /// # Errors
    /// [`BeamError::EdgesOutOfOrder`] if there are fewer than two edges or they do not rise.
    pub fn new(edges_m: &[f64], thickness_m: impl Fn(f64) -> f64 + Send + Sync + 'a) -> Result<Self, BeamError> {
        let section = move |x: f64| Section { thickness_m: thickness_m(x), stiffness_factor: 1.0, density_factor: 1.0 };
        Self::from_breaks(edges_m.to_vec(), Box::new(section))
    }

    /// A bar with this underside, of wood that differs along it as `unevenness` says.
    ///
    /// Elements end at kinks and wherever the slope jumps at a station; the thickness between stations is
    /// integrated exactly.
    ///
    /// # Errors
    /// [`BeamError::EdgesOutOfOrder`] if a station is infinite; [`BeamError::UnevenStations`] if the
    /// unevenness has unequal numbers of places and factors.
    pub fn from_underside(underside: &Underside, unevenness: &Unevenness) -> Result<Profile<'static>, BeamError> {
        let (underside, unevenness) = (underside.clone(), unevenness.clone());
        let (places, stiffness, density) =
            (unevenness.x_m.len(), unevenness.stiffness_factor.len(), unevenness.density_factor.len());
        if places != stiffness || places != density {
            return Err(BeamError::UnevenStations { places, stiffness, density });
        }
        let (first, last) = (underside.x_m()[0], underside.length_m());
        let mut breaks_m = vec![first, last];
        breaks_m.extend(stations_with_a_kink(&underside));
        breaks_m.extend(underside.kinks_m());
        breaks_m.extend(unevenness.x_m.iter().filter(|x| **x > first && **x < last));
        breaks_m.sort_by(f64::total_cmp);
        // Nearer than a nanometre is the same place.
        breaks_m.dedup_by(|b, a| *b - *a < 1e-9);
        let section = move |x: f64| {
            let (stiffness_factor, density_factor) = unevenness.at(x);
            Section { thickness_m: underside.thickness_at(x), stiffness_factor, density_factor }
        };
        Profile::from_breaks(breaks_m, Box::new(section))
    }

    fn from_breaks(
        breaks_m: Vec<f64>,
        section: Box<dyn Fn(f64) -> Section + Send + Sync + 'a>,
    ) -> Result<Self, BeamError> {
        // Written so that NaN and infinity are refused.
        let out_of_order = |i: usize| !(breaks_m[i].is_finite() && (i == 0 || breaks_m[i] > breaks_m[i - 1]));
        if let Some(index) = (0..breaks_m.len()).find(|i| out_of_order(*i)) {
            return Err(BeamError::EdgesOutOfOrder { index, x_mm: breaks_m[index] * 1e3 });
        }
        if breaks_m.len() < 2 {
            return Err(BeamError::EdgesOutOfOrder { index: breaks_m.len(), x_mm: f64::NAN });
        }
        let edges_m = element_edges(&breaks_m, USUAL_LONGEST);
        Ok(Self { edges_m, breaks_m, order: USUAL_ORDER, section })
    }

    /// The same bar on other elements: of polynomial order `order` (2 is the classic cubic beam element),
    /// none longer than `longest_share` of the bar.
    ///
    /// # Errors
    /// [`BeamError::Order`] for orders other than 2 to 16; [`BeamError::NotPositive`] for a share that is
    /// not a positive number; shares below 1/250 count as 1/250.
    pub fn on_elements(mut self, order: usize, longest_share: f64) -> Result<Self, BeamError> {
        if !(LOWEST_ORDER..=HIGHEST_ORDER).contains(&order) {
            return Err(BeamError::Order { order, low: LOWEST_ORDER, high: HIGHEST_ORDER });
        }
        check_positive("longest element as a share of the length", longest_share, "")?;
        self.order = order;
        self.edges_m = element_edges(&self.breaks_m, longest_share.max(SHORTEST));
        Ok(self)
    }

    /// Length.
    pub fn length_m(&self) -> f64 {
        self.edges_m[self.edges_m.len() - 1] - self.edges_m[0]
    }

    /// Element edges from the left end.
    pub fn edges_m(&self) -> &[f64] {
        &self.edges_m
    }

    /// Polynomial order of the elements.
    pub fn order(&self) -> usize {
        self.order
    }

    /// Cross-section at `x_m`.
    ///
    /// # Errors
    /// [`BeamError::TooThin`] where less than [`MIN_SOLVABLE_THICKNESS_M`] is left or the thickness is not
    /// a number; [`BeamError::UnevenFactor`] where a factor of the wood is not positive.
    pub fn section_at(&self, x_m: f64) -> Result<Section, BeamError> {
        let section = (self.section)(x_m);
        if !(section.thickness_m.is_finite() && section.thickness_m >= MIN_SOLVABLE_THICKNESS_M) {
            return Err(BeamError::TooThin {
                thickness_mm: section.thickness_m * 1e3,
                x_mm: x_m * 1e3,
                limit_mm: MIN_SOLVABLE_THICKNESS_M * 1e3,
            });
        }
        for (factor, value) in [("stiffness", section.stiffness_factor), ("density", section.density_factor)] {
            if !(value.is_finite() && value > 0.0) {
                return Err(BeamError::UnevenFactor { factor, value, x_mm: x_m * 1e3 });
            }
        }
        Ok(section)
    }

    /// `from_m`, `to_m` and every element edge and break between: the section is smooth from one to the next.
    pub(super) fn smooth_pieces(&self, from_m: f64, to_m: f64) -> Vec<f64> {
        let inside = self.breaks_m.iter().chain(&self.edges_m).copied().filter(|x| *x > from_m && *x < to_m);
        let mut places: Vec<f64> = inside.collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|b, a| *b - *a < 1e-9);
        std::iter::once(from_m).chain(places).chain(std::iter::once(to_m)).collect()
    }
}

/// Stations inside the bar where the slope of the underside jumps.
fn stations_with_a_kink(underside: &Underside) -> impl Iterator<Item = f64> {
    // A slope of a micrometre in ten metres is rounding.
    const STRAIGHT: f64 = 1e-7;
    let (x, t) = (underside.x_m(), underside.thickness_m());
    let slope = move |i: usize| (t[i + 1] - t[i]) / (x[i + 1] - x[i]);
    (1..x.len() - 1).filter(move |i| (slope(*i) - slope(*i - 1)).abs() > STRAIGHT).map(|i| x[i])
}

/// Element edges: the breaks, none closer than [`SHORTEST`], with long gaps divided evenly.
fn element_edges(breaks_m: &[f64], longest_share: f64) -> Vec<f64> {
    let (first, last) = (breaks_m[0], breaks_m[breaks_m.len() - 1]);
    let length_m = last - first;
    let mut corners = vec![first];
    for place in breaks_m {
        if place - corners[corners.len() - 1] > SHORTEST * length_m && last - place > SHORTEST * length_m {
            corners.push(*place);
        }
    }
    corners.push(last);
    let mut edges = vec![first];
    for pair in corners.windows(2) {
        // Slightly less than whole, so that a gap of exactly k longest elements is cut into k.
        let pieces = ((pair[1] - pair[0]) / (longest_share * length_m) - 1e-9).ceil().max(1.0);
        edges.extend((1..=pieces as usize).map(|i| pair[0] + (pair[1] - pair[0]) * i as f64 / pieces));
    }
    edges
}
