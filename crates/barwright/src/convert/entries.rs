//! What is entered into a bar file: readings, cuts, and whole jobs.
use super::rounded;
use crate::error::Refused;
use bar_physics::Wood;
use making::{Band, Event, Hand, Job, Side};
use records::workshop::{Body, ReadingRecord};
use records::{
    BandRecord, BarFile, BarRecord, CaliperRecord, CutRecord, FormatName, GrainRecord, HandRecord, HeardHz,
    HeardRecord, LimitsRecord, LogEntry, Note, ShapedRecord, SideName, TargetsRecord, TrimRecord, UndersideRecord,
    WeighedRecord, WoodRecord,
};
use strike::{Heard, HeardMode, Kind, StrikePlace};

/// The name of a side in files and JSON.
pub fn side_name(side: Side) -> SideName {
    match side {
        Side::Both => SideName::Both,
        Side::Left => SideName::Left,
        Side::Right => SideName::Right,
    }
}

/// A cut as it stands in the file: lengths to a hundredth of a millimetre, depths to a thousandth.
pub fn cut_record(bands: &[Band], passes: Option<u32>) -> CutRecord {
    let bands = bands.iter().map(|b| BandRecord {
        from_mm: rounded(b.from_m * 1e3, 2),
        to_mm: rounded(b.to_m * 1e3, 2),
        depth_mm: rounded(b.depth_m * 1e3, 3),
        side: Some(side_name(b.side)),
    });
    CutRecord { bands: bands.collect(), passes }
}

/// Modes worth entering: named at least this surely …
const LEAST_SURE: f64 = 0.8;
/// … and not vaguer than this, in cents, for the whole reading shares one uncertainty.
const VAGUEST_CENTS: f64 = 5.0;
/// A mode that is not tuned is worth this uncertainty to the shared one, in cents: bars repeat no better.
pub const SHARED_CENTS: f64 = 0.5;

/// A reading made by this program's listener, as the record keeps it.
pub fn heard_event(heard: HeardRecord, takes: Vec<String>, struck: Option<StrikePlace>) -> Body {
    Body::Heard(ReadingRecord {
        heard,
        takes,
        struck: struck.map(place_word),
        listener: Some(env!("CARGO_PKG_VERSION").to_owned()),
    })
}

/// The word for a place in the record: "centre", "quarter", "corner", "end".
pub fn place_word(place: StrikePlace) -> String {
    format!("{place:?}").to_lowercase()
}

/// A reading as it stands in the file; its one uncertainty is that of the vaguest of the first `tuned` bending
/// modes, and other modes are entered only if they are no vaguer.
///
/// # Errors
/// [`Refused`] `nothing_sure` if no mode was named surely enough to be entered.
pub fn heard_record(heard: &Heard, tuned: usize) -> Result<HeardRecord, Refused> {
    let sure: Vec<&HeardMode> =
        heard.modes.iter().filter(|m| m.sure >= LEAST_SURE && m.sigma_cents <= VAGUEST_CENTS).collect();
    let is_tuned = |m: &HeardMode| m.kind == Kind::Bending && m.number <= tuned;
    let vaguest = sure.iter().filter(|m| is_tuned(m)).map(|m| m.sigma_cents).fold(SHARED_CENTS, f64::max);
    let entered: Vec<&HeardMode> = sure.into_iter().filter(|m| m.sigma_cents <= vaguest).collect();
    let family = |kind: Kind| {
        let modes: Vec<_> = entered.iter().filter(|m| m.kind == kind).collect();
        let mut list = vec![None; modes.iter().map(|m| m.number).max()?];
        for mode in modes {
            list[mode.number - 1] = Some(rounded(mode.hz, 3));
        }
        Some(list)
    };
    let hz = HeardHz { bending: family(Kind::Bending), torsion: family(Kind::Torsion) };
    if hz.bending.is_none() && hz.torsion.is_none() {
        return Err(Refused::new(
            "nothing_sure",
            format!(
                "no mode was named with at least {:.0} % certainty within {VAGUEST_CENTS} cents",
                100.0 * LEAST_SURE
            ),
            "strike again, nearer the end of the bar, and let it ring",
        ));
    }
    let sigma_cents = entered.iter().map(|m| m.sigma_cents).fold(0.0, f64::max);
    // To a tenth of a cent, rounded up; the schema's smallest uncertainty is below that.
    Ok(HeardRecord { hz, sigma_cents: Some(((10.0 * sigma_cents).ceil() / 10.0).max(0.1)), temperature_c: None })
}

/// A bar file that says what `job` says; lengths to a thousandth of a millimetre.
///
/// # Errors
/// [`Refused`] if the job is not a possible bar.
pub fn file_of_job(job: &Job, note: &Note) -> Result<BarFile, Refused> {
    let record = BarRecord {
        format: FormatName::BarwrightBar1,
        note: Some(note.to_string()),
        a4_hz: Some(440.0),
        length_mm: rounded(job.length_m * 1e3, 3),
        width_mm: rounded(job.width_m * 1e3, 3),
        thickness_mm: rounded(job.thickness_m * 1e3, 3),
        mass_g: job.mass_kg.map(|kg| rounded(kg * 1e3, 2)),
        underside: job.underside.as_ref().map(|underside| UndersideRecord {
            x_mm: in_mm(underside.x_m()),
            thickness_mm: in_mm(underside.thickness_m()),
            kinks_mm: Some(in_mm(underside.kinks_m())),
        }),
        wood: job.wood.as_ref().map(wood_record),
        grain: Some(GrainRecord {
            plan_deg: Some(rounded(job.grain.plan_rad.to_degrees(), 4)),
            dip_deg: Some(rounded(job.grain.dip_rad.to_degrees(), 4)),
        }),
        targets: Some(TargetsRecord {
            ratios: Some(job.targets.ratios.clone()),
            headroom_cents: Some(job.targets.headroom_cents),
        }),
        limits: Some(LimitsRecord { min_thickness_mm: Some(rounded(job.limits.min_thickness_m * 1e3, 3)) }),
        hand: job.hand.map(|hand| hand_record(&hand, None)),
        log: Some(job.log.iter().map(entry).collect()),
    };
    Ok(BarFile::from_record(&record)?)
}

