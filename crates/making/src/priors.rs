//! Every assumed number of the belief and the plan, in one table, with where it comes from.
//!
//! "Memory" marks a figure of common practice that no source was read for; such a figure is a
//! starting point which the log replaces as it grows.

// --- wood -------------------------------------------------------------------------------------

/// Density of an unweighed hardwood bar blank, kg/m³. Memory; bar woods span about 700 to 1100.
pub(crate) const DENSITY_KG_M3: f64 = 880.0;
/// Its spread (of ln ρ): 1 σ reaches 740 and 1050 kg/m³. Memory.
pub(crate) const LN_DENSITY_SIGMA: f64 = 0.18;
/// E_L / ρ of bar woods, m²/s². Two builders' published values, 11.7 GPa at 745 kg/m³ and 23.7 GPa
/// at 1082 kg/m³, give 15.7e6 and 21.9e6; the middle is taken.
pub(crate) const SPECIFIC_MODULUS_M2_S2: f64 = 18.8e6;
/// Spread of ln(E_L/ρ) about it: those two values are 1 σ away. Same source.
pub(crate) const LN_SPECIFIC_MODULUS_SIGMA: f64 = 0.17;
/// Spread of ln(G/E_L) for a wood known only as a hardwood: species scatter by about 25 %
/// (Wood Handbook, USDA FPL-GTR-282, tables 5-1 and 5-2; from memory).
pub(crate) const LN_SHEAR_RATIO_SIGMA: f64 = 0.25;
/// Spreads when the job names its wood: pieces of one species differ from its published mean by
/// about this much (coefficients of variation of clear wood: E 22 %, density 10 % over a species;
/// half of that within one board is assumed. Memory).
pub(crate) const KNOWN_WOOD_LN_E_SIGMA: f64 = 0.11;
/// As above, density.
pub(crate) const KNOWN_WOOD_LN_DENSITY_SIGMA: f64 = 0.05;
/// As above, G/E_L.
pub(crate) const KNOWN_WOOD_LN_SHEAR_RATIO_SIGMA: f64 = 0.15;
/// Stiffness from one end to the other, as ± of the middle: amplitude of the tilt. Memory.
pub(crate) const TILT_SIGMA: f64 = 0.025;
/// Stiffness of the middle against the ends: amplitude of the bow. Memory.
pub(crate) const BOW_SIGMA: f64 = 0.025;

// --- sizes ------------------------------------------------------------------------------------

/// Thickness of a planed blank, 1 σ. Memory ("±0.1 mm and even end to end").
pub(crate) const BLANK_THICKNESS_SIGMA_M: f64 = 0.1e-3;
/// An underside given without its uncertainty, 1 σ: a caliper read at marked stations. Memory.
pub(crate) const GIVEN_UNDERSIDE_SIGMA_M: f64 = 0.3e-3;
/// A shape is never known better than a caliper reads, 1 σ. Memory.
pub(crate) const CALIPER_SIGMA_M: f64 = 0.1e-3;
/// Distance over which thickness errors stay alike. Memory: a saw, a drum and a hand wander over
/// a few centimetres.
pub(crate) const THICKNESS_CORRELATION_M: f64 = 0.045;
/// Share of the variance of a thickness error that is common to the whole bar (a wrong zero).
pub(crate) const THICKNESS_COMMON_SHARE: f64 = 0.3;
/// Spacing of the nodes that carry the thickness error: narrower than the narrowest band (20 mm).
pub(crate) const NODE_SPACING_M: f64 = 0.015;
/// Weighing: kitchen scale, 1 g, 1 σ.
pub(crate) const MASS_SIGMA_KG: f64 = 0.001;
/// Length × width of the bar against the numbers given, relative, 1 σ: 0.2 mm of 50 mm.
pub(crate) const PLAN_AREA_SIGMA: f64 = 0.004;

// --- the hand ---------------------------------------------------------------------------------

/// Spread of ln(actual / intended depth) between makers. Judgement: the first bouts are a millimetre deep, which a
/// caliper checks at the belt; few hands then stay beyond 0.65 to 1.55 times the depth asked for (2 σ).
pub(crate) const LN_HAND_SIGMA: f64 = 0.22;
/// The same maker from cut to cut, common to all bands of one cut. Memory.
pub(crate) const CUT_GAIN_SIGMA: f64 = 0.12;
/// … and from patch to patch of one cut; together with the above about 15 %. Memory.
pub(crate) const PATCH_GAIN_SIGMA: f64 = 0.09;
/// Depth inside a band, node to node, as a share of the depth. Memory.
pub(crate) const ROUGHNESS_SHARE: f64 = 0.08;
/// Where a band's edge really comes to lie, 1 σ: even odds over ±4 mm (memory) are 2.3 mm.
pub(crate) const EDGE_SIGMA_M: f64 = 0.0025;
/// What a hand changes from one bar to the next, as ln(actual / intended depth). Judgement: another day, another grit of
/// the same belt; a third of what makers differ among themselves.
pub(crate) const LN_HAND_BETWEEN_BARS: f64 = 0.07;
/// The same for ln(depth of one pass): a belt wears. Judgement.
pub(crate) const LN_PASS_BETWEEN_BARS: f64 = 0.15;
/// What the two edges of a band of about 50 mm add to the error of its wood, as a share: 2.5 mm · √2 / 50 mm.
pub(crate) const EDGE_GAIN_SIGMA: f64 = 0.07;
/// Depth of one pass. Memory: 0.05 to 0.2 mm by person, belt and wood.
pub(crate) const PASS_DEPTH_M: f64 = 0.1e-3;
/// Spread of ln(depth of one pass): 0.05 and 0.2 mm are 2 σ away.
pub(crate) const LN_PASS_SIGMA: f64 = 0.35;

