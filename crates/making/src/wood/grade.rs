//! A blank beside the shop's other blanks.
use std::f64::consts::PI;
use words::{figure, tell};

/// A blank as it was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Blank {
    /// Its label.
    pub label: String,
    /// Length, width and thickness.
    pub size_m: [f64; 3],
    /// Density, in kg/m³, if it was weighed.
    pub density_kg_m3: Option<f64>,
    /// Stiffness over density along the grain, in m²/s², if it was heard.
    pub e_over_rho: Option<f64>,
    /// π times periods until the first mode's amplitude has fallen to 1/e, if its ring was measured.
    pub quality: Option<f64>,
    /// How far its node lines lean over its width, if it was salted; with its sign.
    pub tilt_m: Option<f64>,
    /// Moisture in percent of the dry mass, if known.
    pub moisture_percent: Option<f64>,
    /// What was seen: worm holes, checks, sap.
    pub defects: Vec<String>,
    /// What it looks like, for bars that shall look alike.
    pub colour: Option<String>,
}

/// Quality of a ringing mode: π · frequency · time in which its amplitude falls to 1/e.
pub fn decay_quality(hz: f64, decay_s: f64) -> f64 {
    PI * hz * decay_s
}

/// Where a blank may serve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Dense, stiff, long ringing: top and middle.
    Top,
    /// Anywhere in the middle.
    Middle,
    /// Long and straight: bass.
    Bass,
    /// Not for a bar.
    Reject,
    /// Not yet: it is too damp to be judged.
    Wait,
}

/// How far to trust a verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// Heard, weighed, ring known, and at least eight others to compare it with.
    Good,
    /// Something is missing.
    Fair,
    /// Next to nothing is known.
    Low,
}

/// A verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Grade {
    /// Where it may serve.
    pub verdict: Verdict,
    /// How far to trust it.
    pub confidence: Confidence,
    /// Why, in words.
    pub reasons: Vec<String>,
}

/// The shop's blanks, for comparing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    density: Vec<f64>,
    e_over_rho: Vec<f64>,
    quality: Vec<f64>,
}

/// Others needed for a quartile to mean something (judgement, no source).
const ENOUGH: usize = 8;
/// Above this a blank is too damp to be judged: shop target 6–9 %, indoor air up to 65 % gives 12 % (TRADE 1.2).
const DAMP_PERCENT: f64 = 12.0;
/// From this length a blank can be a bass bar: below C3's common 470 mm (from memory).
const BASS_M: f64 = 0.45;
/// Lines within this lean are as square as salt shows (TRADE 1.6, ± 0.5 mm, from memory; two lines).
const SQUARE_M: f64 = 1.0e-3;

impl Stock {
    /// What is known of all blanks.
    pub fn of(blanks: &[Blank]) -> Self {
        let sorted = |of: fn(&Blank) -> Option<f64>| {
            let mut values: Vec<f64> = blanks.iter().filter_map(of).filter(|value| value.is_finite()).collect();
            values.sort_by(f64::total_cmp);
            values
        };
        Self {
            density: sorted(|blank| blank.density_kg_m3),
            e_over_rho: sorted(|blank| blank.e_over_rho),
            quality: sorted(|blank| blank.quality),
        }
    }
}

/// Share of the stock below a value, half of its equals counted; `None` where too few others are known.
fn rank(values: &[f64], value: f64) -> Option<f64> {
    // The blank itself is one of them.
    if values.len() <= ENOUGH {
        return None;
    }
    let below = values.partition_point(|other| *other < value);
    let equal = values.partition_point(|other| *other <= value) - below;
    Some((below as f64 + 0.5 * equal as f64) / values.len() as f64)
}

/// What a blank is good for, beside the stock it belongs to.
pub fn grade(blank: &Blank, stock: &Stock) -> Grade {
    let ranks = [
        (tell!("rank-density"), blank.density_kg_m3.and_then(|value| rank(&stock.density, value))),
        (tell!("rank-stiffness"), blank.e_over_rho.and_then(|value| rank(&stock.e_over_rho, value))),
        (tell!("rank-ring"), blank.quality.and_then(|value| rank(&stock.quality, value))),
    ];
    let known = ranks.iter().filter(|(_, rank)| rank.is_some()).count();
    let mut reasons: Vec<String> =
        ranks.iter().filter_map(|(what, rank)| Some(format!("{what}: {}", quarter((*rank)?)))).collect();
    let verdict = verdict(blank, [ranks[0].1, ranks[1].1, ranks[2].1], &mut reasons);
    let measured = [blank.density_kg_m3, blank.e_over_rho, blank.quality].iter().flatten().count();
    if measured < 3 {
        reasons.push(tell!("grade-unknown"));
    } else if known < 3 {
        reasons.push(tell!("grade-few", n = ENOUGH));
    }
    let confidence = match known {
        3 => Confidence::Good,
        1 | 2 => Confidence::Fair,
        _ => Confidence::Low,
    };
    Grade { verdict, confidence, reasons }
}

