//! The maker's hand on a new bar, as the record's earlier bars have taught it.
use crate::convert;
use crate::error::Refused;
use making::Hand;
use records::workshop::{BarState, Body, Uid, Workshop};
use records::{BarFile, HandRecord};

/// So many bars teach a hand; older ones are of a worn-out belt.
const MOST_BARS: usize = 3;
/// So many bars are looked at for some of the same wood.
const MOST_LOOKED_AT: usize = 24;

/// The earlier bars that tell of the hand that cuts a bar, as they stand.
#[derive(Debug, Clone, Default)]
pub struct Teachers(Vec<Teacher>);

#[derive(Debug, Clone)]
struct Teacher {
    label: String,
    file: BarFile,
}

impl PartialEq for Teachers {
    fn eq(&self, other: &Self) -> bool {
        let said = |teachers: &Self| teachers.0.iter().map(|t| t.file.text().to_owned()).collect::<Vec<_>>();
        said(self) == said(other)
    }
}

impl Teachers {
    /// The last bars cut before this one by the same person, with the same belt or tool, of the same wood, as far as the
    /// record knows these. While the bar is uncut, person and belt are those of the workshop's last cut.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn of(workshop: &Workshop, bar: Uid) -> Result<Self, Refused> {
        let first = workshop.first_cut(bar)?;
        let earlier = workshop.bars_cut_before(first.map_or(i64::MAX, |cut| cut.event))?;
        let Some(cut) = first.or_else(|| earlier.first().copied()) else { return Ok(Self::default()) };
        let wood = wood_of(workshop, &workshop.bar(bar)?)?;
        let mut found = Vec::new();
        let same = earlier.iter().filter(|other| (other.by, other.with) == (cut.by, cut.with) && other.bar != bar);
        for other in same.take(MOST_LOOKED_AT) {
            let state = workshop.bar(other.bar)?;
            if wood_of(workshop, &state)? == wood && teaches(&state.file) {
                found.push(Teacher { label: state.label, file: state.file });
            }
            if found.len() == MOST_BARS {
                break;
            }
        }
        Ok(Self(found))
    }

    /// What they teach; `None` if they teach nothing.
    pub fn hand(&self) -> Option<HandRecord> {
        let learnt: Vec<(String, Hand)> = self
            .0
            .iter()
            // A bar whose log cannot be believed is not this bar's trouble.
            .filter_map(|t| Some((t.label.clone(), convert::believe(&t.file).ok()?.hand_learnt())))
            .collect();
        let (from, hands): (Vec<String>, Vec<Hand>) = learnt.into_iter().unzip();
        (!hands.is_empty()).then(|| convert::hand_record(&Hand::expected_after(&hands), Some(from)))
    }
}

/// The bar as its file would say it, with the hand that earlier bars taught unless it names one itself.
///
/// # Errors
/// [`Refused`] if the record cannot be read.
pub fn file_of(workshop: &Workshop, bar: Uid) -> Result<BarFile, Refused> {
    let file = workshop.bar(bar)?.file;
    if file.record().hand.is_some() {
        return Ok(file);
    }
    with(file, Teachers::of(workshop, bar)?.hand().as_ref())
}

/// The bar with that hand, unless it names one itself.
///
/// # Errors
/// [`Refused`] if the hand is not a possible one.
pub fn with(file: BarFile, hand: Option<&HandRecord>) -> Result<BarFile, Refused> {
    match hand {
        Some(hand) if file.record().hand.is_none() => Ok(file.with_hand(hand.clone())?),
        _ => Ok(file),
    }
}

/// A cut and a reading or caliper after it; from common practice, not from a hand given by someone.
fn teaches(file: &BarFile) -> bool {
    let keys: Vec<&str> = file.log().iter().map(records::LogEntry::key).collect();
    let cut = keys.iter().position(|key| *key == "cut");
    file.record().hand.is_none()
        && cut.is_some_and(|cut| keys[cut..].iter().any(|key| matches!(*key, "heard" | "caliper" | "shaped")))
}

/// The name of its wood, in small letters; from the board it was cut from, or else from the bar.
fn wood_of(workshop: &Workshop, bar: &BarState) -> Result<Option<String>, Refused> {
    let of_board = match bar.board {
        Some(board) => workshop.history(board)?.standing().iter().rev().find_map(|standing| match standing.body {
            Body::Board(board) => board.wood.clone(),
            _ => None,
        }),
        None => None,
    };
    let of_bar = || bar.file.record().wood.as_ref().and_then(|wood| wood.name.clone());
    Ok(of_board.or_else(of_bar).map(|name| name.trim().to_lowercase()))
}
