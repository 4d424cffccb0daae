//! The tubes of an instrument as text, JSON, table and picture.
use super::pictures::alone;
use super::units::{Units, plain, signed};
use crate::convert::rounded;
use crate::error::Refused;
use making::tubes::{Bank, Hanging, MouthFit, Offset, PlannedTube, Rings, StockCut, StopperMove, Tubes};
use paper::sheets::{BankMark, Sheet, TubeMark, TubesView, tubes_view};
use paper::{Drawing, PaperError};
use serde_json::{Value, json};
use words::tell;

/// Tubes of one diameter out of stock tubes.
#[derive(Debug, Clone)]
pub struct Stock {
    /// Inner diameter.
    pub diameter_m: f64,
    /// Names of the tubes, as [`StockCut::pieces`] counts them.
    pub names: Vec<String>,
    /// The cuts.
    pub cuts: Vec<StockCut>,
    /// The fewest stock tubes that the lengths alone would need.
    pub least: usize,
}

/// What offsets do to one note.
#[derive(Debug, Clone)]
pub struct OffsetsOf {
    /// The note.
    pub name: String,
    /// How long its bar rings.
    pub rings: Rings,
    /// By offset, rising.
    pub offsets: Vec<Offset>,
}

/// What was asked and what came of it.
#[derive(Debug, Clone)]
pub struct Answer {
    /// What was asked.
    pub bank: Bank,
    /// The tubes.
    pub tubes: Tubes,
    /// How they hang.
    pub hanging: Vec<Hanging>,
    /// What is bought.
    pub stock: Vec<Stock>,
    /// Length of a stock tube.
    pub stock_m: f64,
    /// What an offset would do, for some notes.
    pub offsets: Vec<OffsetsOf>,
}

/// Said where tubes are sawn.
const CAUTION: &str = "Sawing metal tubes: eye and ear protection, clamp the tube, no gloves at rotating tools; fresh ends are sharp, chips are hot. The saw's manual and local \
                       rules come first.";

fn mm(m: f64) -> f64 {
    rounded(m * 1e3, 1)
}

