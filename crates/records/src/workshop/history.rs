//! Which events stand: taking back, bringing back and correcting, worked out from the events alone.
use super::body::{Body, CorrectedRecord};
use super::error::RecordError;
use super::event::{Event, Uid};
use jiff::Timestamp;
use std::collections::HashMap;

/// All that happened to one thing, and what of it stands.
#[derive(Debug, Clone, Default)]
pub struct History {
    events: Vec<Event>,
    place: HashMap<Uid, usize>,
    /// Places of the actions that stand, oldest first; the last one is taken back next.
    standing: Vec<usize>,
    /// Places of the actions taken back, the last one is brought back next.
    taken_back: Vec<usize>,
}

/// An event that stands, with what it says after corrections.
#[derive(Debug, Clone, Copy)]
pub struct Standing<'a> {
    /// The event as it was entered.
    pub event: &'a Event,
    /// What holds now; differs from the event if it was corrected.
    pub body: &'a Body,
    /// The correction that holds, if any.
    pub corrected_by: Option<&'a Event>,
}

/// One line of a history as people read it: nothing is left out.
#[derive(Debug, Clone, Copy)]
pub struct Line<'a> {
    /// The event.
    pub event: &'a Event,
    /// What became of it.
    pub fate: Fate,
}

/// What became of an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It stands as entered.
    Stands,
    /// It was taken back.
    TakenBack,
    /// It was corrected, then.
    Corrected(Timestamp),
    /// It was struck out by a correction, then.
    StruckOut(Timestamp),
    /// It takes back, brings back or corrects another one.
    Concerns(Uid),
}

impl History {
    /// Follows events in the order they were entered.
    ///
    /// # Errors
    /// `nothing_to_undo`, `nothing_to_redo`, `not_the_last`, `not_found`, `already_undone` or `wrong_kind` at the first
    /// event that cannot have happened.
    pub fn follow(events: impl IntoIterator<Item = Event>) -> Result<Self, RecordError> {
        let mut history = Self::default();
        for event in events {
            history.push(event)?;
        }
        Ok(history)
    }

    /// Adds the next event.
    ///
    /// # Errors
    /// As [`History::follow`]; the history then stays as it was.
    pub fn push(&mut self, event: Event) -> Result<(), RecordError> {
        let place = self.events.len();
        match &event.entry.what {
            Body::Undone(name) => {
                let undone = self.next_to_undo().map(|event| event.uid);
                Self::expect_last(undone, name.event, "nothing_to_undo", "Nothing is left to take back.")?;
                self.taken_back.extend(self.standing.pop());
            }
            Body::Redone(name) => {
                let redone = self.next_to_redo().map(|event| event.uid);
                Self::expect_last(redone, name.event, "nothing_to_redo", "Nothing is left to bring back.")?;
                self.standing.extend(self.taken_back.pop());
            }
            what => {
                if let Body::Corrected(corrected) = what {
                    self.check_correction(corrected)?;
                }
                if place == 0 && !what.begins() {
                    return Err(RecordError::damaged(format!("a thing that begins with \"{}\"", what.word())));
                }
                self.standing.push(place);
                self.taken_back.clear();
            }
        }
        self.place.insert(event.uid, place);
        self.events.push(event);
        Ok(())
    }

    fn expect_last(
        found: Option<Uid>,
        wanted: Uid,
        code: &'static str,
        nothing: &'static str,
    ) -> Result<(), RecordError> {
        match found {
            Some(uid) if uid == wanted => Ok(()),
            Some(_) => Err(RecordError::new(
                "not_the_last",
                "Something else was entered meanwhile.",
                "Look at the history, then repeat the step.",
            )),
            None => Err(RecordError::new(code, nothing, "Look at the history.")),
        }
    }

    fn check_correction(&self, corrected: &CorrectedRecord) -> Result<(), RecordError> {
        let refuse = |code, message: &str, hint: &str| Err(RecordError::new(code, message, hint));
        let Some(&place) = self.place.get(&corrected.event) else {
            return refuse("not_found", "There is no such event in this history.", "Look at the history.");
        };
        let target = &self.events[place].entry.what;
        if !self.standing.contains(&place) {
            return refuse("already_undone", "That event was taken back.", "Enter it anew instead.");
        }
        match &corrected.to {
            _ if matches!(target, Body::Corrected(_)) => {
                refuse("wrong_kind", "A correction cannot be corrected.", "Correct the event itself once more.")
            }
            Some(to) if to.word() != target.word() => refuse(
                "wrong_kind",
                &format!("A \"{}\" cannot become a \"{}\".", target.word(), to.word()),
                "Strike it out, then enter the right one.",
            ),
            None if target.begins() => {
                refuse("wrong_kind", "What begins a record cannot be struck out.", "Discard the bar instead.")
            }
            _ => Ok(()),
        }
    }

    /// What would be taken back next; what begins a thing never is.
    pub fn next_to_undo(&self) -> Option<&Event> {
        let place = *self.standing.last()?;
        (place > 0).then(|| &self.events[place])
    }

    /// What would be brought back next.
    pub fn next_to_redo(&self) -> Option<&Event> {
        self.taken_back.last().map(|&place| &self.events[place])
    }

