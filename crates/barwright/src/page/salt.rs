//! One bar's salt tests: entered by typing or by touching the bar drawn to scale, and what they say.
use super::html::salt_page;
use super::routes::{Which, refusal_page};
use super::state::{Notice, PageState, held};
use crate::bench::{Desk, hold};
use crate::convert::salted::{self, SaltedBar};
use crate::error::Refused;
use crate::report;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use making::frame::FaceAdvice;
use records::workshop::{Body, Entry, Face, NodeLine, SaltRecord, TopFaceRecord, Uid};
use records::{Length, LengthUnit};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What the page shows.
#[derive(Debug, Clone)]
pub struct SaltView {
    /// How the bar is addressed.
    pub id: String,
    /// Note and label.
    pub name: String,
    /// Whether the workshop is simulated.
    pub invented: bool,
    /// The tests.
    pub bar: SaltedBar,
    /// The ways of laying the bar, and whether the rails' angles come from the row's own bars.
    pub advice: Option<(FaceAdvice, bool)>,
    /// What came of the last thing done.
    pub notice: Option<Notice>,
}

impl SaltView {
    /// The salt tests of the bar of that name.
    ///
    /// # Errors
    /// [`Refused`] `not_found` where there is no record or no such bar.
    pub fn of(desk: &Desk, name: &str, notice: Option<Notice>) -> Result<Self, Refused> {
        let (workshop, uid) = of_record(desk, name)?;
        let workshop = hold(workshop);
        let (state, bar) = (workshop.bar(uid)?, SaltedBar::of(&workshop, uid)?);
        let (rails, from_bars) = salted::slopes(&workshop, uid, bar.row)?;
        Ok(Self {
            id: name.to_owned(),
            name: match state.file.note() {
                Some(note) => format!("{note}, bar {}", state.label),
                None => format!("Bar {}", state.label),
            },
            invented: desk.invented(),
            advice: bar.faces(rails).map(|advice| (advice, from_bars)),
            bar,
            notice,
        })
    }
}

pub(super) fn of_record<'a>(desk: &'a Desk, name: &str) -> Result<(&'a crate::bench::SharedWorkshop, Uid), Refused> {
    // Also refuses what is no bar.
    desk.bench(name)?;
    match (desk.workshop(), name.parse::<Uid>()) {
        (Some(workshop), Ok(uid)) => Ok((workshop, uid)),
        _ => Err(Refused::new(
            "not_found",
            "a bar file by itself keeps no salt tests",
            "a workshop's record does: barwright workshop new",
        )),
    }
}