/// The public JSON of `tubes`; see docs/tubes.md.
pub fn to_json(answer: &Answer) -> Value {
    let bank = &answer.bank;
    json!({
        "reference": { "temperature_c": bank.temperature_c, "humidity_percent": bank.humidity_percent },
        "played_c": bank.played_c, "bars_cents_per_c": bank.bar_cents_per_c, "offset_cents": bank.offset_cents,
        "under_bar_radii": rounded(bank.under_bar_radii, 4), "sound_m_s": rounded(answer.tubes.sound_m_s, 3),
        "tubes": answer.tubes.tubes.iter().map(tube_json).collect::<Vec<_>>(),
        "dummies": answer.hanging.iter().filter(|h| h.name.is_none()).map(|h| json!({
            "bank": bank_word(h.upper), "centre_x_mm": mm(h.centre_x_m), "inner_mm": mm(h.diameter_m), "length_mm": mm(h.length_m) })).collect::<Vec<_>>(),
        "looks_mm": answer.hanging.iter().filter_map(|h| Some(json!({ "note": h.name.as_ref()?, "mm": mm(h.length_m) }))).collect::<Vec<_>>(),
        "stock": answer.stock.iter().map(|stock| json!({
            "inner_mm": mm(stock.diameter_m), "stock_mm": mm(answer.stock_m), "least": stock.least,
            "tubes": stock.cuts.iter().map(|cut| json!({
                "cut": cut.pieces.iter().map(|piece| &stock.names[*piece]).collect::<Vec<_>>(), "left_mm": mm(cut.left_m) })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "offsets": answer.offsets.iter().map(|of| json!({
            "note": of.name, "ring_without_s": rounded(of.rings.without_s, 3), "ring_in_tune_s": rounded(of.rings.in_tune_s, 3),
            "measured": of.rings.measured,
            "at": of.offsets.iter().map(|o| json!({ "cents": o.cents, "ring_s": rounded(o.ring_s, 3), "early_db": rounded(o.early_db, 2),
                "energy_db": rounded(o.energy_db, 2) })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "mass_kg": rounded(answer.tubes.tubes.iter().map(|tube| tube.mass_kg).sum(), 2),
        "warnings": answer.tubes.warnings,
    })
}

fn bank_word(upper: bool) -> &'static str {
    if upper { "accidentals" } else { "naturals" }
}

fn tube_json(tube: &PlannedTube) -> Value {
    json!({
        "note": tube.name, "bank": bank_word(tube.upper), "centre_x_mm": mm(tube.centre_x_m), "inner_mm": mm(tube.diameter_m),
        "stopper_mm": rounded(tube.stopper_m * 1e3, 2), "cents_per_mm": rounded(tube.cents_per_mm, 3),
        "keeping_mm": tube.keeping_m.map(|m| rounded(m * 1e3, 2)), "following_mm": tube.following_m.map(|m| rounded(m * 1e3, 2)),
        "cut_mm": mm(tube.cut_m), "mass_g": rounded(tube.mass_kg * 1e3, 0),
        "fold": tube.fold.map(|fold| json!({ "down_mm": mm(fold.down_m), "bend_mm": mm(fold.bend_m), "up_mm": mm(fold.up_m), "apart_mm": mm(fold.apart_m) })),
    })
}

/// The same for people.
pub fn to_text(answer: &Answer, units: Units) -> String {
    let (bank, tubes) = (&answer.bank, &answer.tubes.tubes);
    let place = |m: f64| units.place(m * 1e3);
    let mut table = super::table();
    let [cold, warm] = bank.played_c.map(|c| plain(c, 0));
    table.set_header([
        "note".to_owned(),
        "inner".to_owned(),
        format!("stopper at {} °C", plain(bank.temperature_c, 1)),
        format!("to keep its pitch, {cold}–{warm} °C"),
        format!("to follow the bar, {cold}–{warm} °C"),
        "cents/mm".to_owned(),
        "cut".to_owned(),
    ]);
    let span = |[a, b]: [f64; 2]| format!("{} to {}", plain(a * 1e3, 1), plain(b * 1e3, 1));
    for tube in tubes {
        table.add_row([
            tube.name.clone(),
            place(tube.diameter_m),
            place(tube.stopper_m),
            span(tube.keeping_m),
            span(tube.following_m),
            plain(tube.cents_per_mm, 1),
            place(tube.cut_m),
        ]);
    }
    let mut text = format!(
        "Closed tubes for {} notes at {} °C and {} %: sound {} m/s. Distances from the mouth to the stopper's face; travel in mm.\n{}\n",
        tubes.len(),
        plain(bank.temperature_c, 1),
        plain(bank.humidity_percent, 0),
        plain(answer.tubes.sound_m_s, 2),
        table.trim_fmt()
    );
    for (tube, fold) in tubes.iter().filter_map(|tube| Some((tube, tube.fold?))) {
        text.push_str(&format!(
            "{} folded: {} down, {} along the middle of the bend, {} up, legs {} apart.\n",
            tube.name,
            place(fold.down_m),
            place(fold.bend_m),
            place(fold.up_m),
            place(fold.apart_m)
        ));
    }
    let dummies: Vec<String> =
        answer.hanging.iter().filter(|h| h.name.is_none()).map(|h| place(h.centre_x_m)).collect();
    if !dummies.is_empty() {
        text.push_str(&format!(
            "{} dummies for looks, middles from the bass end: {}.\n",
            dummies.len(),
            dummies.join(", ")
        ));
    }
    text.push_str(&stock_words(answer, units));
    text.push_str(&offset_words(&answer.offsets));
    for words in &answer.tubes.warnings {
        text.push_str(&format!("! {}\n", crate::error::sentence(words)));
    }
    text + &under_bar_words(bank) + CAUTION + "\n"
}

fn under_bar_words(bank: &Bank) -> String {
    if bank.under_bar_radii.abs() > 1e-12 {
        return format!("The bar over the mouth counts as {} inner radii.\n", plain(bank.under_bar_radii, 2));
    }
    "The bar close over the mouth flattens a tube by an amount that nobody has published: these are lengths of free tubes, some millimetres too long for a tube under its bar. \
     Leave the stoppers movable, set three by ear an octave apart, and give them with --found.\n"
        .to_owned()
}

fn stock_words(answer: &Answer, units: Units) -> String {
    let mut text = String::new();
    for stock in &answer.stock {
        text.push_str(&format!(
            "{} inner: {} stock tubes of {} (their lengths alone fill {}).\n",
            units.place(stock.diameter_m * 1e3),
            stock.cuts.len(),
            units.place(answer.stock_m * 1e3),
            stock.least
        ));
        for (i, cut) in stock.cuts.iter().enumerate() {
            let names: Vec<&str> = cut.pieces.iter().map(|piece| stock.names[*piece].as_str()).collect();
            text.push_str(&format!("  {}: {}; {} left\n", i + 1, names.join(", "), units.place(cut.left_m * 1e3)));
        }
    }
    let kg: f64 = answer.tubes.tubes.iter().map(|tube| tube.mass_kg).sum();
    text + &format!("The tubes weigh {} kg without stoppers.\n", plain(kg, 1))
}

fn offset_words(offsets: &[OffsetsOf]) -> String {
    let Some(first) = offsets.first() else { return String::new() };
    let mut table = super::table();
    let mut head = vec!["off by".to_owned()];
    head.extend(offsets.iter().map(|of| of.name.clone()));
    table.set_header(head);
    for (i, at) in first.offsets.iter().enumerate() {
        let mut row = vec![format!("{} cents", plain(at.cents, 0))];
        row.extend(offsets.iter().map(|of| {
            let o = &of.offsets[i];
            format!("{} dB at first, rings {} s", signed(o.early_db, 1), plain(o.ring_s, 2))
        }));
        table.add_row(row);
    }
    let source = if first.rings.measured {
        "By the rings you gave."
    } else {
        "By two published rosewood bars (E4: 3.1 s alone, 1.5 s over its tube; E6: 0.4 and 0.2 s; from memory), nothing known beyond them: measure one of your bars with and \
         without its tube and give --ring."
    };
    format!("A tube off its bar on purpose, either way (two coupled oscillators):\n{}\n{source}\n", table.trim_fmt())
}

/// A stopper's move in words.
pub fn move_to_text(tube: &PlannedTube, hz: f64, told: &StopperMove, units: Units) -> String {
    let by = told.towards_mouth_m;
    let doubt = units.depth(told.sigma_m * 1e3);
    let head = format!(
        "{} sounds {} Hz by itself: its stopper stands {} from the mouth, wanted {}.",
        tube.name,
        super::units::hz(hz),
        units.depth(told.stands_m * 1e3),
        units.depth(tube.stopper_m * 1e3)
    );
    let way = if by > 0.0 { "towards" } else { "away from" };
    let act = if by.abs() <= told.sigma_m {
        "Leave it: that is as near as this reading tells.".to_owned()
    } else {
        format!("Move it {} {way} the mouth.", units.depth(by.abs() * 1e3))
    };
    format!("{head}\n{act} ±{doubt}, 1 °C of the air included.\n")
}

/// A stopper's move as JSON.
pub fn move_to_json(tube: &PlannedTube, hz: f64, told: &StopperMove) -> Value {
    json!({
        "note": tube.name, "hz": rounded(hz, 3), "stands_mm": rounded(told.stands_m * 1e3, 2), "wanted_mm": rounded(tube.stopper_m * 1e3, 2),
        "towards_mouth_mm": rounded(told.towards_mouth_m * 1e3, 2), "sigma_mm": rounded(told.sigma_m * 1e3, 2),
    })
}

/// What a shop's own stoppers told about its mouths.
pub fn mouth_words(fit: &MouthFit) -> String {
    format!(
        "From {} stoppers set by ear the bar adds {} ± {} inner radii; one stopper lies ±{} mm about that. Used below; next time: --under-bar {}\n",
        fit.count,
        plain(fit.radii, 2),
        plain(fit.sigma, 2),
        plain(fit.spread_m * 1e3, 1),
        plain(fit.radii, 3).replace('−', "-")
    )
}

/// The tubes as lines of a table, in millimetres, the head first.
pub fn lines(answer: &Answer) -> Vec<Vec<String>> {
    const HEAD: [&str; 12] = [
        "note",
        "bank",
        "centre_x_mm",
        "inner_mm",
        "stopper_mm",
        "keeping_cold_mm",
        "keeping_warm_mm",
        "following_cold_mm",
        "following_warm_mm",
        "cents_per_mm",
        "cut_mm",
        "mass_g",
    ];
    let line = |tube: &PlannedTube| {
        let fine = |m: f64| rounded(m * 1e3, 2).to_string();
        vec![
            tube.name.clone(),
            bank_word(tube.upper).to_owned(),
            mm(tube.centre_x_m).to_string(),
            mm(tube.diameter_m).to_string(),
            fine(tube.stopper_m),
            fine(tube.keeping_m[0]),
            fine(tube.keeping_m[1]),
            fine(tube.following_m[0]),
            fine(tube.following_m[1]),
            rounded(tube.cents_per_mm, 3).to_string(),
            mm(tube.cut_m).to_string(),
            rounded(tube.mass_kg * 1e3, 0).to_string(),
        ]
    };
    std::iter::once(HEAD.map(str::to_owned).to_vec()).chain(answer.tubes.tubes.iter().map(line)).collect()
}

/// Both banks as they hang, alone in a file.
///
/// # Errors
/// [`Refused`] `not_drawable`.
pub fn picture(answer: &Answer, sheet: Sheet) -> Result<String, Refused> {
    alone(view(answer, sheet), "check the tubes' sizes for a wrong unit")
}

/// Both banks as they hang.
///
/// # Errors
/// [`PaperError`] for a size that cannot be drawn.
pub fn view(answer: &Answer, sheet: Sheet) -> Result<Drawing, PaperError> {
    let bank = |upper: bool| BankMark {
        name: if upper { tell!("accidentals-bank") } else { tell!("naturals-bank") },
        tubes: answer
            .hanging
            .iter()
            .filter(|h| h.upper == upper)
            .map(|h| TubeMark {
                name: h.name.as_deref().map(words::note).unwrap_or_default(),
                centre_mm: h.centre_x_m * 1e3,
                outer_mm: (h.diameter_m + 2.0 * answer.bank.wall_m) * 1e3,
                length_mm: h.length_m * 1e3,
                stopper_mm: h.stopper_m.map(|m| m * 1e3),
            })
            .collect(),
    };
    let count = answer.tubes.tubes.len();
    let dummies = answer.hanging.len() - count;
    let longest_mm = answer.hanging.iter().map(|h| h.length_m * 1e3).fold(0.0, f64::max);
    let view = TubesView {
        title: "Tubes".to_owned(),
        description: format!(
            "{count} tubes and {dummies} dummies as they hang, from the player's side, bass at the left; the longest looks {longest_mm:.0} mm."
        ),
        banks: [false, true].into_iter().map(bank).collect(),
        sheet,
    };
    tubes_view(&view)
}
