//! Hours of each step from the record: the time between one entry and the next is taken for work on what the next is about.
use super::{Hours, Step};
use std::collections::{BTreeMap, BTreeSet};

/// An entry of the record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// Which bar, by any number.
    pub bar: usize,
    /// The step it belongs to.
    pub step: Step,
    /// When it was entered, in seconds from any moment.
    pub at_s: f64,
}

/// What a record tells.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Learnt {
    hours: BTreeMap<Step, Hours>,
}

/// A longer silence was a pause, or work on something else (judgement, no source).
const PAUSE_S: f64 = 3600.0;
/// Fewer bars tell nothing yet.
const LEAST_BARS: usize = 5;

impl Learnt {
    /// Hours of a step for each bar; `None` if the record does not tell them.
    pub fn hours(&self, step: Step) -> Option<Hours> {
        self.hours.get(&step).copied()
    }
}

/// Hours for each bar from all entries of a shop with one maker at the bench.
///
/// The first entry after a pause has no beginning and counts nothing, so that hours come out a little low; steps of the whole instrument (frame,
/// tubes, assembly) leave no entries of bars and are not learnt.
pub fn learn(entries: &[Entry]) -> Learnt {
    let mut sorted = entries.to_vec();
    sorted.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    let mut seconds: BTreeMap<Step, f64> = BTreeMap::new();
    for pair in sorted.windows(2) {
        let passed_s = pair[1].at_s - pair[0].at_s;
        // A table brought in at once has no times of its own.
        if passed_s > 1.0 && passed_s <= PAUSE_S {
            *seconds.entry(pair[1].step).or_default() += passed_s;
        }
    }
    let bars = |step: Step| {
        sorted.iter().filter(|entry| entry.step == step).map(|entry| entry.bar).collect::<BTreeSet<_>>().len()
    };
    let hours = seconds.into_iter().filter_map(|(step, seconds)| {
        let count = bars(step);
        (count >= LEAST_BARS)
            .then_some((step, Hours { per_bar: seconds / 3600.0 / count as f64, once: 0.0, from_bars: count }))
    });
    Learnt { hours: hours.collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_between_entries_is_shared_out_and_pauses_are_not_counted() {
        // Six bars, each rough tuned in three entries ten minutes apart, bars by turns, a night in the middle.
        let entries: Vec<Entry> = (0..18)
            .map(|i| Entry {
                bar: i % 6,
                step: Step::Rough,
                at_s: 600.0 * i as f64 + if i >= 9 { 50_000.0 } else { 0.0 },
            })
            .collect();
        let hours = learn(&entries).hours(Step::Rough).unwrap();
        // Seventeen gaps, one of them the night: 16 · 10 min for six bars.
        assert!((hours.per_bar - 16.0 / 36.0).abs() < 1e-9 && hours.from_bars == 6, "{hours:?}");
        assert!(learn(&entries).hours(Step::Fine).is_none());
        // Of four bars nothing is concluded, nor of a table that was brought in at once.
        assert!(learn(&entries[..4]).hours(Step::Rough).is_none());
        let at_once: Vec<Entry> = entries.iter().map(|entry| Entry { at_s: 0.0, ..*entry }).collect();
        assert!(learn(&at_once).hours(Step::Rough).is_none());
        assert!(learn(&[]).hours(Step::Rough).is_none());
    }
}
