#[path = "../tests/common/mod.rs"]
mod common;
use strike::*;
fn show(name: &str, x: &[f32], rate: f64, c: &Context) {
    let t0 = std::time::Instant::now();
    let r = listen(&[Take { samples: x, sample_rate_hz: rate }], c);
    let ms = t0.elapsed().as_secs_f64() * 1e3;
    println!("{name}: {ms:.1} ms");
    match r {
        Err(e) => println!("   REFUSED {} {} | {}", e.code, e.message, e.hint),
        Ok(h) => {
            for m in &h.modes {
                println!(
                    "   {:?} {} {:.3} ±{:.3}c early {:?} late {:?} tau {:.4} lev {:.1} sure {:.3}",
                    m.kind, m.number, m.hz, m.sigma_cents, m.early_hz, m.late_hz, m.decay_s, m.level_db, m.sure
                );
            }
            for m in &h.other {
                println!(
                    "       other {:.3} ±{:.3}c tau {:.4} lev {:.1} {}",
                    m.hz, m.sigma_cents, m.decay_s, m.level_db, m.maybe
                );
            }
            for w in &h.warnings {
                println!("   ! {} {}", w.code, w.message);
            }
            println!("   {:?}", h.blows);
        }
    }
}
fn main() {
    let json: serde_json::Value = serde_json::from_str(
        &std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/struck_bars.json")).unwrap(),
    )
    .unwrap();
    let folder = common::patch_folder().unwrap();
    for r in json["recordings"].as_array().unwrap() {
        let f = folder.join(r["patch_file"].as_str().unwrap());
        let recs = common::read_patch(&std::fs::read(f).unwrap());
        let rec = &recs[r["sample_index"].as_u64().unwrap() as usize];
        for m in r["modes"].as_array().unwrap() {
            println!(
                "   ref {} {} u {} tau {} lev {} snr {}",
                m["label"], m["f"], m["u_cents"], m["tau"], m["level_db"], m["snr_db"]
            );
        }
        let x = &rec.samples[..rec.before_loop.unwrap_or(rec.samples.len())];
        show(&rec.name, x, rec.sample_rate_hz, &Context::default());
        let c = Context { note_hz: r["modes"][0]["f"].as_f64(), ..Context::default() };
        show(&rec.name, x, rec.sample_rate_hz, &c);
    }
    use strike::synth::*;
    let modes = [
        SynthMode { hz: 262.6, decay_s: 0.15, amplitude: 0.5, phase_rad: 0.3 },
        SynthMode { hz: 1055.0, decay_s: 0.046, amplitude: 0.1, phase_rad: 1.0 },
        SynthMode { hz: 2607.0, decay_s: 0.028, amplitude: 0.07, phase_rad: 2.0 },
    ];
    for seed in 0..2 {
        show("synth", &blow(&modes, 48000.0, 1.0, 0.3, 0.005, seed), 48000.0, &Context::default());
    }
    // negatives
    let n = 48000;
    let noise = blow(&[], 48000.0, 1.0, 0.3, 0.1, 3);
    show("noise", &noise, 48000.0, &Context::default());
    for tau in [0.003, 0.01, 0.03, 0.1, 0.3] {
        let q = blow(&[], 48000.0, 1.0, 0.3, 1.0, 4);
        let bg = blow(&[], 48000.0, 1.0, 0.3, 0.0005, 5);
        let clap: Vec<f32> = q
            .iter()
            .zip(&bg)
            .enumerate()
            .map(|(i, (a, b))| {
                let t = (i as f64 - 14400.0) / 48000.0;
                b + if t < 0.0 { 0.0 } else { a * 0.3 * (-t / tau).exp() as f32 }
            })
            .collect();
        show(&format!("clap {tau}"), &clap, 48000.0, &Context::default());
    }
    let knock = [
        SynthMode { hz: 110.0, decay_s: 0.03, amplitude: 0.5, phase_rad: 0.3 },
        SynthMode { hz: 187.0, decay_s: 0.02, amplitude: 0.5, phase_rad: 0.3 },
        SynthMode { hz: 420.0, decay_s: 0.008, amplitude: 0.4, phase_rad: 0.3 },
    ];
    show("knock", &blow(&knock, 48000.0, 1.0, 0.3, 0.0005, 6), 48000.0, &Context::default());
    let hum: Vec<f32> = (0..n)
        .map(|i| {
            let t = i as f64 / 48000.0;
            (0.1 * (std::f64::consts::TAU * 50.0 * t).sin() + 0.03 * (std::f64::consts::TAU * 150.0 * t).sin()) as f32
                + 0.01 * noise[i]
        })
        .collect();
    show("hum", &hum, 48000.0, &Context::default());
    let both: Vec<f32> = blow(&modes, 48000.0, 1.0, 0.3, 0.005, 1).iter().zip(&hum).map(|(a, b)| a + b).collect();
    show("hum+bar", &both, 48000.0, &Context::default());
    let c7 = [
        SynthMode { hz: 2082.0, decay_s: 0.12, amplitude: 0.3, phase_rad: 0.3 },
        SynthMode { hz: 2096.0, decay_s: 0.09, amplitude: 0.5, phase_rad: 1.3 },
        SynthMode { hz: 6100.0, decay_s: 0.04, amplitude: 0.1, phase_rad: 0.3 },
    ];
    let e = |kind, number, hz, s| Expected { kind, number, hz, sigma_cents: s };
    show(
        "c7",
        &blow(&c7, 48000.0, 1.0, 0.3, 0.002, 6),
        48000.0,
        &Context {
            expected: vec![
                e(Kind::Bending, 1, 2098.0, 5.0),
                e(Kind::Torsion, 1, 2079.0, 15.0),
                e(Kind::Bending, 2, 6000.0, 60.0),
            ],
            ..Default::default()
        },
    );
    show(
        "c7 vague",
        &blow(&c7, 48000.0, 1.0, 0.3, 0.002, 6),
        48000.0,
        &Context {
            expected: vec![
                e(Kind::Bending, 1, 2088.0, 20.0),
                e(Kind::Torsion, 1, 2090.0, 25.0),
                e(Kind::Bending, 2, 6000.0, 60.0),
            ],
            ..Default::default()
        },
    );
    show(
        "c7 unknown",
        &blow(&c7, 48000.0, 1.0, 0.3, 0.002, 6),
        48000.0,
        &Context { note_hz: Some(2093.0), ..Default::default() },
    );
}