    /// Every event, oldest first.
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// What stands, oldest first, each with what holds after corrections; corrections themselves are left out.
    pub fn standing(&self) -> Vec<Standing<'_>> {
        let corrections = self.corrections();
        let as_it_holds = |&place: &usize| {
            let event = &self.events[place];
            match (&event.entry.what, corrections.get(&event.uid)) {
                (Body::Corrected(_), _) => None,
                (body, None) => Some(Standing { event, body, corrected_by: None }),
                (_, Some((by, corrected))) => {
                    corrected.to.as_ref().map(|body| Standing { event, body, corrected_by: Some(by) })
                }
            }
        };
        self.standing.iter().filter_map(as_it_holds).collect()
    }

    /// The last standing correction of each event.
    fn corrections(&self) -> HashMap<Uid, (&Event, &CorrectedRecord)> {
        let of = |&place: &usize| match &self.events[place].entry.what {
            Body::Corrected(corrected) => Some((corrected.event, (&self.events[place], &**corrected))),
            _ => None,
        };
        self.standing.iter().filter_map(of).collect()
    }

    /// Every event with what became of it, oldest first.
    pub fn lines(&self) -> Vec<Line<'_>> {
        let corrections = self.corrections();
        let fate = |event: &Event| match &event.entry.what {
            Body::Undone(name) | Body::Redone(name) => Fate::Concerns(name.event),
            _ if !self.standing.contains(&self.place[&event.uid]) => Fate::TakenBack,
            Body::Corrected(corrected) => Fate::Concerns(corrected.event),
            _ => match corrections.get(&event.uid) {
                Some((by, corrected)) if corrected.to.is_some() => Fate::Corrected(by.at),
                Some((by, _)) => Fate::StruckOut(by.at),
                None => Fate::Stands,
            },
        };
        self.events.iter().map(|event| Line { event, fate: fate(event) }).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workshop::body::{EventName, PersonRecord, RemarkRecord};
    use proptest::prelude::*;

    fn event(number: i64, what: Body) -> Event {
        Event { number, uid: Uid::fresh(), at: Timestamp::UNIX_EPOCH, entry: what.into() }
    }

    fn remark(text: &str) -> Body {
        Body::Remark(RemarkRecord { text: text.to_owned() })
    }

    fn begun() -> History {
        History::follow([event(0, Body::Person(PersonRecord { name: "a".to_owned() }))]).unwrap()
    }

    fn texts(history: &History) -> Vec<String> {
        let text = |standing: Standing| match standing.body {
            Body::Remark(remark) => Some(remark.text.clone()),
            _ => None,
        };
        history.standing().into_iter().filter_map(text).collect()
    }

    #[test]
    fn a_correction_changes_what_holds_and_keeps_the_old_words() {
        let mut history = begun();
        history.push(event(1, remark("old"))).unwrap();
        let name = history.events()[1].uid;
        let to = |body| Body::Corrected(Box::new(CorrectedRecord { event: name, to: body, why: None }));
        history.push(event(2, to(Some(remark("new"))))).unwrap();
        assert_eq!(texts(&history), ["new"]);
        assert_eq!(history.lines()[1].fate, Fate::Corrected(Timestamp::UNIX_EPOCH));
        assert!(matches!(&history.events()[1].entry.what, Body::Remark(remark) if remark.text == "old"));
        history.push(event(3, to(None))).unwrap();
        assert_eq!(texts(&history), Vec::<String>::new());
        // Taking the striking-out back lets the first correction hold again.
        let undo = Body::Undone(EventName { event: history.next_to_undo().unwrap().uid });
        history.push(event(4, undo)).unwrap();
        assert_eq!(texts(&history), ["new"]);
    }

    #[test]
    fn what_cannot_have_happened_is_refused() {
        let mut history = begun();
        let first = history.events()[0].uid;
        let code = |history: &mut History, what| history.push(event(9, what)).unwrap_err().code;
        assert_eq!(code(&mut history, Body::Undone(EventName { event: first })), "nothing_to_undo");
        assert_eq!(code(&mut history, Body::Redone(EventName { event: first })), "nothing_to_redo");
        let corrected = |event, to| Body::Corrected(Box::new(CorrectedRecord { event, to, why: None }));
        assert_eq!(code(&mut history, corrected(Uid::fresh(), None)), "not_found");
        assert_eq!(code(&mut history, corrected(first, None)), "wrong_kind");
        assert_eq!(code(&mut history, corrected(first, Some(remark("x")))), "wrong_kind");
        assert_eq!(history.events().len(), 1, "a refused event leaves no trace");
        assert_eq!(History::follow([event(0, remark("x"))]).unwrap_err().code, "damaged");
    }

    proptest! {
        /// Against a plain model: a list of texts and a list of texts taken back.
        #[test]
        fn undo_and_redo_behave_as_two_stacks(steps in proptest::collection::vec(0_u8..3, 0..60)) {
            let (mut history, mut done, mut undone) = (begun(), Vec::<String>::new(), Vec::<String>::new());
            for (number, step) in steps.into_iter().enumerate() {
                let what = match step {
                    0 => {
                        done.push(number.to_string());
                        undone.clear();
                        remark(&number.to_string())
                    }
                    1 => {
                        let Some(name) = history.next_to_undo().map(|e| e.uid) else {
                            prop_assert!(done.is_empty());
                            continue;
                        };
                        undone.extend(done.pop());
                        Body::Undone(EventName { event: name })
                    }
                    _ => {
                        let Some(name) = history.next_to_redo().map(|e| e.uid) else {
                            prop_assert!(undone.is_empty());
                            continue;
                        };
                        done.extend(undone.pop());
                        Body::Redone(EventName { event: name })
                    }
                };
                history.push(event(1 + number as i64, what)).unwrap();
                prop_assert_eq!(&texts(&history), &done);
            }
        }
    }
}
