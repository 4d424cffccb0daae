//! Ring, loudness and balance across the compass.

/// How a bar sounds on its cords, with or without its tube, as it was last recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Sound {
    /// Its note.
    pub name: String,
    /// Semitones from any fixed note.
    pub semitone: i32,
    /// Seconds in which modes 1–3 fall by 60 dB, of those that were heard.
    pub ring_s: [Option<f64>; 3],
    /// Level of mode 1 in its recording, in dB, if all were recorded alike.
    pub level_db: Option<f64>,
    /// Levels of modes 2 and 3 against mode 1, in dB.
    pub balance_db: [Option<f64>; 2],
    /// How far the cords miss its nodes at most, in millimetres, if that is known.
    pub node_miss_mm: Option<f64>,
}

/// What was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Figure {
    /// How long mode 1 rings.
    Ring,
    /// How loud it is.
    Loudness,
    /// Mode 2 against mode 1.
    Mode2,
    /// Mode 3 against mode 1.
    Mode3,
}

/// A bar that stands out.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlier {
    /// Which bar of the list.
    pub bar: usize,
    /// In what.
    pub figure: Figure,
    /// Its ring over its neighbours', or dB against them.
    pub by: f64,
    /// Probable causes, the one to look at first first.
    pub causes: Vec<String>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Evenness {
    /// What each bar's ring would be by its neighbours, in seconds; `None` where too few were heard.
    pub expected_ring_s: Vec<Option<f64>>,
    /// Bars that stand out, bass to treble.
    pub outliers: Vec<Outlier>,
}

/// Bars so many semitones either way are neighbours.
const NEAR: i32 = 6;
/// Fewer neighbours tell nothing.
const LEAST: usize = 4;
/// Shorter than this share of what the neighbours ring is always told (from memory).
const DEAD: f64 = 0.6;
/// Farther from the neighbours than so many of the row's own typical steps stands out.
const FAR: f64 = 3.5;
/// Smaller differences than a fifth of the ring, or 2 dB, are never told: two blows of one hand differ by as much (a judgement).
const LEAST_TOLD: [f64; 2] = [0.182, 2.0];

/// Bars that ring, sound or balance otherwise than their neighbours: each against a straight line through these (Theil & Sen: the median of all slopes, so that one
/// outlier among them does not bend it), told where that is far against the median of all such distances.
pub fn evenness(sounds: &[Sound]) -> Evenness {
    let ring: Vec<Option<f64>> = sounds.iter().map(|sound| sound.ring_s[0].map(f64::ln)).collect();
    let figures = [
        (Figure::Ring, ring, LEAST_TOLD[0]),
        (Figure::Loudness, sounds.iter().map(|sound| sound.level_db).collect(), LEAST_TOLD[1]),
        (Figure::Mode2, sounds.iter().map(|sound| sound.balance_db[0]).collect(), LEAST_TOLD[1]),
        (Figure::Mode3, sounds.iter().map(|sound| sound.balance_db[1]).collect(), LEAST_TOLD[1]),
    ];
    let off: Vec<(Figure, Vec<Option<f64>>, f64)> = figures
        .into_iter()
        .map(|(figure, values, least)| {
            let off = (0..sounds.len()).map(|i| Some(values[i]? - expected(sounds, &values, i)?)).collect();
            (figure, off, least)
        })
        .collect();
    let mut outliers = Vec::new();
    for (figure, off, least) in &off {
        let limit = limit(off, *least);
        for (bar, off) in off.iter().enumerate() {
            let Some(off) = off else { continue };
            let dead = *figure == Figure::Ring && off.exp() < DEAD;
            if off.abs() > limit || dead {
                let by = if *figure == Figure::Ring { off.exp() } else { *off };
                outliers.push(Outlier { bar, figure: *figure, by, causes: Vec::new() });
            }
        }
    }
    let louder: Vec<Option<f64>> = off[1].1.clone();
    for outlier in &mut outliers {
        outlier.causes = causes(&sounds[outlier.bar], outlier, louder[outlier.bar]);
    }
    outliers.sort_by_key(|outlier| (outlier.bar, outlier.figure));
    let expected_ring_s = (0..sounds.len())
        .map(|i| {
            let values: Vec<Option<f64>> = sounds.iter().map(|sound| sound.ring_s[0].map(f64::ln)).collect();
            expected(sounds, &values, i).map(f64::exp)
        })
        .collect();
    Evenness { expected_ring_s, outliers }
}

/// What bar `i` would have by its neighbours.
fn expected(sounds: &[Sound], values: &[Option<f64>], i: usize) -> Option<f64> {
    let at = |j: usize| Some((f64::from(sounds[j].semitone - sounds[i].semitone), values[j]?));
    let near: Vec<(f64, f64)> =
        (0..sounds.len()).filter(|j| *j != i).filter_map(at).filter(|(x, _)| x.abs() <= f64::from(NEAR)).collect();
    if near.len() < LEAST {
        return None;
    }
    let slopes = near.iter().enumerate().flat_map(|(k, (xa, ya))| {
        near[k + 1..].iter().filter(move |(xb, _)| (xb - xa).abs() > 0.5).map(move |(xb, yb)| (yb - ya) / (xb - xa))
    });
    let slope = median(slopes.collect())?;
    median(near.iter().map(|(x, y)| y - slope * x).collect())
}

/// Distance from which on a bar stands out.
fn limit(off: &[Option<f64>], least: f64) -> f64 {
    let typical = median(off.iter().flatten().map(|off| off.abs()).collect());
    // 1.4826 times the median of distances is a normal row's standard deviation.
    typical.map_or(f64::INFINITY, |typical| (FAR * 1.4826 * typical).max(least))
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let last = values.len().checked_sub(1)?;
    Some(0.5 * (values[last / 2] + values[last.div_ceil(2)]))
}

