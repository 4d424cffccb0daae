//! `clock`: a recorder's clock against a known tone.
use super::open;
use crate::audio;
use crate::cli::answer::Form;
use crate::cli::args::ClockArgs;
use crate::error::Refused;
use jiff::Timestamp;
use records::workshop::{Body, ClockRecord, Kind};
use serde_json::json;
use std::path::Path;

/// One cent in parts per million: 10⁶·(2^(1/1200) − 1).
const PPM_PER_CENT: f64 = 577.79;

pub(in crate::cli) fn clock(at: Option<&Path>, args: &ClockArgs, form: Form) -> Result<String, Refused> {
    let about = |error: Refused| error.about(args.tone.display());
    let bytes = std::fs::read(&args.tone).map_err(|error| {
        about(Refused::new("unreadable", format!("it cannot be read: {error}"), "check the name and the folder"))
    })?;
    let tone = audio::read(&bytes).map_err(about)?;
    let clock =
        strike::clock::calibrate(&tone.take(), args.hz, args.reference_ppm).map_err(|error| about(error.into()))?;
    if let Some(name) = &args.recorder {
        let mut workshop = open(at)?;
        let recorder = workshop.find(Kind::Tool, name)?;
        let (offset_ppm, sigma_ppm) = (clock.offset_ppm, clock.sigma_ppm);
        let what = Body::Calibrated(ClockRecord { offset_ppm, sigma_ppm, reference_hz: args.hz });
        workshop.write(|step| step.add(recorder.uid, what.into(), Timestamp::now()))?;
    }
    let kept = args.recorder.as_ref().map_or(
        format!("Give it to `listen` with --clock-ppm {:.2}, or keep it with --of RECORDER.\n", clock.offset_ppm),
        |name| format!("Kept: `bar WHICH --with \"{name}\" listen …` takes it into account.\n"),
    );
    Ok(form.put(
        || json!({ "offset_ppm": clock.offset_ppm, "sigma_ppm": clock.sigma_ppm, "kept_for": args.recorder }),
        || {
            format!(
                "The clock runs {:+.2} ± {:.2} ppm fast: readings are {:+.3} cents off without correction.\n{kept}",
                clock.offset_ppm,
                clock.sigma_ppm,
                -clock.offset_ppm / PPM_PER_CENT
            )
        },
    ))
}
