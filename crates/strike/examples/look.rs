#[path = "../tests/common/mod.rs"]
mod common;
fn main() {
    let f = common::patch_folder().unwrap();
    let r = common::read_patch(&std::fs::read(f.join("013_Xylophone.pat")).unwrap());
    let rec = &r[3];
    let x = &rec.samples;
    let fs = rec.sample_rate_hz;
    for (f0, win) in [(262.8f64, 0.05f64), (1055.1, 0.02), (2607.0, 0.012)] {
        println!("f0 {f0}");
        let w = (win * fs) as usize;
        let mut prev: Option<f64> = None;
        for k in 0..((0.9 / win) as usize).min(24) {
            let (mut re, mut im) = (0.0, 0.0);
            for i in 0..w {
                let n = k * w + i;
                if n >= x.len() {
                    break;
                }
                let h = (std::f64::consts::PI * (i as f64 + 0.5) / w as f64).sin().powi(2);
                let ph = -std::f64::consts::TAU * f0 * n as f64 / fs;
                re += h * x[n] as f64 * ph.cos();
                im += h * x[n] as f64 * ph.sin();
            }
            let a = (re * re + im * im).sqrt() * 4.0 / w as f64;
            let p = im.atan2(re);
            let df = prev.map(|q| {
                let mut d = p - q;
                while d > std::f64::consts::PI {
                    d -= std::f64::consts::TAU
                }
                while d < -std::f64::consts::PI {
                    d += std::f64::consts::TAU
                }
                f0 + d / std::f64::consts::TAU / win
            });
            println!("  {:.3} {:.1} dB  f {:?}", k as f64 * win, 20.0 * a.log10(), df);
            prev = Some(p);
        }
    }
    // band levels
    let n = 32768.min(x.len());
    let mut lev = vec![];
    for b in 0..64 {
        // goertzel-ish sampling of random freqs per 250 Hz band
        let mut v: Vec<f64> = (0..15)
            .map(|j| {
                let f = b as f64 * 250.0 + j as f64 * 16.0 + 7.0;
                let (mut re, mut im) = (0.0, 0.0);
                for i in 0..n {
                    let h = (std::f64::consts::PI * (i as f64 + 0.5) / n as f64).sin().powi(2);
                    let ph = std::f64::consts::TAU * f * i as f64 / fs;
                    re += h * x[i] as f64 * ph.cos();
                    im += h * x[i] as f64 * ph.sin();
                }
                10.0 * (re * re + im * im).log10()
            })
            .collect();
        v.sort_by(f64::total_cmp);
        lev.push(v[7]);
    }
    println!("{:?}", lev.iter().map(|x| x.round()).collect::<Vec<_>>());
}