// --- readings ---------------------------------------------------------------------------------

/// Error of the computed bending modes 1 to 5, cents, 1 σ, lasting as long as the shape does:
/// mesh (1 to 2 cents, see the physics crate), constants not in the belief (E_H, Poisson).
pub(crate) const BENDING_MODEL_CENTS: [f64; 5] = [2.0, 2.0, 2.5, 5.0, 8.0];
/// The same for torsion 1 and 2: mesh 5 to 10 cents, and E_W, G_WH are not in the belief.
pub(crate) const TORSION_MODEL_CENTS: [f64; 2] = [12.0, 15.0];
/// Doubt that a change of shape adds to every mode, as a share of the change in pitch: the
/// sensitivities of the believed bar are not quite the real one's.
pub(crate) const MODEL_DRIFT_SHARE: f64 = 0.04;
/// No reading is taken to be better than this, cents, 1 σ (the blow, the foam under the bar).
pub(crate) const READING_FLOOR_CENTS: f64 = 0.3;
/// Room temperatures at which bars are commonly tuned, °C: readings inside need no correction.
pub(crate) const ROOM_C: (f64, f64) = (20.0, 23.0);
/// Pitch drift of a wooden bar, cents per °C: modulus falls about 0.23 % per °C (Wood Handbook,
/// table 5-15: −7 % at 50 °C), so −2; one measured rosewood bar −0.9. The middle is used.
pub(crate) const DRIFT_CENTS_PER_C: f64 = -1.5;
/// Its spread. Same sources.
pub(crate) const DRIFT_SIGMA_CENTS_PER_C: f64 = 0.4;
/// Doubt in cents of a reading whose temperature was not noted, common to all its modes, 1 σ.
/// Memory: a rested bar in a workshop within half a degree.
pub(crate) const UNKNOWN_TEMPERATURE_CENTS: f64 = 0.7;
/// A bar farther than this outside [`ROOM_C`] is not to be judged yet, °C.
pub(crate) const TOO_FAR_FROM_ROOM_C: f64 = 4.0;
/// A reading farther from its prediction than this many σ is doubted.
pub(crate) const DOUBT_SIGMAS: f64 = 4.0;

// --- decisions --------------------------------------------------------------------------------

/// Fine-tuning tolerance of bending modes 1, 2, 3, … in cents. Memory ("good work").
pub(crate) const FINE_TOLERANCE_CENTS: [f64; 5] = [2.0, 5.0, 10.0, 15.0, 20.0];
/// Tolerance of every mode while there is still [`ROUGH_HEADROOM_CENTS`] or more above the target.
pub(crate) const ROUGH_TOLERANCE_CENTS: f64 = 10.0;
/// From this headroom on the stage is a rough one.
pub(crate) const ROUGH_HEADROOM_CENTS: f64 = 50.0;
/// Largest chance per bout that any tuned mode ends flat.
pub(crate) const RISK_LIMIT: f64 = 0.02;
/// Chance per bout that a plan aims to stay under, so that some eight bouts together keep within
/// a few per cent; a bout between this and [`RISK_LIMIT`] is still allowed when nothing smaller helps.
pub(crate) const RISK_AIM: f64 = 0.0015;
/// The same as a distance in σ of one mode (normal table: 2.97 for 0.15 %).
pub(crate) const RISK_AIM_SIGMAS: f64 = 2.97;
/// Chance of lying sharp of the tolerance at which a mode still counts as met, after one, two and more readings
/// since the last cut: a second strike is cheaper than a bar called done that is not, a fourth is not. Judgement.
pub(crate) const UNMET_CHANCE: [f64; 3] = [0.02, 0.03, 0.05];
/// Nearer than this to the aim a bout takes at most half of what is left, cents. Common practice, no source
/// ("the last 3 cents by hand strokes"). Farther off the risk alone holds a bout to about two thirds.
pub(crate) const NEAR_CENTS: f64 = 3.0;
/// Where inside its tolerance a mode is put down: on the sharp side, for wood does not come back.
pub(crate) const LANDING_SHARE: f64 = 0.25;
/// Deepest band of one bout, metres: more is sawing, not sanding. Memory.
pub(crate) const DEEPEST_BAND_M: f64 = 1.5e-3;
/// Most usual trim of a drilled bar per end, metres. Memory: 2 to 4 mm.
pub(crate) const USUAL_TRIM_M: f64 = 4.0e-3;
/// Trim beyond which a bar is better replaced, metres. Memory.
pub(crate) const MOST_TRIM_M: f64 = 12.0e-3;

/// Tolerance of bending mode `mode` (from 1) for a stage with this headroom, in cents.
pub(crate) fn tolerance_cents(mode: usize, headroom_cents: f64) -> f64 {
    if headroom_cents >= ROUGH_HEADROOM_CENTS {
        return ROUGH_TOLERANCE_CENTS;
    }
    FINE_TOLERANCE_CENTS[mode.clamp(1, FINE_TOLERANCE_CENTS.len()) - 1]
}