/// Probable causes in the order in which they cost least to look at. Common practice, no source.
fn causes(sound: &Sound, outlier: &Outlier, louder_db: Option<f64>) -> Vec<String> {
    let mut causes = Vec::new();
    let mut say = |words: &str| causes.push(words.to_owned());
    let louder = louder_db.is_some_and(|db| db > 1.0);
    let softer = louder_db.is_some_and(|db| db < -1.0);
    match outlier.figure {
        Figure::Ring if outlier.by < 1.0 => {
            if louder {
                say(
                    "its tube stands nearer to it than its neighbours' do: louder and shorter go together; move the stopper a little",
                );
            }
            say("something touches it: post, felt, a neighbour; lift it and strike it free");
            say("the cord: rubbing, too tight, or not at its height");
            if let Some(miss) = sound.node_miss_mm.filter(|miss| *miss > 2.0) {
                causes.push(format!("its holes miss its nodes by {miss:.1} mm"));
            } else {
                causes.push("its holes miss its nodes: salt it on the cords".to_owned());
            }
            causes.push("a crack: tap both halves, look at the holes and the arch".to_owned());
            causes.push("damp wood or a finish that has not cured: weigh it, wait, strike it again".to_owned());
        }
        Figure::Ring if softer => {
            say("its tube is off its pitch: longer and softer go together; set the stopper");
            say("a tube that leaks: press the stopper");
        }
        Figure::Ring => say("better wood than its neighbours'; nothing is wrong with the bar itself"),
        Figure::Loudness if outlier.by < 0.0 => {
            say("its tube is off its pitch or leaks: move the stopper and listen");
            say("it was struck softer or recorded from farther off: strike it again beside its neighbours");
        }
        Figure::Loudness => {
            say("it was struck harder or recorded nearer: strike it again beside its neighbours");
            say("its tube stands nearer to it than its neighbours' do");
        }
        Figure::Mode2 | Figure::Mode3 => {
            say(
                "it was struck at another place: mode 2 sounds at a quarter of the length, mode 3 in the middle and near the ends",
            );
            say("a torsion mode beside it: strike the centre, then a corner");
            say("a cord or felt that damps it");
        }
    }
    causes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An even row of 49 bars whose rings fall by a fifth an octave and more, with a hand's spread.
    fn row() -> Vec<Sound> {
        (0..49)
            .map(|i| {
                // ±6 % in the ring and ±0.6 dB that repeat every seven bars: nothing but a hand's spread.
                let spread = f64::from((i * 5) % 7 - 3) / 3.0;
                Sound {
                    name: format!("note {i}"),
                    semitone: i,
                    ring_s: [Some(3.0 * (-0.06 * f64::from(i)).exp() * (1.0 + 0.06 * spread)), Some(0.6), Some(0.2)],
                    level_db: Some(-20.0 + 0.6 * spread),
                    balance_db: [Some(-12.0 - 0.1 * f64::from(i) + 0.8 * spread), None],
                    node_miss_mm: Some(0.5),
                }
            })
            .collect()
    }

    #[test]
    fn an_even_row_has_no_outliers() {
        let found = evenness(&row());
        assert!(found.outliers.is_empty(), "{:?}", found.outliers);
        // By its neighbours: within the hand's spread of 6 %.
        let wanted = 3.0 * (-0.06_f64 * 24.0).exp();
        assert!((found.expected_ring_s[24].unwrap() / wanted - 1.0).abs() < 0.06);
        // At the end of the row the line is carried on, not levelled out.
        assert!((found.expected_ring_s[0].unwrap() / 3.0 - 1.0).abs() < 0.09, "{:?}", found.expected_ring_s[0]);
    }

    #[test]
    fn dead_soft_and_loud_bars_are_named_with_what_to_look_at() {
        let mut sounds = row();
        sounds[10].ring_s[0] = sounds[10].ring_s[0].map(|s| 0.5 * s);
        sounds[10].node_miss_mm = Some(4.2);
        sounds[30].ring_s[0] = sounds[30].ring_s[0].map(|s| 1.6 * s);
        sounds[30].level_db = Some(-26.0);
        sounds[40].ring_s[0] = sounds[40].ring_s[0].map(|s| 0.55 * s);
        sounds[40].level_db = Some(-15.0);
        let found = evenness(&sounds).outliers;
        let told: Vec<(usize, Figure)> = found.iter().map(|outlier| (outlier.bar, outlier.figure)).collect();
        let expected = [
            (10, Figure::Ring),
            (30, Figure::Ring),
            (30, Figure::Loudness),
            (40, Figure::Ring),
            (40, Figure::Loudness),
        ];
        assert_eq!(told, expected);
        assert!((found[0].by - 0.5).abs() < 0.05 && found[0].causes.iter().any(|cause| cause.contains("4.2 mm")));
        assert!(found[0].causes[0].contains("touches"));
        assert!(found[1].causes[0].contains("tube is off"), "{:?}", found[1].causes);
        assert!(found[3].causes[0].contains("louder and shorter"), "{:?}", found[3].causes);
    }

    #[test]
    fn few_bars_tell_nothing() {
        let few: Vec<Sound> = row().into_iter().take(4).collect();
        let found = evenness(&few);
        assert!(found.outliers.is_empty() && found.expected_ring_s.iter().all(Option::is_none));
        assert!(evenness(&[]).outliers.is_empty());
    }
}
