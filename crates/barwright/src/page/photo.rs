//! A salt test from a photograph: sent, marked by touch, read, and entered only after the maker has seen what was read.
use super::html::{photo_page, send_page};
use super::routes::{Which, refusal_page};
use super::salt::{face, of_record, write_entry};
use super::state::{Notice, PageState};
use super::upload;
use crate::bench::{Desk, hold};
use crate::convert::salted::SaltedBar;
use crate::error::Refused;
use crate::photo::{self, Marks, PhotographedBar, Picture};
use axum::extract::multipart::MultipartRejection;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, FromRequestParts, Multipart, Path, Query, State};
use axum::http::header;
use axum::http::request::Parts;
use axum::response::{Html, IntoResponse, Redirect, Response};
use making::frame::{Doubt, PhotoReading, PictureSize};
use records::workshop::{Body, Entry, Face, PhotoFormat, SaltRecord, TickRecord};
use records::{Length, LengthUnit};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashMap};

/// A photograph by its file's name: nothing but the figures of a SHA-256 and one of two ends may pass.
#[derive(Debug, Clone)]
pub struct PhotoFile {
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// How it is kept.
    pub format: PhotoFormat,
}

impl PhotoFile {
    fn of_name(name: &str) -> Option<Self> {
        let (sha256, end) = name.split_once('.')?;
        let is_name = sha256.len() == 64 && sha256.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
        let format = [PhotoFormat::Jpeg, PhotoFormat::Png].into_iter().find(|format| format.extension() == end)?;
        is_name.then(|| Self { sha256: sha256.to_owned(), format })
    }

    /// Its name.
    pub fn name(&self) -> String {
        format!("{}.{}", self.sha256, self.format.extension())
    }

    fn picture(&self, desk: &Desk) -> Result<Picture, Refused> {
        let none = || Refused::new("not_found", "there is no record that keeps photographs", "barwright workshop new");
        let workshop = desk.workshop().ok_or_else(none)?;
        let bytes = hold(workshop).photos().read(&self.sha256, self.format)?;
        Picture::of_bytes(bytes)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for PhotoFile {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Response> {
        let named = Path::<HashMap<String, String>>::from_request_parts(parts, state).await;
        let name = named.ok().and_then(|Path(mut names)| names.remove("file")).unwrap_or_default();
        Self::of_name(&name).ok_or_else(|| {
            let hint = "open it from the bar's salt page or its history";
            refusal_page(&Refused::new("not_found", "there is no such photograph", hint))
        })
    }
}

/// What stands on the page of one photograph.
#[derive(Debug, Clone)]
pub struct PhotoView {
    /// How the bar is addressed.
    pub id: String,
    /// The bar.
    pub bar: PhotographedBar,
    /// Whether the workshop is simulated.
    pub invented: bool,
    /// The photograph.
    pub file: PhotoFile,
    /// Its size as it is looked at.
    pub size: PictureSize,
    /// What was sent with the marks, to be shown again.
    pub sent: MarksForm,
    /// What was read from them.
    pub read: Option<Result<ReadOff, Refused>>,
}

/// What was read from a photograph, before it is entered.
#[derive(Debug, Clone)]
pub struct ReadOff {
    /// The lines, with how sure they are.
    pub reading: PhotoReading,
    /// As the record would keep it.
    pub salt: SaltRecord,
    /// What is doubtful: about the photograph, and as about a typed test.
    pub doubts: Vec<Doubt>,
    /// The marks as the strip's address carries them.
    pub marks: String,
}

/// What the page's form sends: marks as its script wrote them, readings of the ticks as the maker did.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct MarksForm {
    /// JSON of [`Marked`].
    #[serde(default)]
    pub marks: String,
    /// "A" or "B".
    #[serde(default)]
    pub face: String,
    /// Unit of bare readings: "mm" or "in".
    #[serde(default)]
    pub unit: String,
    /// What the ruler says at the first tick.
    #[serde(default)]
    pub tick_1: String,
    /// At the second.
    #[serde(default)]
    pub tick_2: String,
    /// At the third.
    #[serde(default)]
    pub tick_3: String,
    /// "read" or "enter".
    #[serde(default)]
    pub to_do: String,
}

/// Marks on the page: each of the places that are asked for, or none yet.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Marked {
    corners: [Option<[f64; 2]>; 4],
    left: [Option<[f64; 2]>; 3],
    right: [Option<[f64; 2]>; 3],
    ticks: [Option<[f64; 2]>; 3],
}

