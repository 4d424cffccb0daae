//! Sheets of an instrument in the record.
use super::{PICTURE, picture, table};
use crate::certified::Sealed;
use crate::error::{Refused, sentence};
use crate::framing::{Framed, NodeRow};
use crate::report;
use crate::report::certificate::{ADVICE, method_words, seal_words};
use crate::report::units::{Units, cents, plain};
use crate::retuning::{Back, Triage};
use making::frame::{DrilledBar, FramePlan, Hole};
use making::tubes::PlannedTube;
use paper::listing::{Column, Listing, Part};
use paper::sheets::{CentsAlong, CentsBar, cents_along, frame_view};

/// Tubes: where stoppers stand at two temperatures, travel, what to cut.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn tubes(answer: &report::tubes::Answer, units: Units) -> Result<Listing, Refused> {
    let mm = |m: f64| units.place_figure(m * 1e3);
    let bank = &answer.bank;
    let row = |tube: &PlannedTube| {
        vec![
            tube.name.clone(),
            mm(tube.diameter_m),
            mm(tube.stopper_m),
            format!("{} – {}", mm(tube.keeping_m[0]), mm(tube.keeping_m[1])),
            format!("{} – {}", mm(tube.following_m[0]), mm(tube.following_m[1])),
            plain(tube.cents_per_mm, 1),
            mm(tube.cut_m),
        ]
    };
    let columns = vec![
        Column::words("note"),
        Column::figures("inner"),
        Column::figures(&format!("stopper at {} °C", plain(bank.temperature_c, 1))),
        Column::figures(&format!("keeps pitch {}–{} °C", plain(bank.played_c[0], 0), plain(bank.played_c[1], 0))),
        Column::figures("follows the bar"),
        Column::figures("cents a mm"),
        Column::figures("cut"),
        Column::free("set at", 20),
    ];
    let mut parts = vec![
        Part::Words(format!(
            "{} from the mouth to the stopper's face. Free tubes' lengths unless the mouth's correction was fitted: leave stoppers movable, set them by ear under the tuned bar.",
            units.figures_are()
        )),
        picture(report::tubes::view(answer, PICTURE))?,
        table(columns, answer.tubes.tubes.iter().map(row).collect()),
        Part::Heading("What to cut".to_owned()),
    ];
    let mut cuts = Vec::new();
    for stock in &answer.stock {
        for (number, cut) in stock.cuts.iter().enumerate() {
            let names: Vec<&str> = cut.pieces.iter().map(|piece| stock.names[*piece].as_str()).collect();
            cuts.push(vec![mm(stock.diameter_m), (number + 1).to_string(), names.join(", "), mm(cut.left_m)]);
        }
    }
    let columns = vec![
        Column::figures("inner"),
        Column::figures("stock tube"),
        Column::words("cut in this order"),
        Column::figures("left"),
        Column::free("done", 12),
    ];
    parts.push(table(columns, cuts));
    parts.extend(answer.tubes.warnings.iter().map(|words| Part::Caution(sentence(words))));
    parts.push(Part::Caution("Sawing metal tubes: eyes and ears protected, the tube clamped, no gloves at rotating tools; fresh ends are sharp. The saw's manual comes first.".to_owned()));
    Ok(Listing { title: "Tube list".to_owned(), parts })
}

