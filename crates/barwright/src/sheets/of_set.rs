//! Sheets of an instrument in the record.
use super::{PICTURE, picture, table};
use crate::certified::Sealed;
use crate::error::{Refused, sentence};
use crate::framing::{Framed, NodeRow};
use crate::report;
use crate::report::certificate::{method_words, seal_words};
use crate::report::fine::class_words;
use crate::report::units::{Units, cents, plain};
use crate::retuning::{Back, Triage};
use making::frame::{DrilledBar, FramePlan, Hole};
use making::tubes::PlannedTube;
use paper::listing::{Column, Listing, Part};
use paper::sheets::{CentsAlong, CentsBar, cents_along, frame_view};
use words::tell;

/// Tubes: where stoppers stand at two temperatures, travel, what to cut.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn tubes(answer: &report::tubes::Answer, units: Units) -> Result<Listing, Refused> {
    let mm = |m: f64| units.place_figure(m * 1e3);
    let bank = &answer.bank;
    let row = |tube: &PlannedTube| {
        vec![
            words::note(&tube.name),
            mm(tube.diameter_m),
            mm(tube.stopper_m),
            format!("{} – {}", mm(tube.keeping_m[0]), mm(tube.keeping_m[1])),
            format!("{} – {}", mm(tube.following_m[0]), mm(tube.following_m[1])),
            plain(tube.cents_per_mm, 1),
            mm(tube.cut_m),
        ]
    };
    let columns = vec![
        Column::words(tell!("note")),
        Column::figures(tell!("inner")),
        Column::figures(tell!("stopper-at", celsius = plain(bank.temperature_c, 1))),
        Column::figures(tell!("keeps-pitch", cold = plain(bank.played_c[0], 0), warm = plain(bank.played_c[1], 0))),
        Column::figures(tell!("follows-the-bar")),
        Column::figures(tell!("cents-a-mm")),
        Column::figures(tell!("cut")),
        Column::free(tell!("set-at"), 20),
    ];
    let mut parts = vec![
        Part::Words(tell!("tubes-words", unit = units.figures_are())),
        picture(report::tubes::view(answer, PICTURE))?,
        table(columns, answer.tubes.tubes.iter().map(row).collect()),
        Part::Heading(tell!("what-to-cut")),
    ];
    let mut cuts = Vec::new();
    for stock in &answer.stock {
        for (number, cut) in stock.cuts.iter().enumerate() {
            let names: Vec<String> = cut.pieces.iter().map(|piece| words::note(&stock.names[*piece])).collect();
            cuts.push(vec![mm(stock.diameter_m), (number + 1).to_string(), names.join(", "), mm(cut.left_m)]);
        }
    }
    let columns = vec![
        Column::figures(tell!("inner")),
        Column::figures(tell!("stock-tube")),
        Column::words(tell!("cut-in-order")),
        Column::figures(tell!("left-over")),
        Column::free(tell!("done"), 12),
    ];
    parts.push(table(columns, cuts));
    parts.extend(answer.tubes.warnings.iter().map(|words| Part::Caution(sentence(words))));
    parts.push(Part::Caution(tell!("caution-tubes")));
    Ok(Listing { title: tell!("title-tubes"), parts })
}

