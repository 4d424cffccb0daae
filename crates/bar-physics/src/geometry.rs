//! The shape of a bar: length, width, and the wood left under its flat top face.
//!
//! Bench view (x from the left end, y across from near to far, z up): the top face is z = 0 and the
//! underside is z = −t(x). Thickness is measured **from the top face**, so that an error in the blank's
//! thickness hardly matters.
use crate::{Grain, Wood, WoodError};

/// Thinner wood than this anywhere is refused: the model is not meant for it, nor is any bar.
pub const MIN_SOLVABLE_THICKNESS_M: f64 = 0.0005;

/// Why a shape cannot be a bar.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GeometryError {
    /// A length, width or thickness is outside what a bar can be.
    #[error("{what} is {value_mm} mm; it must be between {low_mm} and {high_mm} mm")]
    OutOfRange {
        /// What was given.
        what: &'static str,
        /// Its value in millimetres.
        value_mm: f64,
        /// Smallest allowed.
        low_mm: f64,
        /// Largest allowed.
        high_mm: f64,
    },
    /// Stations must rise strictly in x.
    #[error("station {index} of the underside lies at {x_mm} mm, not beyond the one before it")]
    StationsOutOfOrder {
        /// Index of the offending station, from 0.
        index: usize,
        /// Its place in millimetres.
        x_mm: f64,
    },
    /// Stations and thicknesses must be equally many, at least two.
    #[error(
        "the underside has {stations} stations but {thicknesses} thicknesses; it needs the same number of each, at least 2"
    )]
    StationCount {
        /// Number of stations.
        stations: usize,
        /// Number of thicknesses.
        thicknesses: usize,
    },
    /// The first or last station is not at an end of the bar.
    #[error("the underside runs from {from_mm} to {to_mm} mm, but the bar from 0 to {length_mm} mm")]
    DoesNotCoverBar {
        /// First station.
        from_mm: f64,
        /// Last station.
        to_mm: f64,
        /// Length of the bar.
        length_mm: f64,
    },
    /// A cut or trim would leave less wood than can be computed.
    #[error("only {left_mm:.3} mm of wood would be left at {x_mm:.1} mm; the limit is {limit_mm} mm")]
    TooThin {
        /// Thickness left, in millimetres.
        left_mm: f64,
        /// Place, in millimetres from the left end.
        x_mm: f64,
        /// Limit in millimetres.
        limit_mm: f64,
    },
    /// The wood's constants are impossible.
    #[error(transparent)]
    Wood(#[from] WoodError),
}

/// The underside: thickness of the wood left under the top face, linear between stations.
#[derive(Debug, Clone, PartialEq)]
pub struct Underside {
    x_m: Vec<f64>,
    thickness_m: Vec<f64>,
    kinks_m: Vec<f64>,
}

impl Underside {
    /// An underside through stations `x_m` (rising, the first at 0) with `thickness_m` left, and `kinks_m` where the slope jumps.
    ///
    /// # Errors
    /// [`GeometryError`] if the stations do not rise, differ in number, hold non-finite values, or
    /// leave less than [`MIN_SOLVABLE_THICKNESS_M`].
    pub fn new(x_m: Vec<f64>, thickness_m: Vec<f64>, kinks_m: Vec<f64>) -> Result<Self, GeometryError> {
        if x_m.len() != thickness_m.len() || x_m.len() < 2 {
            return Err(GeometryError::StationCount { stations: x_m.len(), thicknesses: thickness_m.len() });
        }
        if let Some(i) = (1..x_m.len()).find(|&i| x_m[i].partial_cmp(&x_m[i - 1]) != Some(std::cmp::Ordering::Greater))
        {
            return Err(GeometryError::StationsOutOfOrder { index: i, x_mm: x_m[i] * 1e3 });
        }
        for (x, t) in x_m.iter().zip(&thickness_m) {
            if !t.is_finite() || *t < MIN_SOLVABLE_THICKNESS_M {
                return Err(GeometryError::TooThin {
                    left_mm: t * 1e3,
                    x_mm: x * 1e3,
                    limit_mm: MIN_SOLVABLE_THICKNESS_M * 1e3,
                });
            }
        }
        let (first, last) = (x_m[0], x_m[x_m.len() - 1]);
        let mut kinks_m: Vec<f64> = kinks_m.into_iter().filter(|k| *k > first && *k < last).collect();
        kinks_m.sort_by(f64::total_cmp);
        Ok(Self { x_m, thickness_m, kinks_m })
    }