impl MarksForm {
    fn face(&self) -> Result<Face, Refused> {
        face(if self.face.is_empty() { "A" } else { &self.face })
    }

    fn marks(&self) -> Result<Marks, Refused> {
        let unreadable = || Refused::new("marks_unreadable", "the marks could not be read", "mark the photograph anew");
        let marked: Marked = serde_json::from_str(&self.marks).map_err(|_| unreadable())?;
        let missing = |what: &str| {
            Refused::new("marks_missing", format!("{what} is not marked yet"), "touch it in the photograph")
        };
        const CORNERS: [&str; 4] = ["left near", "right near", "right far", "left far"];
        let mut corners_px = [[0.0; 2]; 4];
        for ((corner, mark), name) in corners_px.iter_mut().zip(marked.corners).zip(CORNERS) {
            *corner = mark.ok_or_else(|| missing(&format!("the {name} corner")))?;
        }
        let line = |side: &str, [near, middle, far]: [Option<[f64; 2]>; 3]| {
            let near = near.ok_or_else(|| missing(&format!("the {side} line at the near edge")))?;
            let far = far.ok_or_else(|| missing(&format!("the {side} line at the far edge")))?;
            Ok::<_, Refused>([Some(near), middle, Some(far)].into_iter().flatten().collect())
        };
        let readings = [&self.tick_1, &self.tick_2, &self.tick_3];
        let ruler = marked.ticks.into_iter().zip(readings).enumerate().filter_map(|(index, (mark, reading))| {
            let px = mark?;
            let reads_mm = self.reading_mm(index + 1, reading);
            Some(reads_mm.map(|reads_mm| TickRecord { px, reads_mm }))
        });
        Ok(Marks {
            corners_px,
            left_px: line("left", marked.left)?,
            right_px: line("right", marked.right)?,
            ruler: ruler.collect::<Result<_, _>>()?,
        })
    }

    fn reading_mm(&self, number: usize, text: &str) -> Result<f64, Refused> {
        let bare = if self.unit == "in" { LengthUnit::Inch } else { LengthUnit::Mm };
        let hint = "write what the ruler says at that tick, or take the tick's mark away";
        let length = Length::parse(text.trim(), bare)
            .map_err(|error| Refused::new("wrong_length", format!("tick {number} of the ruler: {error}"), hint))?;
        Ok(length.mm)
    }

    /// As the maker wrote the readings, where they were not plain millimetres.
    fn entered(&self) -> BTreeMap<String, String> {
        let readings = [&self.tick_1, &self.tick_2, &self.tick_3].into_iter().enumerate();
        readings
            .filter(|(_, text)| self.unit == "in" && !text.trim().is_empty())
            .map(|(index, text)| (format!("photo.ruler[{index}].reads_mm"), format!("{} in", text.trim())))
            .collect()
    }
}

fn photographed(desk: &Desk, name: &str) -> Result<(PhotographedBar, SaltedBar), Refused> {
    let (workshop, uid) = of_record(desk, name)?;
    let workshop = hold(workshop);
    let (state, salted) = (workshop.bar(uid)?, SaltedBar::of(&workshop, uid)?);
    let name = match state.file.note() {
        Some(note) => format!("{note}, bar {}", state.label),
        None => format!("Bar {}", state.label),
    };
    Ok((PhotographedBar { name, length_m: salted.length_m, width_m: salted.width_m }, salted))
}

/// Where a photograph is sent from.
pub(super) async fn send(State(state): State<PageState>, Which(name): Which) -> Response {
    let notice = state.notice(&name);
    let shown = state
        .with_desk(move |state| {
            let (bar, _) = photographed(state.desk(), &name)?;
            Ok(send_page(&name, &bar, state.desk().invented(), notice.as_ref()).into_string())
        })
        .await;
    shown.map_or_else(|refused| refusal_page(&refused), |page| Html(page).into_response())
}