fn quarter(rank: f64) -> String {
    match rank {
        r if r < 0.25 => tell!("quarter-1"),
        r if r < 0.5 => tell!("quarter-2"),
        r if r < 0.75 => tell!("quarter-3"),
        _ => tell!("quarter-4"),
    }
}

fn verdict(blank: &Blank, [density, stiffness, ring]: [Option<f64>; 3], reasons: &mut Vec<String>) -> Verdict {
    if let Some(damp) = blank.moisture_percent.filter(|percent| *percent > DAMP_PERCENT) {
        reasons.push(tell!("grade-damp", percent = figure(damp, 1), least = figure(DAMP_PERCENT, 0)));
        return Verdict::Wait;
    }
    if !blank.defects.is_empty() {
        reasons.push(tell!("grade-defects", defects = blank.defects.join(", ")));
    }
    // Dull and soft at once: friction falls as stiffness over density rises (TRADE 1.2), so the two belong together.
    if stiffness.is_some_and(|rank| rank < 0.1) && ring.is_some_and(|rank| rank < 0.25) {
        reasons.push(tell!("grade-dull"));
        return Verdict::Reject;
    }
    let square = blank.tilt_m.is_none_or(|tilt_m| tilt_m.abs() <= SQUARE_M);
    if let Some(tilt_m) = blank.tilt_m.filter(|_| !square) {
        reasons.push(tell!("grade-leans", mm = figure(tilt_m * 1e3, 1)));
    }
    let high = |rank: Option<f64>| rank.is_some_and(|rank| rank >= 0.5);
    if high(density) && high(stiffness) && high(ring) {
        reasons.push(tell!("grade-best"));
        return Verdict::Top;
    }
    if blank.size_m[0] >= BASS_M && square {
        reasons.push(tell!("grade-long", mm = figure(blank.size_m[0] * 1e3, 0)));
        return Verdict::Bass;
    }
    Verdict::Middle
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blank(label: usize, share: f64) -> Blank {
        Blank {
            label: label.to_string(),
            size_m: [0.4, 0.06, 0.024],
            density_kg_m3: Some(850.0 + 200.0 * share),
            e_over_rho: Some(18e6 + 6e6 * share),
            quality: Some(200.0 + 200.0 * share),
            tilt_m: Some(0.0),
            moisture_percent: Some(8.0),
            defects: Vec::new(),
            colour: None,
        }
    }

    fn stock() -> Vec<Blank> {
        (0..20).map(|i| blank(i, i as f64 / 19.0)).collect()
    }

    #[test]
    fn the_quality_is_pi_periods_of_the_decay() {
        // 100 periods of 0.01 s until 1/e.
        assert!((decay_quality(100.0, 1.0) - 314.159_265).abs() < 1e-4);
    }

    #[test]
    fn the_best_go_to_the_top_the_dull_are_rejected_the_long_are_kept_for_the_bass() {
        let blanks = stock();
        let all = Stock::of(&blanks);
        let verdict = |blank: &Blank| grade(blank, &all).verdict;
        assert_eq!(
            (verdict(&blanks[19]), verdict(&blanks[0]), verdict(&blanks[8])),
            (Verdict::Top, Verdict::Reject, Verdict::Middle)
        );
        let long = Blank { size_m: [0.6, 0.07, 0.025], ..blanks[8].clone() };
        assert_eq!(verdict(&long), Verdict::Bass);
        assert_eq!(verdict(&Blank { tilt_m: Some(4e-3), ..long.clone() }), Verdict::Middle);
        assert_eq!(verdict(&Blank { moisture_percent: Some(15.0), ..long }), Verdict::Wait);
        assert_eq!(grade(&blanks[19], &all).confidence, Confidence::Good);
    }

    #[test]
    fn little_knowledge_is_little_confidence() {
        let blanks = stock();
        let few = Stock::of(&blanks[..5]);
        let told = grade(&blanks[2], &few);
        assert_eq!(told.confidence, Confidence::Low);
        assert!(told.reasons.iter().any(|words| words.contains("fewer than 8")), "{told:?}");
        let mute = Blank { quality: None, ..blanks[19].clone() };
        let told = grade(&mute, &Stock::of(&blanks));
        assert!(told.confidence == Confidence::Fair && told.verdict != Verdict::Top, "{told:?}");
        assert!(
            grade(&Blank { defects: vec!["check at one end".to_owned()], ..mute }, &few).reasons[0].contains("check")
        );
    }
}
