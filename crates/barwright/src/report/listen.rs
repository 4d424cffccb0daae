//! What was heard, as text and as JSON.
use super::units::{self, hz};
use crate::convert::rounded;
use crate::error::sentence;
use serde_json::{Value, json};
use strike::{Heard, HeardMode, Kind, Warning};

/// The name of a family in files, JSON and text.
pub fn kind_name(kind: Kind) -> &'static str {
    match kind {
        Kind::Bending => "bending",
        Kind::Torsion => "torsion",
        Kind::Sideways => "sideways",
    }
}

/// The public JSON of `listen`; see docs/command-line.md.
pub fn to_json(heard: &Heard) -> Value {
    let mode = |m: &HeardMode| {
        json!({
            "kind": kind_name(m.kind),
            "mode": m.number,
            "hz": rounded(m.hz, 4),
            "sigma_cents": rounded(m.sigma_cents, 4),
            "early_hz": m.early_hz.map(|f| rounded(f, 4)),
            "late_hz": m.late_hz.map(|f| rounded(f, 4)),
            "decay_s": rounded(m.decay_s, 5),
            "late_decay_s": m.late_decay_s.map(|s| rounded(s, 5)),
            "level_db": rounded(m.level_db, 2),
            "sure": rounded(m.sure, 4),
            "runner_up": m.runner_up.map(|r| json!({ "hz": rounded(r.hz, 4), "sure": rounded(r.sure, 4) })),
            "blows": m.blows,
            "repeat_cents": m.repeat_cents.map(|c| rounded(c, 3)),
        })
    };
    let other = |tone: &strike::OtherTone| {
        json!({
            "hz": rounded(tone.hz, 4),
            "sigma_cents": rounded(tone.sigma_cents, 4),
            "decay_s": rounded(tone.decay_s, 5),
            "level_db": rounded(tone.level_db, 2),
            "maybe": tone.maybe,
        })
    };
    json!({
        "modes": heard.modes.iter().map(mode).collect::<Vec<_>>(),
        "other": heard.other.iter().map(other).collect::<Vec<_>>(),
        "blows": heard.blows.len(),
        "warnings": heard.warnings.iter().map(warning).collect::<Vec<_>>(),
    })
}

fn warning(w: &Warning) -> Value {
    json!({ "code": w.code, "message": sentence(&w.message), "hint": sentence(&w.hint) })
}

/// What was heard as text; `note_hz` adds the ratio to the note.
pub fn to_text(heard: &Heard, targets: Option<(f64, &[f64])>) -> String {
    let blows = heard.blows.len();
    let mut text = format!("Heard {blows} {}.\n\n", if blows == 1 { "blow" } else { "blows" });
    let mut table = super::table();
    table.set_header(["mode", "Hz", "± cents", "cents from target", "rings (1/e)", "level", "sure"]);
    for m in &heard.modes {
        let target = targets.filter(|_| m.kind == Kind::Bending).and_then(|(note_hz, ratios)| {
            ratios.get(m.number - 1).map(|ratio| bar_physics::units::cents(m.hz, note_hz * ratio))
        });
        table.add_row([
            format!("{} {}", kind_name(m.kind), m.number),
            hz(m.hz),
            format!("{:.2}", m.sigma_cents),
            target.map_or("—".to_owned(), units::cents),
            format!("{} s", units::plain(m.decay_s, 3)),
            format!("{} dB", units::plain(m.level_db, 0)),
            units::percent(m.sure),
        ]);
    }
    text.push_str(&format!("{}\n", table.trim_fmt()));
    if let Some(line) = ratios(heard) {
        text.push_str(&line);
    }
    text.push_str(&second_thoughts(heard));
    if !heard.other.is_empty() {
        let tones = heard.other.iter().map(|t| format!("{} Hz ({})", hz(t.hz), t.maybe));
        text.push_str(&format!("\nAlso there: {}.\n", tones.collect::<Vec<_>>().join(", ")));
    }
    for w in &heard.warnings {
        text.push_str(&format!("\n{} {}\n", sentence(&w.message), sentence(&w.hint)));
    }
    text
}

/// How well several blows agree, and which other tones a mode could be.
fn second_thoughts(heard: &Heard) -> String {
    let name = |m: &HeardMode| format!("{} {}", kind_name(m.kind), m.number);
    let repeats: Vec<String> =
        heard.modes.iter().filter_map(|m| Some(format!("{} {:.2}", name(m), m.repeat_cents?))).collect();
    let mut text = String::new();
    if !repeats.is_empty() {
        text.push_str(&format!("\nFrom blow to blow (cents): {}.\n", repeats.join(", ")));
    }
    for m in &heard.modes {
        if let Some(other) = m.runner_up {
            let (tone, sure) = (hz(other.hz), units::percent(other.sure));
            text.push_str(&format!("\nThe tone at {tone} Hz could be {} instead ({sure}).\n", name(m)));
        }
    }
    text
}

/// Ratios of the bending modes heard to bending 1.
fn ratios(heard: &Heard) -> Option<String> {
    let bending = |number: usize| heard.modes.iter().find(|m| m.kind == Kind::Bending && m.number == number);
    let first = bending(1)?;
    let others: Vec<String> = [2, 3]
        .into_iter()
        .filter_map(|n| bending(n).map(|m| format!("mode {n} is {} × mode 1", units::plain(m.hz / first.hz, 3))))
        .collect();
    (!others.is_empty()).then(|| format!("\n{}.\n", others.join(", ")))
}