/// The certificate with its graph.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn certificate(sealed: &Sealed) -> Result<Listing, Refused> {
    let certificate = &sealed.certificate;
    let customer =
        certificate.customer.as_ref().map_or_else(String::new, |name| tell!("cert-for", name = name.as_str()));
    let by = certificate.tuned_by.as_ref().map_or_else(String::new, |name| tell!("cert-by", name = name.as_str()));
    let bars: Vec<CentsBar> = certificate
        .bars
        .iter()
        .map(|bar| CentsBar {
            name: words::note(&bar.note),
            cents: std::array::from_fn(|i| bar.cents.get(i).copied()),
            sigma_cents: bar.sigma_cents,
        })
        .collect();
    let tolerance_cents = [1, 2, 3].map(|mode| certificate.class().tolerance_cents(440.0, mode));
    let outside = report::certificate::outside(certificate);
    let class = class_words(certificate.class());
    let within = if outside.is_empty() {
        tell!("cert-all-within", bars = certificate.bars.len(), class = class.as_str())
    } else {
        tell!(
            "cert-outside",
            out = outside.len(),
            bars = certificate.bars.len(),
            class = class.as_str(),
            which = outside.join(", "),
        )
    };
    let rows = certificate
        .bars
        .iter()
        .map(|bar| {
            let mode = |i: usize| bar.cents.get(i).map_or_else(|| "–".to_owned(), |c| cents(*c));
            vec![
                words::note(&bar.note),
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
        Column::words(tell!("note")),
        Column::words(tell!("bar")),
        Column::figures(tell!("mode-1")),
        Column::figures(tell!("mode-2")),
        Column::figures(tell!("mode-3")),
        Column::figures("±"),
        Column::figures(tell!("heard-on")),
    ];
    let mut parts = vec![
        Part::Words(format!(
            "{}{customer}. {}, {}{by}.",
            certificate.instrument, certificate.workshop, certificate.date
        )),
        Part::Words(tell!(
            "cert-pitch",
            hz = plain(certificate.a4_hz, 2),
            air = report::certificate::air_words(certificate),
            visit = certificate.next_visit.to_string(),
            within = within,
        )),
        picture(cents_along(&CentsAlong {
            name: certificate.instrument.clone(),
            bars,
            tolerance_cents,
            sheet: PICTURE,
        }))?,
        Part::Words(tell!("cert-ratios", ratios = report::certificate::ratios(certificate))),
        table(columns, rows),
        Part::Words(method_words(certificate)),
        Part::Heading(tell!("for-its-owner")),
    ];
    parts.extend(report::certificate::advice().into_iter().map(|line| Part::Words(format!("• {line}"))));
    parts.push(Part::Heading(tell!("the-seal")));
    parts.extend(seal_words(sealed).lines().map(|line| Part::Words(line.to_owned())));
    parts.push(super::forms::signatures([tell!("workshop")]));
    Ok(Listing { title: tell!("title-certificate"), parts })
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
                words::note(&bar.note.to_string()),
                bar.state.label.clone(),
                report::retune::went(told),
                report::retune::words(&told.work, units),
            ]
        })
        .collect();
    let columns = vec![
        Column::words(tell!("note")),
        Column::words(tell!("bar")),
        Column::figures(tell!("went-modes")),
        Column::words(tell!("what-to-do")),
        Column::free(tell!("after-cents"), 28),
        Column::free(tell!("done"), 12),
    ];
    let certified = back.certificate.as_ref().map_or_else(
        || tell!("retune-no-certificate"),
        |c| tell!("retune-certified", date = c.date.to_string(), hz = plain(c.a4_hz, 2)),
    );
    let parts = vec![
        Part::Words(tell!(
            "retune-wanted",
            certified = certified,
            hz = plain(triage.a4_hz, 2),
            work = report::retune::counted(triage),
            hours = plain(triage.minutes / 60.0, 1),
        )),
        table(columns, rows),
        Part::Caution(tell!("caution-retuning")),
    ];
    Listing { title: tell!("title-retuning"), parts }
}

/// Node lines of every bar, and the rails they lie on.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn nodes(framed: &Framed, plan: Option<&FramePlan>, units: Units) -> Result<Listing, Refused> {
    let mm = |m: f64| units.place_figure(m * 1e3);
    let row = |row: &NodeRow| {
        let mut cells = vec![
            words::note(&row.note.to_string()),
            units.place_figure(row.length_mm),
            units.place_figure(row.width_mm),
        ];
        match row.nodes {
            Some(nodes) => {
                cells.extend([nodes.player_m[0], nodes.player_m[1], nodes.away_m[0], nodes.away_m[1]].map(mm))
            }
            None => cells.extend([tell!("not-read"), String::new(), String::new(), String::new()]),
        }
        cells
    };
    let columns = vec![
        Column::words(tell!("note")),
        Column::figures(tell!("length")),
        Column::figures(tell!("width")),
        Column::figures(tell!("players-line-left")),
        Column::figures(tell!("right")),
        Column::figures(tell!("far-line-left")),
        Column::figures(tell!("right")),
        Column::free(tell!("salt-again"), 24),
    ];
    let mut parts = vec![Part::Words(tell!("nodes-words", unit = units.figures_are()))];
    if let Some(plan) = plan {
        parts.push(picture(frame_view(&report::frame::view(plan, None, &tell!("rails-under-bars"), PICTURE)))?);
    }
    parts.push(table(columns, framed.rows.iter().map(row).collect()));
    Ok(Listing { title: tell!("title-nodes"), parts })
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
            let mut cells = vec![words::note(&bar.name)];
            cells.extend(hole(&bar.holes[0]));
            cells.extend(hole(&bar.holes[1]));
            cells.push(report::drill::wood(bar));
            cells.push(report::drill::remark(bar));
            cells
        })
        .collect();
    let columns = vec![
        Column::words(tell!("note")),
        Column::figures(tell!("players-hole-left")),
        Column::figures(tell!("right")),
        Column::figures(tell!("lean")),
        Column::figures(tell!("far-hole-left")),
        Column::figures(tell!("right")),
        Column::figures(tell!("lean")),
        Column::words(tell!("wood-over-under")),
        Column::words(tell!("mind")),
        Column::free(tell!("done"), 12),
    ];
    let mut parts = vec![Part::Words(tell!(
        "drill-words",
        unit = units.figures_are(),
        drill = units.depth(diameter_mm),
        below = units.depth(below_top_mm),
    ))];
    if !built {
        parts.push(Part::Caution(tell!("from-the-plan")));
    }
    parts.push(table(columns, rows));
    parts.push(Part::Caution(tell!("caution-drill")));
    Listing { title: tell!("title-drill"), parts }
}