/// Keeps a photograph as it came, and leads on to its page.
pub(super) async fn sent(
    State(state): State<PageState>,
    Which(name): Which,
    form: Result<Multipart, MultipartRejection>,
) -> Response {
    let broken = || Refused::new("upload_broken", "this was not a form with a photograph", "choose a photograph");
    let kept = match form {
        Ok(form) => match upload::read_photo(form).await {
            Ok(bytes) => {
                let name = name.clone();
                state.with_desk(move |state| keep(state.desk(), &name, bytes)).await
            }
            Err(refused) => Err(refused),
        },
        Err(_) => Err(broken()),
    };
    match kept {
        Ok(file) => Redirect::to(&format!("/salt/{name}/photo/{}", file.name())).into_response(),
        Err(why) if why.code == "not_found" => refusal_page(&why),
        Err(why) => {
            state.set_notice(&name, Notice::Refused { what: "The photograph was not kept", why });
            Redirect::to(&format!("/salt/{name}/photo")).into_response()
        }
    }
}

fn keep(desk: &Desk, name: &str, bytes: Vec<u8>) -> Result<PhotoFile, Refused> {
    let (workshop, _) = of_record(desk, name)?;
    let picture = Picture::of_bytes(bytes)?;
    // Read once now: a picture that breaks off halfway is better refused before it is marked.
    picture.pixels()?;
    let mut workshop = hold(workshop);
    let kept = photo::keep(&workshop, &picture)?;
    workshop.write(|step| step.photo_kept(&kept))?;
    Ok(PhotoFile { sha256: kept.sha256, format: kept.format })
}

/// The photograph, to be marked.
pub(super) async fn mark(State(state): State<PageState>, Which(name): Which, file: PhotoFile) -> Response {
    let view = state.with_desk(move |state| view(state.desk(), &name, file, MarksForm::default(), false)).await;
    shown(view)
}

fn shown(view: Result<PhotoView, Refused>) -> Response {
    view.map_or_else(|refused| refusal_page(&refused), |view| Html(photo_page(&view).into_string()).into_response())
}

/// What the marks say; entered if the maker has seen that.
pub(super) async fn marked(
    State(state): State<PageState>,
    Which(name): Which,
    file: PhotoFile,
    form: Result<Form<MarksForm>, FormRejection>,
) -> Response {
    let Ok(Form(form)) = form else {
        let why = Refused::new("marks_unreadable", "the marks could not be read", "mark the photograph anew");
        return refusal_page(&why);
    };
    let (enter, bar) = (form.to_do == "enter", name.clone());
    let done = state
        .with_desk(move |state| {
            let view = view(state.desk(), &bar, file, form, true)?;
            match &view.read {
                Some(Ok(read)) if enter => Ok((view.clone(), Some(entered(state.desk(), &bar, &view.sent, read)?))),
                _ => Ok((view, None)),
            }
        })
        .await;
    match done {
        Ok((_, Some(words))) => {
            state.set_notice(&name, Notice::Entered(words));
            Redirect::to(&format!("/salt/{name}")).into_response()
        }
        other => shown(other.map(|(view, _)| view)),
    }
}

fn entered(desk: &Desk, name: &str, sent: &MarksForm, read: &ReadOff) -> Result<String, Refused> {
    let entry = Entry { entered: sent.entered(), ..Body::Salt(read.salt.clone()).into() };
    write_entry(desk, name, entry)
}

fn view(desk: &Desk, name: &str, file: PhotoFile, sent: MarksForm, read: bool) -> Result<PhotoView, Refused> {
    let (bar, salted) = photographed(desk, name)?;
    let picture = file.picture(desk)?;
    let read = read.then(|| read_off(&bar, &salted, &sent, &picture));
    let (id, size) = (name.to_owned(), picture.size);
    Ok(PhotoView { id, bar, invented: desk.invented(), file, size, sent, read })
}

