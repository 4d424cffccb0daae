//! Whole tables into the record: salt tests of many bars, the rails of the standing frame.
use super::{moved_from_plan, tables};
use crate::convert::{mm, rounded};
use crate::error::Refused;
use crate::framing::{Framed, NodeRow, node_rows};
use jiff::Timestamp;
use making::frame::FacesPlayer;
use records::workshop::{Body, Face, FrameBuiltRecord, Named, NodeLine, SaltRecord, Uid, Workshop};
use std::path::Path;

/// A table's length and the record's may differ by so much before it is taken for another bar: a rule's millimetre.
const SAME_LENGTH_MM: f64 = 1.0;

/// Enters the salt tests of a table, all of them or, where one cannot be, none.
pub(in crate::cli) fn enter_salt(
    workshop: &mut Workshop,
    found: &Named,
    path: &Path,
    face: Option<Face>,
) -> Result<String, Refused> {
    let known = node_rows(workshop, found.uid, &found.name)?;
    let mut tests: Vec<(Uid, Body)> = Vec::new();
    for row in tables::read_nodes(path)?.iter().filter(|row| row.nodes.is_some()) {
        tests.push(salt_test(workshop, &known, row, face, &found.name)?);
    }
    if tests.is_empty() {
        let message = format!("{} holds no node lines", path.display());
        return Err(Refused::new("no_bars", message, "fill the four cells of the bars that were salted"));
    }
    let count = tests.len();
    let now = Timestamp::now();
    workshop.write(|step| tests.into_iter().try_for_each(|(uid, what)| step.add(uid, what.into(), now).map(drop)))?;
    Ok(format!(
        "{count} salt tests of {} are entered.\nNow the rails: barwright rails --instrument \"{}\"\n",
        found.name, found.name
    ))
}

fn salt_test(
    workshop: &Workshop,
    known: &[NodeRow],
    row: &NodeRow,
    face: Option<Face>,
    instrument: &str,
) -> Result<(Uid, Body), Refused> {
    let of_note = known.iter().find(|bar| bar.note.semitones_above_a4() == row.note.semitones_above_a4());
    let Some((bar, (uid, label))) = of_note.and_then(|bar| Some((bar, bar.of_record.clone()?))) else {
        let message = format!("{instrument} has no bar for {}", row.note);
        return Err(Refused::new(
            "no_such_bar",
            message,
            "give a bar that note first: barwright bar LABEL give NOTE --to NAME",
        ));
    };
    if (bar.length_mm - row.length_mm).abs() > SAME_LENGTH_MM {
        let message = format!(
            "{} is {} mm long in the table, bar {label} {} mm in the record",
            row.note, row.length_mm, bar.length_mm
        );
        return Err(Refused::new(
            "other_length",
            message,
            "measure it; if ends were sawn off, enter that: barwright bar LABEL trim",
        ));
    }
    let top = workshop.bar(uid)?.top;
    let face_up = face.or(top).ok_or_else(|| {
        let message = format!("the top face of bar {label}, {}, is not decided", row.note);
        Refused::new(
            "no_face",
            message,
            "say which face was up with --face A, or enter the top first: barwright bar LABEL top A",
        )
    })?;
    let Some(nodes) = row.nodes else {
        return Err(Refused::new("no_nodes", format!("{} has no node lines", row.note), "salt it"));
    };
    let length_m = mm(bar.length_mm);
    let nodes = nodes.checked(&row.note.to_string(), length_m)?.on_bench(length_m, FacesPlayer::LeftEnd);
    let line = |[near, far]: [f64; 2]| NodeLine {
        near_mm: rounded(near * 1e3, 3),
        centre_mm: None,
        far_mm: rounded(far * 1e3, 3),
    };
    Ok((uid, Body::Salt(SaltRecord { face_up, left: line(nodes.left_m), right: line(nodes.right_m), photo: None })))
}

/// Enters where the rails of the standing frame are.
pub(in crate::cli) fn enter_built(
    workshop: &mut Workshop,
    found: &Named,
    path: &Path,
    sigma_mm: f64,
) -> Result<String, Refused> {
    let built = FrameBuiltRecord { rails: tables::read_built(path)?, sigma_mm };
    let mut framed = Framed::of_record(workshop, found.uid, &found.name)?;
    framed.built = Some((built.clone(), Timestamp::now()));
    // Rails on which the bars cannot lie are refused before anything is kept.
    let standing = framed.standing()?;
    let moved = standing.and_then(|standing| moved_from_plan(&framed, &standing));
    let rails = built.rails.len();
    workshop.write(|step| step.add(found.uid, Body::FrameBuilt(built).into(), Timestamp::now()))?;
    let moved = moved.map_or_else(String::new, |mm| format!(" They stand up to {mm:.1} mm off the plan."));
    Ok(format!(
        "{rails} rails of {} are entered as they stand.{moved}\nNow the holes: barwright drill --instrument \"{}\"\n",
        found.name, found.name
    ))
}