/// The certificate with its graph.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn certificate(sealed: &Sealed) -> Result<Listing, Refused> {
    let certificate = &sealed.certificate;
    let customer = certificate.customer.as_ref().map_or_else(String::new, |name| format!(" for {name}"));
    let by = certificate.tuned_by.as_ref().map_or_else(String::new, |name| format!(", tuned by {name}"));
    let bars: Vec<CentsBar> = certificate
        .bars
        .iter()
        .map(|bar| CentsBar {
            name: bar.note.clone(),
            cents: std::array::from_fn(|i| bar.cents.get(i).copied()),
            sigma_cents: bar.sigma_cents,
        })
        .collect();
    let tolerance_cents = [1, 2, 3].map(|mode| certificate.class().tolerance_cents(440.0, mode));
    let outside = report::certificate::outside(certificate);
    let within = if outside.is_empty() {
        format!("All {} bars are within {} class.", certificate.bars.len(), certificate.class)
    } else {
        format!(
            "{} of {} bars are outside {} class: {}.",
            outside.len(),
            certificate.bars.len(),
            certificate.class,
            outside.join(", ")
        )
    };
    let rows = certificate
        .bars
        .iter()
        .map(|bar| {
            let mode = |i: usize| bar.cents.get(i).map_or_else(|| "–".to_owned(), |c| cents(*c));
            vec![
                bar.note.clone(),
                bar.label.clone(),
                mode(0),
                mode(1),
                mode(2),
                plain(bar.sigma_cents, 1),
                bar.heard.to_string(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words("note"),
        Column::words("bar"),
        Column::figures("mode 1"),
        Column::figures("mode 2"),
        Column::figures("mode 3"),
        Column::figures("±"),
        Column::figures("heard"),
    ];
    let mut parts = vec![
        Part::Words(format!(
            "{}{customer}. {}, {}{by}.",
            certificate.instrument, certificate.workshop, certificate.date
        )),
        Part::Words(format!(
            "A4 = {} Hz at {}. Next visit: {}. {within}",
            plain(certificate.a4_hz, 2),
            report::certificate::air_words(certificate),
            certificate.next_visit
        )),
        picture(cents_along(&CentsAlong {
            name: certificate.instrument.clone(),
            bars,
            tolerance_cents,
            sheet: PICTURE,
        }))?,
        Part::Words(format!("Cents above target; modes 1, 2, 3: ×{}.", report::certificate::ratios(certificate))),
        table(columns, rows),
        Part::Words(method_words(certificate)),
        Part::Heading("For its owner".to_owned()),
    ];
    parts.extend(ADVICE.iter().map(|line| Part::Words(format!("• {line}"))));
    parts.push(Part::Heading("The seal".to_owned()));
    parts.extend(seal_words(sealed).lines().map(|line| Part::Words(line.to_owned())));
    parts.push(super::forms::signatures(&["workshop"]));
    Ok(Listing { title: "Tuning certificate".to_owned(), parts })
}

/// What each bar of an instrument needs that is back, with room for what was done.
pub fn retuning(back: &Back, triage: &Triage, units: Units) -> Listing {
    let rows = back
        .set
        .bars
        .iter()
        .zip(&triage.bars)
        .map(|(bar, told)| {
            vec![
                bar.note.to_string(),
                bar.state.label.clone(),
                report::retune::went(told),
                report::retune::words(&told.work, units),
            ]
        })
        .collect();
    let columns = vec![
        Column::words("note"),
        Column::words("bar"),
        Column::figures("went, modes 1/2/3"),
        Column::words("what to do"),
        Column::free("after, cents", 28),
        Column::free("done", 12),
    ];
    let certified = back.certificate.as_ref().map_or_else(
        || "No certificate in the record.".to_owned(),
        |c| format!("Certified on {} at A4 = {} Hz.", c.date, plain(c.a4_hz, 2)),
    );
    let parts = vec![
        Part::Words(format!("{certified} Wanted now: A4 = {} Hz. {}; some {} hours (guesses).", plain(triage.a4_hz, 2), sentence(&report::retune::counted(triage)).trim_end_matches('.'), plain(triage.minutes / 60.0, 1))),
        table(columns, rows),
        Part::Caution("A flat bar is dried before it is cut. Look at every hole for cracks. Dust of old finishes and rosewood sensitises: extraction and a mask.".to_owned()),
    ];
    Listing { title: "Retuning sheet".to_owned(), parts }
}

/// Node lines of every bar, and the rails they lie on.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn nodes(framed: &Framed, plan: Option<&FramePlan>, units: Units) -> Result<Listing, Refused> {
    let mm = |m: f64| units.place_figure(m * 1e3);
    let row = |row: &NodeRow| {
        let mut cells = vec![row.note.to_string(), units.place_figure(row.length_mm), units.place_figure(row.width_mm)];
        match row.nodes {
            Some(nodes) => {
                cells.extend([nodes.player_m[0], nodes.player_m[1], nodes.away_m[0], nodes.away_m[1]].map(mm))
            }
            None => cells.extend(["not read", "", "", ""].map(str::to_owned)),
        }
        cells
    };
    let columns = vec![
        Column::words("note"),
        Column::figures("length"),
        Column::figures("width"),
        Column::figures("player's line, left"),
        Column::figures("right"),
        Column::figures("far line, left"),
        Column::figures("right"),
        Column::free("salt again", 24),
    ];
    let mut parts = vec![Part::Words(format!(
        "{} from the end that faces the player, top face up; left and right as the player sees them.",
        units.figures_are()
    ))];
    if let Some(plan) = plan {
        parts.push(picture(frame_view(&report::frame::view(plan, None, "Rails under the bars", PICTURE)))?);
    }
    parts.push(table(columns, framed.rows.iter().map(row).collect()));
    Ok(Listing { title: "Node table".to_owned(), parts })
}

/// Where each bar is drilled.
pub fn drill(bars: &[DrilledBar], diameter_mm: f64, below_top_mm: f64, built: bool, units: Units) -> Listing {
    let mm = |m: f64| units.place_figure(m * 1e3);
    let hole = |hole: &Hole| {
        vec![
            mm(hole.from_player_end_m[0]),
            mm(hole.from_player_end_m[1]),
            format!("{}° {}", plain(hole.angle_rad.to_degrees().abs(), 1), hole.slant().sign()),
        ]
    };
    let rows = bars
        .iter()
        .map(|bar| {
            let mut cells = vec![bar.name.clone()];
            cells.extend(hole(&bar.holes[0]));
            cells.extend(hole(&bar.holes[1]));
            cells.push(report::drill::wood(bar));
            cells.push(report::drill::remark(bar));
            cells
        })
        .collect();
    let columns = vec![
        Column::words("note"),
        Column::figures("player's hole, left"),
        Column::figures("right"),
        Column::figures("lean"),
        Column::figures("far hole, left"),
        Column::figures("right"),
        Column::figures("lean"),
        Column::words("wood over, under"),
        Column::words("mind"),
        Column::free("done", 12),
    ];
    let mut parts = vec![Part::Words(format!(
        "{} from the end that faces the player, on the left and on the right edge, TOP FACE UP. Drill {}, its axis {} below the top face. Accidentals lean the other way than naturals: look twice.",
        units.figures_are(),
        units.depth(diameter_mm),
        units.depth(below_top_mm)
    ))];
    if !built {
        parts.push(Part::Caution("From the PLAN, not from the frame as it stands: not for drilling.".to_owned()));
    }
    parts.push(table(columns, rows));
    parts.push(Part::Caution("Clamp the bar, a block behind it, clear the chips, eyes protected, no gloves. The drill press's manual comes first. A hole is not filled again.".to_owned()));
    Listing { title: "Drill chart".to_owned(), parts }
}