    /// The flat underside of a blank.
    ///
    /// # Errors
    /// As [`Underside::new`].
    pub fn flat(length_m: f64, thickness_m: f64) -> Result<Self, GeometryError> {
        Self::new(vec![0.0, length_m], vec![thickness_m; 2], Vec::new())
    }

    /// Station places, rising.
    pub fn x_m(&self) -> &[f64] {
        &self.x_m
    }

    /// Thickness at each station.
    pub fn thickness_m(&self) -> &[f64] {
        &self.thickness_m
    }

    /// Where the slope jumps.
    pub fn kinks_m(&self) -> &[f64] {
        &self.kinks_m
    }

    /// Last station, the length covered.
    pub fn length_m(&self) -> f64 {
        self.x_m[self.x_m.len() - 1]
    }

    /// Thickness at `x_m`, linear between stations and constant beyond the ends.
    pub fn thickness_at(&self, x_m: f64) -> f64 {
        between(&self.x_m, &self.thickness_m, x_m)
    }

    /// Thinnest station: (place, thickness).
    pub fn thinnest(&self) -> (f64, f64) {
        self.x_m
            .iter()
            .zip(&self.thickness_m)
            .map(|(x, t)| (*x, *t))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0.0, 0.0))
    }

    /// This underside after taking off `depth_m(x)`, evaluated at this underside's stations and at `extra_x_m`.
    ///
    /// # Errors
    /// [`GeometryError::TooThin`] if less than [`MIN_SOLVABLE_THICKNESS_M`] would be left.
    pub fn lowered(&self, extra_x_m: &[f64], depth_m: impl Fn(f64) -> f64) -> Result<Self, GeometryError> {
        let length_m = self.length_m();
        let mut x_m: Vec<f64> = self.x_m.clone();
        x_m.extend(extra_x_m.iter().copied().filter(|x| *x > 0.0 && *x < length_m));
        x_m.sort_by(f64::total_cmp);
        // Stations closer than a micrometre are one station.
        x_m.dedup_by(|b, a| (*b - *a).abs() < 1e-6);
        if let Some(last) = x_m.last_mut() {
            *last = length_m;
        }
        let thickness_m = x_m.iter().map(|x| self.thickness_at(*x) - depth_m(*x)).collect();
        Self::new(x_m, thickness_m, self.kinks_m.clone())
    }

    /// This underside after sawing `left_m` and `right_m` off the ends; x counts from the new left end.
    ///
    /// # Errors
    /// [`GeometryError::OutOfRange`] if less than a tenth of the bar would be left.
    pub fn trimmed(&self, left_m: f64, right_m: f64) -> Result<Self, GeometryError> {
        let length_m = self.length_m();
        let left_over = length_m - left_m - right_m;
        if !(left_m >= 0.0 && right_m >= 0.0 && left_over >= 0.1 * length_m) {
            return Err(GeometryError::OutOfRange {
                what: "length after trimming",
                value_mm: left_over * 1e3,
                low_mm: 100.0 * length_m,
                high_mm: length_m * 1e3,
            });
        }
        let inside = self.x_m.iter().copied().filter(|x| *x > left_m + 1e-6 && *x < length_m - right_m - 1e-6);
        let cut: Vec<f64> = std::iter::once(left_m).chain(inside).chain(std::iter::once(length_m - right_m)).collect();
        let thickness_m = cut.iter().map(|x| self.thickness_at(*x)).collect();
        Self::new(
            cut.iter().map(|x| x - left_m).collect(),
            thickness_m,
            self.kinks_m.iter().map(|k| k - left_m).collect(),
        )
    }

    /// Seen from the other side: left and right exchanged.
    pub fn mirrored(&self) -> Self {
        let length_m = self.length_m();
        Self {
            x_m: self.x_m.iter().rev().map(|x| length_m - x).collect(),
            thickness_m: self.thickness_m.iter().rev().copied().collect(),
            kinks_m: self.kinks_m.iter().rev().map(|k| length_m - k).collect(),
        }
    }

    /// Area of the side view in m².
    pub fn side_area_m2(&self) -> f64 {
        self.x_m.windows(2).zip(self.thickness_m.windows(2)).map(|(x, t)| 0.5 * (t[0] + t[1]) * (x[1] - x[0])).sum()
    }
}