/// A hand as it stands in a file; `from` names the bars it was learnt on.
pub fn hand_record(hand: &Hand, from: Option<Vec<String>>) -> HandRecord {
    HandRecord {
        depth_ratio: rounded(hand.gain, 4),
        depth_ratio_pct: rounded(1e2 * hand.gain_ln_sigma, 2),
        pass_mm: rounded(hand.pass_m * 1e3, 4),
        pass_pct: rounded(1e2 * hand.pass_ln_sigma, 2),
        from,
    }
}

fn in_mm(lengths_m: &[f64]) -> Vec<f64> {
    lengths_m.iter().map(|m| rounded(m * 1e3, 3)).collect()
}

fn wood_record(wood: &Wood) -> WoodRecord {
    let gpa = |pa: f64| rounded(pa / 1e9, 4);
    WoodRecord {
        name: Some(wood.name.clone()),
        density_kg_m3: rounded(wood.density_kg_m3, 2),
        e_l_gpa: gpa(wood.e_l_pa),
        e_w_gpa: Some(gpa(wood.e_w_pa)),
        e_h_gpa: Some(gpa(wood.e_h_pa)),
        g_lw_gpa: Some(gpa(wood.g_lw_pa)),
        g_lh_gpa: Some(gpa(wood.g_lh_pa)),
        g_wh_gpa: Some(gpa(wood.g_wh_pa)),
        nu_lw: Some(rounded(wood.nu_lw, 4)),
        nu_lh: Some(rounded(wood.nu_lh, 4)),
        nu_wh: Some(rounded(wood.nu_wh, 4)),
    }
}

/// One event as it stands in a file.
fn entry(event: &Event) -> LogEntry {
    match event {
        Event::Heard(reading) => LogEntry::Heard(HeardRecord {
            hz: HeardHz { bending: Some(reading.bending_hz.clone()), torsion: Some(reading.torsion_hz.clone()) },
            sigma_cents: Some(reading.sigma_cents),
            temperature_c: reading.temperature_c,
        }),
        Event::Shaped { underside, sigma_m } => LogEntry::Shaped(ShapedRecord {
            x_mm: in_mm(underside.x_m()),
            thickness_mm: in_mm(underside.thickness_m()),
            kinks_mm: Some(in_mm(underside.kinks_m())),
            sigma_mm: Some(rounded(sigma_m * 1e3, 4)),
        }),
        Event::Cut { bands, passes } => LogEntry::Cut(cut_record(bands, *passes)),
        Event::Caliper { x_m, thickness_m } => {
            LogEntry::Caliper(CaliperRecord { x_mm: in_mm(x_m), thickness_mm: in_mm(thickness_m) })
        }
        Event::Trim { left_m, right_m } => LogEntry::Trim(TrimRecord {
            left_mm: Some(rounded(left_m * 1e3, 3)),
            right_mm: Some(rounded(right_m * 1e3, 3)),
        }),
        Event::Weighed { mass_kg } => LogEntry::Weighed(WeighedRecord { mass_g: rounded(mass_kg * 1e3, 2) }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mode(kind: Kind, number: usize, hz: f64, sigma_cents: f64, sure: f64) -> HeardMode {
        HeardMode {
            kind,
            number,
            hz,
            sigma_cents,
            early_hz: None,
            late_hz: None,
            decay_s: 0.3,
            level_db: -3.0,
            late_decay_s: None,
            sure,
            runner_up: None,
            blows: 1,
            repeat_cents: None,
        }
    }

    fn heard(modes: Vec<HeardMode>) -> Heard {
        Heard { modes, other: Vec::new(), blows: Vec::new(), warnings: Vec::new() }
    }

    #[test]
    fn vague_and_unsure_modes_are_not_entered() {
        let reading = heard(vec![
            mode(Kind::Bending, 1, 131.23456, 0.04, 1.0),
            mode(Kind::Bending, 2, 525.0, 0.71, 0.99),
            mode(Kind::Bending, 3, 1310.0, 0.2, 0.5),
            mode(Kind::Bending, 4, 2400.0, 3.0, 0.99),
            mode(Kind::Torsion, 1, 290.0, 0.1, 0.95),
        ]);
        let record = heard_record(&reading, 3).unwrap();
        assert_eq!(record.hz.bending, Some(vec![Some(131.235), Some(525.0)]));
        assert_eq!(record.hz.torsion, Some(vec![Some(290.0)]));
        assert_eq!(record.sigma_cents, Some(0.8));
        let unsure = heard(vec![mode(Kind::Bending, 1, 131.2, 0.04, 0.6)]);
        assert_eq!(heard_record(&unsure, 3).unwrap_err().code, "nothing_sure");
    }

    #[test]
    fn mode_lists_keep_their_places() {
        let reading = heard(vec![mode(Kind::Bending, 3, 1310.0, 0.2, 0.9)]);
        assert_eq!(heard_record(&reading, 3).unwrap().hz.bending, Some(vec![None, None, Some(1310.0)]));
    }
}
