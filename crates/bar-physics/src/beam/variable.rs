//! Bending modes of a bar of varying thickness.
use super::element::{Layout, PerLength, Shapes, assemble};
use super::{BeamError, BeamWood, Profile, Theory, check_mode, eigen, zeros};
use std::f64::consts::TAU;

/// Highest bending mode computed.
pub const MAX_BEAM_MODES: usize = 20;

/// One bending mode of a bar of varying thickness.
#[derive(Debug, Clone, PartialEq)]
pub struct BeamMode {
    /// Number, from 1.
    pub mode: usize,
    /// Frequency in hertz.
    pub hz: f64,
    /// Nodes from the left end, rising.
    pub nodes_m: Vec<f64>,
    /// ω².
    pub(super) pulsation_squared: f64,
    /// Values of the unknowns, scaled so that a bar one metre wide has unit modal mass.
    unknowns: Vec<f64>,
}

/// Bending modes of a bar, with their shapes.
#[derive(Debug)]
pub struct BeamModes<'p> {
    /// Modes, lowest first.
    pub modes: Vec<BeamMode>,
    /// |ω²| of the two rigid motions over ω² of mode 1: zero but for rounding.
    pub rigid_remainder: f64,
    profile: &'p Profile<'p>,
    wood: BeamWood,
    layout: Layout,
}

impl<'p> Profile<'p> {
    /// The `count` lowest bending modes with free ends.
    ///
    /// Valid for grain along the bar; the width cancels. See the module for how far a beam is from a bar.
    ///
    /// # Errors
    /// [`BeamError::NoSuchMode`] unless `count` is 1 to [`MAX_BEAM_MODES`]; [`BeamError::NotPositive`] for
    /// impossible wood; [`BeamError::TooThin`] or [`BeamError::UnevenFactor`] where the bar is not a bar;
    /// [`BeamError::NotSolved`] for numbers too extreme to compute with.
    pub fn bending_modes(&'p self, wood: &BeamWood, theory: Theory, count: usize) -> Result<BeamModes<'p>, BeamError> {
        check_mode(count, MAX_BEAM_MODES)?;
        wood.check()?;
        let layout = Layout::new(self.order(), theory);
        let (stiffness, mass) = assemble(self, wood, layout)?;
        if stiffness.size() < count + 2 {
            return Err(BeamError::NoSuchMode { mode: count, highest: stiffness.size() - 2 });
        }
        let pairs = eigen::lowest(&stiffness, &mass, self.shift(wood)?, count + 2)?;
        let first = pairs[2].value;
        let rigid_remainder = pairs[0].value.abs().max(pairs[1].value.abs()) / first;
        // A free bar has exactly two rigid motions; a bar that rounding has pinned or torn is not solved.
        if !(first > 0.0 && rigid_remainder < 1e-3) {
            return Err(BeamError::NotSolved { detail: format!("rigid motions at {rigid_remainder:.1e} of mode 1") });
        }
        let mut solved = BeamModes { modes: Vec::new(), rigid_remainder, profile: self, wood: *wood, layout };
        for (index, pair) in pairs.into_iter().skip(2).enumerate() {
            let nodes_m = zeros(solved.node_samples(), |x| solved.fields(&pair.vector, x).deflection);
            solved.modes.push(BeamMode {
                mode: index + 1,
                hz: pair.value.sqrt() / TAU,
                nodes_m,
                pulsation_squared: pair.value,
                unknowns: pair.vector,
            });
        }
        Ok(solved)
    }

    /// ω² to shift the stiffness by: a tenth of mode 1 of a uniform bar of the mean section.
    ///
    /// Any value near mode 1 serves; it only sets how fast the iteration settles.
    fn shift(&self, wood: &BeamWood) -> Result<f64, BeamError> {
        let mean = self.edges_m().windows(2).try_fold([0.0, 0.0], |sum, edge| {
            let section = PerLength::at(0.5 * (edge[0] + edge[1]), self, wood, Layout::new(2, Theory::EulerBernoulli))?;
            let share = (edge[1] - edge[0]) / self.length_m();
            Ok([sum[0] + share / section.bending, sum[1] + share * section.mass])
        })?;
        let first_root = super::euler_bernoulli_root(1)?;
        Ok(0.1 * (first_root / self.length_m()).powi(4) / (mean[0] * mean[1]))
    }
}

impl BeamModes<'_> {
    /// Deflection of mode `mode` at `x_m`, scaled so that a bar one metre wide has unit modal mass; clamped
    /// to the bar beyond its ends.
    ///
    /// # Errors
    /// [`BeamError::NoSuchMode`] if the mode was not computed.
    pub fn deflection(&self, mode: usize, x_m: f64) -> Result<f64, BeamError> {
        Ok(self.fields(&self.mode(mode)?.unknowns, x_m).deflection)
    }

    pub(super) fn mode(&self, mode: usize) -> Result<&BeamMode, BeamError> {
        check_mode(mode, self.modes.len())?;
        Ok(&self.modes[mode - 1])
    }

    pub(super) fn mode_fields(&self, mode: &BeamMode, x_m: f64) -> Shapes<f64> {
        self.fields(&mode.unknowns, x_m)
    }

    pub(super) fn per_length(&self, x_m: f64) -> Result<PerLength, BeamError> {
        PerLength::at(x_m, self.profile, &self.wood, self.layout)
    }

    pub(super) fn profile(&self) -> &Profile<'_> {
        self.profile
    }

    fn fields(&self, unknowns: &[f64], x_m: f64) -> Shapes<f64> {
        let edges = self.profile.edges_m();
        let element = edges.partition_point(|e| *e <= x_m).clamp(1, edges.len() - 1) - 1;
        let half_m = 0.5 * (edges[element + 1] - edges[element]);
        let xi = ((x_m - edges[element]) / half_m - 1.0).clamp(-1.0, 1.0);
        let offset = element * self.layout.stride();
        self.layout.shapes(xi, half_m).combined(&unknowns[offset..offset + self.layout.unknowns()])
    }

    /// Places where the deflection is looked at for nodes: 24 to an element of usual length, more than
    /// 15 to a half wave of the highest mode.
    fn node_samples(&self) -> Vec<f64> {
        const PIECES: usize = 24 * 16;
        let (start, length_m) = (self.profile.edges_m()[0], self.profile.length_m());
        (0..=PIECES).map(|i| start + length_m * i as f64 / PIECES as f64).collect()
    }
}