fn read_off(
    bar: &PhotographedBar,
    salted: &SaltedBar,
    sent: &MarksForm,
    picture: &Picture,
) -> Result<ReadOff, Refused> {
    let marks = sent.marks()?;
    let reading = bar.read(&marks, picture.size)?;
    let salt = PhotographedBar::salt(&reading, sent.face()?, &marks, picture);
    let mut doubts = reading.doubts.clone();
    doubts.extend(salted.doubts_about(&salt, &bar.name)?);
    let marks = serde_json::to_string(&marks).map_err(|e| Refused::new("marks_unreadable", e.to_string(), ""))?;
    Ok(ReadOff { reading, salt, doubts, marks })
}

/// The marks of which a strip is asked.
#[derive(Debug, Deserialize)]
pub(super) struct StripQuery {
    marks: String,
}

/// The bar cut out of the photograph and laid straight.
pub(super) async fn strip(
    State(state): State<PageState>,
    Which(name): Which,
    file: PhotoFile,
    Query(query): Query<StripQuery>,
) -> Response {
    let drawn = state
        .with_desk(move |state| {
            let (bar, _) = photographed(state.desk(), &name)?;
            let picture = file.picture(state.desk())?;
            let reading = bar.read(&Marks::parse(&query.marks)?, picture.size)?;
            photo::to_png(&photo::strip(&picture.pixels()?, &reading, [bar.length_m, bar.width_m]))
        })
        .await;
    match drawn {
        Ok(png) => ([(header::CONTENT_TYPE, "image/png")], png).into_response(),
        Err(refused) => refusal_page(&refused),
    }
}

/// A photograph, upright; it is named by its contents, so that it never changes.
pub(super) async fn picture(State(state): State<PageState>, file: PhotoFile) -> Response {
    let bytes = state.with_desk(move |state| file.picture(state.desk())?.upright()).await;
    match bytes {
        Ok((bytes, format)) => {
            let kept = (header::CACHE_CONTROL, "private, max-age=31536000, immutable");
            let kind = if format == PhotoFormat::Jpeg { "image/jpeg" } else { "image/png" };
            ([(header::CONTENT_TYPE, kind), kept], bytes).into_response()
        }
        Err(refused) => refusal_page(&refused),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_reaches_outside_the_photographs() {
        let name = "a".repeat(64);
        assert_eq!(PhotoFile::of_name(&format!("{name}.jpg")).unwrap().name(), format!("{name}.jpg"));
        for wrong in [
            String::new(),
            "..".to_owned(),
            format!("{name}.gif"),
            format!("../{}.jpg", "a".repeat(61)),
            format!("{}.png", "A".repeat(64)),
            name,
        ] {
            assert!(PhotoFile::of_name(&wrong).is_none(), "{wrong}");
        }
    }

    #[test]
    fn what_is_not_marked_yet_is_named() {
        let mark = "[1,2]";
        let form = |corners: &str, left: &str, tick: &str| MarksForm {
            marks: format!(
                r#"{{"corners":[{corners}],"left":[{left}],"right":[{mark},null,{mark}],"ticks":[{mark},null,null]}}"#
            ),
            tick_1: tick.to_owned(),
            unit: "in".to_owned(),
            ..MarksForm::default()
        };
        let four = [mark; 4].join(",");
        let words = |form: MarksForm| form.marks().unwrap_err().message;
        assert!(words(form("[1,2],[1,2],null,[1,2]", "null,null,null", "1")).contains("right far corner"));
        assert!(words(form(&four, "[1,2],null,null", "1")).contains("left line at the far edge"));
        assert!(words(form(&four, "[1,2],null,[1,2]", "")).contains("Tick 1"));
        let marks = form(&four, "[1,2],null,[1,2]", "1 1/2").marks().unwrap();
        // An inch is 25.4 mm exactly.
        assert!((marks.ruler[0].reads_mm - 38.1).abs() < 1e-9 && marks.left_px.len() == 2);
        assert_eq!(MarksForm::default().marks().unwrap_err().code, "marks_unreadable");
    }
}