/// Wood that differs along the bar: factors on all stiffnesses and on the density, linear between stations.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Unevenness {
    /// Station places from the left end; empty means even wood.
    pub x_m: Vec<f64>,
    /// Factor on every stiffness at each station.
    pub stiffness_factor: Vec<f64>,
    /// Factor on the density at each station.
    pub density_factor: Vec<f64>,
}

impl Unevenness {
    /// (stiffness factor, density factor) at `x_m`; (1, 1) for even wood.
    pub fn at(&self, x_m: f64) -> (f64, f64) {
        if self.x_m.len() < 2 {
            return (1.0, 1.0);
        }
        (between(&self.x_m, &self.stiffness_factor, x_m), between(&self.x_m, &self.density_factor, x_m))
    }
}

/// A crooked underside: how much thicker the far edge is than the near edge, linear across and between stations.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Crook {
    /// Station places from the left end; empty means an underside that is level across.
    pub x_m: Vec<f64>,
    /// Thickness at the far edge minus thickness at the near edge, at each station.
    pub far_minus_near_m: Vec<f64>,
}

impl Crook {
    /// Far minus near thickness at `x_m`; zero for a level underside.
    pub fn at(&self, x_m: f64) -> f64 {
        if self.x_m.len() < 2 { 0.0 } else { between(&self.x_m, &self.far_minus_near_m, x_m) }
    }

    /// Whether the underside is level across.
    pub fn is_level(&self) -> bool {
        self.x_m.len() < 2 || self.far_minus_near_m.iter().all(|d| d.abs() < 1e-9)
    }
}

/// Linear between stations, constant beyond the ends; at least two stations.
fn between(stations_m: &[f64], values: &[f64], x_m: f64) -> f64 {
    let i = stations_m.partition_point(|s| *s <= x_m).clamp(1, stations_m.len() - 1);
    let fraction = ((x_m - stations_m[i - 1]) / (stations_m[i] - stations_m[i - 1])).clamp(0.0, 1.0);
    values[i - 1] + fraction * (values[i] - values[i - 1])
}

/// A bar: a prism of wood with a flat top face and a shaped underside.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Width.
    pub width_m: f64,
    /// Underside; its last station is the bar's length.
    pub underside: Underside,
    /// Wood.
    pub wood: Wood,
    /// How the grain is turned.
    pub grain: Grain,
    /// How the wood differs along the bar.
    pub unevenness: Unevenness,
    /// How the underside leans across.
    pub crook: Crook,
}

impl Bar {
    /// A bar of even wood, level across.
    pub fn new(width_m: f64, underside: Underside, wood: Wood, grain: Grain) -> Self {
        Self { width_m, underside, wood, grain, unevenness: Unevenness::default(), crook: Crook::default() }
    }

    /// Length.
    pub fn length_m(&self) -> f64 {
        self.underside.length_m()
    }

    /// Mass, from the shape and the density along the bar (trapezoid rule at the stations).
    pub fn mass_kg(&self) -> f64 {
        let area_m2 = if self.unevenness.x_m.is_empty() {
            self.underside.side_area_m2()
        } else {
            const PIECES: usize = 400;
            let step_m = self.length_m() / PIECES as f64;
            (0..PIECES)
                .map(|i| {
                    let x_m = (i as f64 + 0.5) * step_m;
                    self.underside.thickness_at(x_m) * self.unevenness.at(x_m).1 * step_m
                })
                .sum()
        };
        self.wood.density_kg_m3 * self.width_m * area_m2
    }
}