/// The page.
pub(super) async fn page(State(state): State<PageState>, Which(name): Which) -> Response {
    let notice = state.notice(&name);
    match state.with_desk(move |state| SaltView::of(state.desk(), &name, notice)).await {
        Ok(view) => Html(salt_page(&view).into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// A salt test as the page's form sends it: figures as they were read, each line from the end that was said.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct SaltForm {
    face: String,
    #[serde(default)]
    unit: String,
    left_from: String,
    left_near: String,
    #[serde(default)]
    left_centre: String,
    left_far: String,
    right_from: String,
    right_near: String,
    #[serde(default)]
    right_centre: String,
    right_far: String,
}

/// Enters a salt test.
pub(super) async fn enter(
    State(state): State<PageState>,
    Which(name): Which,
    form: Result<Form<SaltForm>, FormRejection>,
) -> Response {
    let unreadable =
        || Refused::new("salt_unreadable", "the salt test could not be read", "give the face and four figures");
    let outcome = match form {
        Ok(Form(form)) => {
            let name = name.clone();
            state.with_desk(move |state| write(state.desk(), &name, |length_mm| of_form(&form, length_mm))).await
        }
        Err(_) => Err(unreadable()),
    };
    told(&state, &name, outcome, "The salt test was not entered")
}

/// The top face as the page's form sends it.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct TopForm {
    top: String,
    #[serde(default)]
    why: String,
}

/// Enters which face is the top.
pub(super) async fn top(
    State(state): State<PageState>,
    Which(name): Which,
    form: Result<Form<TopForm>, FormRejection>,
) -> Response {
    let outcome = match form {
        Ok(Form(form)) => {
            let name = name.clone();
            state
                .with_desk(move |state| {
                    write(state.desk(), &name, |_| {
                        let why = Some(form.why.trim().to_owned()).filter(|why| !why.is_empty());
                        Ok((Body::TopFace(TopFaceRecord { top: face(&form.top)?, why }), BTreeMap::new()))
                    })
                })
                .await
        }
        Err(_) => Err(Refused::new("top_unreadable", "the face could not be read", "choose A or B")),
    };
    told(&state, &name, outcome, "The top face was not entered")
}

/// What came of it, on the page from which it was sent.
fn told(state: &PageState, name: &str, outcome: Result<String, Refused>, what: &'static str) -> Response {
    if state.desk().bench(name).is_err() {
        return outcome.err().map_or_else(|| Redirect::to("/").into_response(), |why| refusal_page(&why));
    }
    state.set_notice(name, outcome.map_or_else(|why| Notice::Refused { what, why }, Notice::Entered));
    Redirect::to(&format!("/salt/{name}")).into_response()
}

type Said = (Body, BTreeMap<String, String>);

/// Writes what `said` makes of the bar's length; returns it in words.
fn write(desk: &Desk, name: &str, said: impl FnOnce(f64) -> Result<Said, Refused>) -> Result<String, Refused> {
    let (workshop, uid) = of_record(desk, name)?;
    let length_mm = hold(workshop).bar(uid)?.file.outline().length_mm();
    let (what, entered) = said(length_mm)?;
    write_entry(desk, name, Entry { entered, ..what.into() })
}

/// Enters it for the bar of that name; returns it in words.
pub(super) fn write_entry(desk: &Desk, name: &str, entry: Entry) -> Result<String, Refused> {
    let (workshop, uid) = of_record(desk, name)?;
    let words = report::record::what(&entry.what);
    hold(workshop).write(|step| step.add(uid, entry, jiff::Timestamp::now()))?;
    let bench = desk.bench(name)?;
    held(&bench).refresh()?;
    Ok(words)
}

pub(super) fn face(word: &str) -> Result<Face, Refused> {
    match word {
        "A" => Ok(Face::A),
        "B" => Ok(Face::B),
        _ => Err(Refused::new("no_face", format!("\"{word}\" is no face of a bar"), "choose A or B")),
    }
}

/// The test that a form tells, in millimetres from the left end; with the figures that were written otherwise.
fn of_form(form: &SaltForm, length_mm: f64) -> Result<Said, Refused> {
    let bare = if form.unit == "in" { LengthUnit::Inch } else { LengthUnit::Mm };
    let mut entered = BTreeMap::new();
    let mut figure = |key: &str, words: &str, from: &str, text: &str| {
        let length = Length::parse(text.trim(), bare).map_err(|error| {
            Refused::new("wrong_length", format!("{words}: {error}"), "give the distance from the end that is chosen")
        })?;
        if bare == LengthUnit::Inch || from == "right" {
            let unit = if bare == LengthUnit::Inch { " in" } else { " mm" };
            let unit = if text.trim().ends_with(|c: char| c.is_ascii_digit()) { unit } else { "" };
            entered.insert(key.to_owned(), format!("{}{unit} from the {from} end", text.trim()));
        }
        Ok::<f64, Refused>(if from == "right" { length_mm - length.mm } else { length.mm })
    };
    let mut line = |side: &str, from: &str, [near, centre, far]: [&str; 3]| {
        Ok::<NodeLine, Refused>(NodeLine {
            near_mm: figure(&format!("{side}.near_mm"), &format!("The {side} line at the near edge"), from, near)?,
            centre_mm: if centre.trim().is_empty() {
                None
            } else {
                Some(figure(&format!("{side}.centre_mm"), &format!("The {side} line in the middle"), from, centre)?)
            },
            far_mm: figure(&format!("{side}.far_mm"), &format!("The {side} line at the far edge"), from, far)?,
        })
    };
    let salt = SaltRecord {
        face_up: face(&form.face)?,
        left: line("left", &form.left_from, [&form.left_near, &form.left_centre, &form.left_far])?,
        right: line("right", &form.right_from, [&form.right_near, &form.right_centre, &form.right_far])?,
        photo: None,
    };
    salted::as_read(&salt).checked(length_mm * 1e-3)?;
    Ok((Body::Salt(salt), entered))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(from: &str, right: [&str; 2], unit: &str) -> SaltForm {
        let text = str::to_owned;
        SaltForm {
            face: text("A"),
            unit: text(unit),
            left_from: text("left"),
            left_near: text("4"),
            left_centre: String::new(),
            left_far: text("4 1/8"),
            right_from: text(from),
            right_near: text(right[0]),
            right_centre: String::new(),
            right_far: text(right[1]),
        }
    }

    #[test]
    fn lines_are_counted_from_the_left_end_whichever_end_they_were_read_from() {
        let (Body::Salt(salt), entered) = of_form(&form("right", ["4", "4 1/8"], "in"), 470.0).unwrap() else {
            panic!("a salt test")
        };
        // An inch is 25.4 mm exactly.
        assert!((salt.left.far_mm - 104.775).abs() < 1e-9 && (salt.right.near_mm - 368.4).abs() < 1e-9, "{salt:?}");
        assert_eq!(entered["right.near_mm"], "4 in from the right end");
        let refused = of_form(&form("left", ["x", "4"], "in"), 470.0).unwrap_err();
        assert!(refused.message.contains("The right line at the near edge"), "{refused:?}");
        // Both lines from the left end at the same place.
        assert_eq!(of_form(&form("left", ["4", "4 1/8"], "in"), 470.0).unwrap_err().code, "lines_in_one_place");
    }
}
