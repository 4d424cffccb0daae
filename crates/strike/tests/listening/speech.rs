//! Speech is no bar: made by the Debian package espeak-ng when the test runs.
//!
//! Like the recordings it is skipped where the package is missing, unless
//! `BARWRIGHT_REQUIRE_RECORDINGS=1`.

use std::process::Command;
use strike::live::{Event, Live};
use strike::{Context, Expected, Kind, Take, listen};

/// What is said in a shop, and sounds as near to a tone as a voice comes.
const SAID: [&str; 8] = [
    "Strike the bar",
    "Hold it a little lower",
    "Mmm",
    "Aah",
    "Ooh, that one rings",
    "Four cents sharp, and one more pass",
    "No",
    "Ding dong",
];

/// Samples and rate of a 16-bit mono WAV as espeak-ng writes it: a 44-byte header.
fn say(words: &str, pitch: &str) -> Option<(Vec<f32>, f64)> {
    let found = Command::new("espeak-ng").args(["-v", "en", "-p", pitch, "--stdout", words]).output();
    let Ok(output) = found else {
        let required = std::env::var("BARWRIGHT_REQUIRE_RECORDINGS").is_ok_and(|value| value == "1");
        assert!(!required, "the Debian package espeak-ng is not installed; apt-get install espeak-ng");
        return None;
    };
    let wav = output.stdout;
    assert_eq!((&wav[..4], &wav[36..40]), (&b"RIFF"[..], &b"data"[..]));
    let rate_hz = f64::from(u32::from_le_bytes(wav[24..28].try_into().unwrap()));
    let value = |pair: &[u8]| f32::from(i16::from_le_bytes([pair[0], pair[1]])) / 32768.0;
    // The voice begins at once; a microphone hears some quiet first.
    let mut samples = vec![0.0; (0.5 * rate_hz) as usize];
    samples.extend(wav[44..].chunks_exact(2).map(value));
    Some((samples, rate_hz))
}

fn contexts() -> [Context; 3] {
    let expected = [262.5, 1050.0, 2620.0].iter().zip(1..).map(|(hz, number)| Expected {
        kind: Kind::Bending,
        number,
        hz: *hz,
        sigma_cents: 8.0,
    });
    [
        Context::default(),
        Context { note_hz: Some(261.63), ..Context::default() },
        Context { expected: expected.collect(), ..Context::default() },
    ]
}

#[test]
fn speech_names_no_mode() {
    let (mut takes, mut refused) = (0, 0);
    for words in SAID {
        for pitch in ["20", "90"] {
            let Some((samples, sample_rate_hz)) = say(words, pitch) else {
                println!("skipped: the Debian package espeak-ng is not installed");
                return;
            };
            for context in contexts() {
                takes += 1;
                match listen(&[Take { samples: &samples, sample_rate_hz }], &context) {
                    Ok(heard) => assert!(heard.modes.is_empty(), "{words:?} {pitch} {context:?}: {heard:#?}"),
                    Err(_) => refused += 1,
                }
            }
            let mut live = Live::new(sample_rate_hz, Context::default()).unwrap();
            let mut events = live.push(&samples);
            events.extend(live.finish());
            for event in events {
                if let Event::Heard(answer) = event {
                    assert!(answer.heard.modes.is_empty(), "live {words:?} {pitch}: {answer:#?}");
                }
            }
        }
    }
    println!("{refused} of {takes} takes of speech refused, the others heard without a name");
}
