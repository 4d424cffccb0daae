//! Pages about a whole instrument beside its frame: tubes, last cents, certificate, retuning.
use super::bars::Choice;
use super::frame::chosen;
use super::settings::number;
use super::{House, UnitsShown, record};
use crate::bench::hold;
use crate::certified::{self, Sealed, document::Given};
use crate::climate::KnownClimate;
use crate::error::Refused;
use crate::page::html::{certificate_page, fine_page, retune_page, tubes_page};
use crate::page::routes::refusal_page;
use crate::page::state::PageState;
use crate::report;
use crate::retuning::{Back, Triage, last_certificate};
use crate::sheets::job::{Job, SheetKind};
use crate::sheets::not_drawable;
use crate::tubing::{TubeNotes, TubeWishes};
use crate::whole_set::{WholeSet, sounds};
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{Form, Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::{Timestamp, ToSpan, tz::TimeZone};
use making::fine::{Class, Evenness, Judged, Sound, evenness, judge};
use making::retune::Minutes;
use making::tubes::Outline;
use paper::document::PaperSize;
use records::workshop::{Kind, Named, Workshop};
use std::collections::HashMap;

/// What stands behind the address: names and words, as a form sends them.
type Asked = HashMap<String, String>;

/// Whose page it is.
#[derive(Debug, Clone)]
pub struct OfSet {
    /// The workshop.
    pub house: House,
    /// The instrument.
    pub instrument: Choice,
    /// The fields of its form as they were sent.
    pub asked: Asked,
}

impl OfSet {
    /// A field as it was sent, else what is usual.
    pub fn field(&self, name: &str, usual: &str) -> String {
        self.asked.get(name).filter(|value| !value.trim().is_empty()).cloned().unwrap_or_else(|| usual.to_owned())
    }

    /// Whom the instrument is for.
    pub fn class(&self) -> Class {
        match self.field("class", "working").as_str() {
            "concert" => Class::Concert,
            "school" => Class::School,
            _ => Class::Working,
        }
    }
}

/// Finds the instrument and does `work` with the record.
fn with_set<T>(
    state: &PageState,
    asked: &Asked,
    work: impl FnOnce(&mut Workshop, &Named, &OfSet) -> Result<T, Refused>,
) -> Result<(OfSet, T), Refused> {
    let house = House::of(state.desk())?;
    let mut workshop = hold(record(state.desk())?);
    let known = workshop.list(Kind::Instrument)?;
    let named = chosen(&known, asked.get("instrument").map(String::as_str))?.clone();
    let instrument = Choice { id: named.uid.to_string(), name: named.name.clone() };
    let of = OfSet { house, instrument, asked: asked.clone() };
    let done = work(&mut workshop, &named, &of)?;
    Ok((of, done))
}

fn shown(page: Result<maud::Markup, Refused>) -> Response {
    match page {
        Ok(page) => Html(page.into_string()).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

fn asked(query: Result<Query<Asked>, QueryRejection>) -> Asked {
    query.map(|Query(asked)| asked).unwrap_or_default()
}

/// The tubes of an instrument.
pub async fn tubes(
    State(state): State<PageState>,
    UnitsShown(units): UnitsShown,
    query: Result<Query<Asked>, QueryRejection>,
) -> Response {
    let asked = asked(query);
    let made = state.with_desk(move |state| {
        with_set(state, &asked, |workshop, named, of| {
            let notes = TubeNotes::of_record(workshop, named.uid, &named.name)?;
            let drift = KnownClimate::of(workshop)?.coefficients.per_c.value;
            // A wish that cannot be is told on the page, whose form it is to be changed in.
            Ok(wishes(of, &notes, drift).and_then(|wishes| wishes.answer(&notes.notes)))
        })
    });
    shown(made.await.map(|(of, answer)| tubes_page(&of, &answer, units)))
}

fn wishes(of: &OfSet, notes: &TubeNotes, drift: f64) -> Result<TubeWishes, Refused> {
    let mut wishes = TubeWishes::default();
    let field = |name: &str, what: &str, unit: &str, range| number(what, &of.field(name, ""), unit, range);
    let bank = &mut wishes.bank;
    bank.bar_cents_per_c = drift;
    let reference = notes.reference;
    bank.temperature_c =
        field("temperature", "the temperature", "°C", 0.0..=45.0)?.or(reference.0).unwrap_or(bank.temperature_c);
    bank.humidity_percent =
        field("humidity", "the humidity", "%", 0.0..=95.0)?.or(reference.1).unwrap_or(bank.humidity_percent);
    let [coldest, warmest] = bank.played_c;
    bank.played_c = [
        field("coldest", "the coldest", "°C", 0.0..=45.0)?.unwrap_or(coldest.min(bank.temperature_c)),
        field("warmest", "the warmest", "°C", 0.0..=45.0)?.unwrap_or(warmest.max(bank.temperature_c)),
    ];
    bank.under_bar_radii = field("under_bar", "what the bar adds", "inner radii", -1.0..=3.0)?.unwrap_or(0.0);
    bank.offset_cents = field("offset", "the offset", "cents", -100.0..=100.0)?.unwrap_or(0.0);
    let ends = field("ends", "the outline's ends", "mm", 50.0..=2000.0)?;
    let middle = field("middle", "the outline's middle", "mm", 50.0..=2000.0)?;
    if let (Some(ends), Some(middle)) = (ends, middle) {
        wishes.outline = Outline::Arch { ends_m: ends * 1e-3, middle_m: middle * 1e-3 };
    }
    Ok(wishes)
}

/// What the page of the last cents shows.
#[derive(Debug, Clone)]
pub struct FineView {
    /// The set.
    pub set: WholeSet,
    /// Every bar's verdict.
    pub judged: Vec<Judged>,
    /// Rings and levels, where they were asked for.
    pub even: Option<(Vec<Sound>, Evenness)>,
}

/// Every bar before its last strokes.
pub async fn fine(State(state): State<PageState>, query: Result<Query<Asked>, QueryRejection>) -> Response {
    let asked = asked(query);
    let made = state.with_desk(move |state| {
        with_set(state, &asked, |workshop, named, of| {
            let set = WholeSet::of(workshop, named.uid, &named.name)?;
            let judged = judge(&set.fine_bars(Timestamp::now()), of.class());
            let even = if of.field("even", "") == "on" {
                let sounds = sounds(workshop, &set)?;
                let even = evenness(&sounds);
                Some((sounds, even))
            } else {
                None
            };
            Ok(FineView { set, judged, even })
        })
    });
    shown(made.await.map(|(of, view)| fine_page(&of, &view)))
}

/// What the certificate's page shows.
#[derive(Debug, Clone)]
pub struct CertificateView {
    /// The last one.
    pub last: Option<Sealed>,
    /// How many bars are good enough now, of how many; why none can be given, if none can.
    pub now: Result<(usize, usize), Refused>,
    /// What came of the last thing done.
    pub settled: Option<Result<String, Refused>>,
}

/// The certificate of an instrument.
pub async fn certificate(State(state): State<PageState>, query: Result<Query<Asked>, QueryRejection>) -> Response {
    let asked = asked(query);
    let made = state.with_desk(move |state| {
        let settled = state.settled();
        with_set(state, &asked, |workshop, named, of| {
            let last = last_certificate(workshop, named.uid, None)?.map(|(_, sealed)| sealed);
            let now = WholeSet::of(workshop, named.uid, &named.name).and_then(|set| {
                certified::Certificate::of(&set, &given(workshop, of)?)?;
                let judged = judge(&set.fine_bars(Timestamp::now()), of.class());
                let good = judged.iter().filter(|judged| judged.verdict == making::fine::Verdict::Good).count();
                Ok((good, judged.len()))
            });
            Ok(CertificateView { last, now, settled })
        })
    });
    shown(made.await.map(|(of, view)| certificate_page(&of, &view)))
}

fn given(workshop: &Workshop, of: &OfSet) -> Result<Given, Refused> {
    let date = Timestamp::now().to_zoned_datetime(TimeZone::system()).date();
    let years = number("the next visit", &of.field("next_visit", "2"), "years", 1.0..=20.0)?.unwrap_or(2.0);
    let by = of.field("by", "");
    Ok(Given {
        workshop: workshop.list(Kind::Workshop)?.first().map_or_else(String::new, |named| named.name.clone()),
        date,
        next_visit: date.checked_add((years.round() as i64).years()).unwrap_or(date),
        tuned_by: (!by.trim().is_empty()).then(|| by.trim().to_owned()),
        class: of.class(),
    })
}

/// Gives a certificate.
pub async fn give(State(state): State<PageState>, form: Result<Form<Asked>, FormRejection>) -> Response {
    let Ok(Form(asked)) = form else {
        return refusal_page(&Refused::new("form_unreadable", "this form could not be read", "open the page anew"));
    };
    let back = asked.get("instrument").cloned().unwrap_or_default();
    let done = state
        .with_desk(move |state| {
            with_set(state, &asked, |workshop, named, of| {
                if of.field("final", "") != "on" {
                    let hint = "say that the readings are final, then give it";
                    return Err(Refused::new("not_confirmed", "nothing was given", hint));
                }
                let set = WholeSet::of(workshop, named.uid, &named.name)?;
                let given = given(workshop, of)?;
                let sealed = certified::give(workshop, &set, &given, Timestamp::now())?;
                Ok(format!("certificate of {} bars, {}", sealed.certificate.bars.len(), sealed.certificate.date))
            })
        })
        .await;
    state.set_settled(done.map(|(_, words)| words));
    let safe: String = back.chars().filter(|c| c.is_ascii_hexdigit() || *c == '-').collect();
    Redirect::to(&format!("/certificate?instrument={safe}")).into_response()
}

/// The last certificate's file.
pub async fn certificate_file(State(state): State<PageState>, Path(name): Path<String>) -> Response {
    let asked = Asked::from([("instrument".to_owned(), name.trim_end_matches(".json").to_owned())]);
    let text = state.with_desk(move |state| {
        let none = |named: &Named| {
            Refused::new("not_found", format!("{} has no certificate", named.name), "give one on its page first")
        };
        with_set(state, &asked, |workshop, named, _| {
            last_certificate(workshop, named.uid, None)?.ok_or_else(|| none(named))?.1.text()
        })
    });
    match text.await {
        Ok((_, text)) => {
            let heads = [
                (header::CONTENT_TYPE, "application/json"),
                (header::CONTENT_DISPOSITION, "attachment; filename=\"certificate.json\""),
            ];
            (heads, text).into_response()
        }
        Err(refused) => refusal_page(&refused),
    }
}

/// What the page of a retuning shows.
#[derive(Debug, Clone)]
pub struct RetuneView {
    /// What is known of the instrument.
    pub back: Back,
    /// One for each pitch that was asked about; why not, if that cannot be.
    pub triages: Result<Vec<Triage>, Refused>,
}

/// What each bar of an instrument needs that is back.
pub async fn retune(
    State(state): State<PageState>,
    UnitsShown(units): UnitsShown,
    query: Result<Query<Asked>, QueryRejection>,
) -> Response {
    let asked = asked(query);
    let made = state.with_desk(move |state| {
        with_set(state, &asked, |workshop, named, of| {
            let back = Back::of(workshop, named.uid, &named.name, None)?;
            let usual = report::units::plain(back.set.order.a4_hz, 2);
            let pitches: Result<Vec<f64>, Refused> = of
                .field("a4", &usual)
                .split([';', ' '])
                .filter(|word| !word.is_empty())
                .filter_map(|word| number("A4", word, "Hz", 380.0..=480.0).transpose())
                .collect();
            let triages = pitches.map(|pitches| {
                pitches.iter().take(4).map(|hz| back.triage(*hz, of.class(), &Minutes::default())).collect()
            });
            Ok(RetuneView { back, triages })
        })
    });
    shown(made.await.map(|(of, view)| retune_page(&of, &view, units)))
}

/// The language a sheet is wanted in.
#[derive(Debug, serde::Deserialize)]
pub struct Spoken {
    /// Its tag.
    language: Option<String>,
}

/// A sheet of an instrument as PDF: the word of its kind, then the instrument's name in the record.
pub async fn sheet(
    State(state): State<PageState>,
    UnitsShown(units): UnitsShown,
    Path((word, name)): Path<(String, String)>,
    Query(spoken): Query<Spoken>,
) -> Response {
    // A tag that no catalogue has is no reason to print nothing.
    let language = spoken.language.as_deref().and_then(words::Language::of_tag).unwrap_or_default();
    let asked = Asked::from([("instrument".to_owned(), name.trim_end_matches(".pdf").to_owned())]);
    let made = state.with_desk(move |state| {
        with_set(state, &asked, |workshop, named, _| {
            let kind = SheetKind::named(&word).ok_or_else(|| {
                Refused::new("not_found", "there is no such sheet", "choose one on the instrument's pages")
            })?;
            let job = Job { workshop, named, units };
            let document = words::in_language(language, || job.document(kind, PaperSize::A4))?;
            let bytes = paper::pdf::render(&document).map_err(|error| not_drawable(&error))?;
            Ok((kind.word(), bytes))
        })
    });
    match made.await {
        Ok((_, (word, bytes))) => {
            let heads = [
                (header::CONTENT_TYPE, "application/pdf".to_owned()),
                (header::CONTENT_DISPOSITION, format!("inline; filename=\"{word}.pdf\"")),
            ];
            (heads, bytes).into_response()
        }
        Err(refused) => refusal_page(&refused),
    }
}
