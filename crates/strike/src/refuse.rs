//! Refusals: what was found, the limit, the remedy. One function per code.

use crate::ring::{LEAST_BEFORE_GAP_S, LEAST_EXPLAINED, LEAST_QUALITY, MOST_SWELL, SHORTEST_S};
use crate::types::Refusal;

/// Lowest and highest sample rates accepted, in hertz.
pub(crate) const RATES_HZ: (f64, f64) = (4000.0, 768_000.0);
/// Takes whose loudest sample is below this part of full scale (−80 dB) are silence.
pub(crate) const SILENCE: f64 = 1e-4;

fn refusal(code: &'static str, message: String, hint: &str) -> Refusal {
    Refusal { code, message, hint: hint.to_owned() }
}

pub(crate) fn empty() -> Refusal {
    refusal(
        "empty",
        "the take holds no samples".into(),
        "record again; check that the microphone is allowed and the file is complete",
    )
}

pub(crate) fn not_finite(take: usize, index: usize, value: f32) -> Refusal {
    refusal(
        "not_finite",
        format!("sample {index} of take {} is {value}, not a number between -1 and 1", take + 1),
        "the recording is damaged: record again or export it as 16-bit WAV",
    )
}

pub(crate) fn bad_rate(rate_hz: f64) -> Refusal {
    let (low, high) = RATES_HZ;
    refusal(
        "bad_rate",
        format!("the sample rate is {rate_hz} Hz; it must lie between {low:.0} and {high:.0} Hz"),
        "record at 44100 or 48000 samples a second",
    )
}

pub(crate) fn bad_clock(offset_ppm: f64, sigma_ppm: f64) -> Refusal {
    let limit = crate::check::MOST_OFFSET_PPM;
    refusal(
        "bad_clock",
        format!("a clock offset of {offset_ppm} ± {sigma_ppm} ppm is no sound card's; it must lie within {limit} ppm"),
        "calibrate the clock again, or leave it out",
    )
}

pub(crate) fn bad_expected(what: &str, value: f64) -> Refusal {
    refusal(
        "bad_expected",
        format!("{what} is {value}; it must be a positive finite number"),
        "check the bar file or the note",
    )
}

pub(crate) fn silence(peak: f64) -> Refusal {
    refusal(
        "silence",
        format!(
            "the loudest sample reaches {:.3} % of full scale; at least {} % is needed",
            100.0 * peak,
            100.0 * SILENCE
        ),
        "check that the right microphone is chosen and not muted, and strike again",
    )
}

pub(crate) fn too_short(seconds: f64) -> Refusal {
    refusal(
        "too_short",
        format!("only {seconds:.2} s of ring were recorded after the blow; at least {SHORTEST_S} s are needed"),
        "let the bar ring for a second before stopping or striking again",
    )
}

pub(crate) fn noise() -> Refusal {
    refusal(
        "noise",
        "no blow was found: the sound neither rises suddenly nor dies away".into(),
        "switch the collector and machines off, move the microphone nearer and strike again",
    )
}

pub(crate) fn hum(hz: f64) -> Refusal {
    let mains = crate::doubts::mains_base(hz).map_or(String::new(), |base| format!(" (a multiple of {base} Hz mains)"));
    refusal(
        "hum",
        format!("only a steady tone at {hz:.1} Hz{mains} was heard, no tone that dies away"),
        "switch the collector, lamps and chargers near the microphone off and strike again",
    )
}

pub(crate) fn no_ring(best_quality: f64, explained: f64) -> Refusal {
    let found = if best_quality == 0.0 {
        "no tone stands out of its noise".to_owned()
    } else if best_quality < LEAST_QUALITY {
        format!(
            "the clearest tone has a quality factor of {best_quality:.0}; a bar rings with at least {LEAST_QUALITY:.0}"
        )
    } else {
        format!(
            "ringing tones hold {:.0} % of the blow's sound; a struck bar gives at least {:.0} %",
            100.0 * explained,
            100.0 * LEAST_EXPLAINED
        )
    };
    refusal(
        "no_ring",
        format!("this is a clap or a knock, not a ringing bar: {found}"),
        "lay the bar on two soft strips under its nodes, keep hands off and strike it with a mallet",
    )
}

pub(crate) fn swells(by: f64) -> Refusal {
    refusal(
        "no_ring",
        format!(
            "the sound grows by {:.0} dB after its start (limit {:.0}); a struck bar is loudest at once",
            10.0 * by.log10(),
            10.0 * MOST_SWELL.log10()
        ),
        "this is a voice or a machine: strike the bar while nobody speaks",
    )
}

pub(crate) fn gap(at_s: f64) -> Refusal {
    refusal(
        "gap",
        format!(
            "the sound jumps {at_s:.2} s after the blow (at least {LEAST_BEFORE_GAP_S} s are needed): part of it was \
             lost between microphone and program"
        ),
        "strike again; if it comes back, close other programs or use another device",
    )
}

pub(crate) fn exact_harmonics(base_hz: f64, count: usize) -> Refusal {
    let limit = crate::doubts::HARMONIC_CENTS;
    refusal(
        "exact_harmonics",
        format!(
            "{count} tones are exact multiples of {base_hz:.1} Hz (within {limit} cents); the tones of a bar are not"
        ),
        "this is a voice, a string, a pipe or a looped sample: record the bar itself",
    )
}

pub(crate) fn bad_reference(hz: f64, ppm: f64) -> Refusal {
    refusal(
        "bad_reference",
        format!(
            "a reference tone of {hz} Hz known to {ppm} ppm cannot be used; it must lie between 100 and 10000 Hz, \
             below 0.4 of the sample rate, and be known to 1000 ppm"
        ),
        "use a tone of 440 or 1000 Hz from a time signal or a calibrated generator",
    )
}

pub(crate) fn short_tone(seconds: f64, least_s: f64) -> Refusal {
    refusal(
        "too_short",
        format!("the reference tone lasts {seconds:.1} s; at least {least_s:.1} s are needed"),
        "record half a minute of the tone",
    )
}

pub(crate) fn not_steady(found: String) -> Refusal {
    refusal(
        "not_steady",
        format!("the take does not hold the reference tone clearly: {found}"),
        "give its frequency exactly, and record it alone, steady and loud for half a minute",
    )
}
