//! Any possible bar: finite modes in order and advice, or a refusal with a next step.
#![no_main]
use arbitrary::Arbitrary;
use barwright::bench::Bench;
use libfuzzer_sys::fuzz_target;
use records::BarFile;

/// A bar from anywhere between a toothpick and a plank; each figure is a share of its range.
#[derive(Debug, Arbitrary)]
struct Invented {
    length: u16,
    width: u16,
    thickness: u16,
    /// Stations of the underside, each a share of the thickness; few make steep steps.
    underside: Vec<u8>,
    density: Option<u16>,
    stiffness: u16,
    grain: Option<(i8, i8)>,
    note: u8,
    heard: Vec<u16>,
}

fn share(of: u16, low: f64, high: f64) -> f64 {
    low * (high / low).powf(f64::from(of) / 65_535.0)
}

impl Invented {
    fn json(&self) -> String {
        let (length, thickness) = (share(self.length, 20.0, 2000.0), share(self.thickness, 2.0, 100.0));
        let width = share(self.width, 5.0, 300.0);
        let mut text = format!(
            r#"{{"format":"barwright-bar/1","length_mm":{length},"width_mm":{width},"thickness_mm":{thickness}"#
        );
        let stations = self.underside.len().min(40);
        if stations >= 2 {
            let x: Vec<f64> = (0..stations).map(|i| length * i as f64 / (stations - 1) as f64).collect();
            let t: Vec<f64> =
                self.underside[..stations].iter().map(|s| thickness * (0.2 + 0.8 * f64::from(*s) / 255.0)).collect();
            text += &format!(r#","underside":{{"x_mm":{x:?},"thickness_mm":{t:?}}}"#);
        }
        if let Some(density) = self.density {
            let (density, e_l) = (share(density, 200.0, 1500.0), share(self.stiffness, 2.0, 50.0));
            text += &format!(r#","wood":{{"density_kg_m3":{density},"E_L_GPa":{e_l}}}"#);
        }
        if let Some((plan, dip)) = self.grain {
            text += &format!(r#","grain":{{"plan_deg":{},"dip_deg":{}}}"#, plan / 8, dip / 8);
        }
        text += &format!(r#","note":"{}{}""#, ["C", "D", "E", "F", "G", "A", "B"][usize::from(self.note) % 7], 1 + self.note / 7 % 8);
        if !self.heard.is_empty() {
            let hz: Vec<f64> = self.heard.iter().take(3).map(|h| share(*h, 20.0, 20_000.0)).collect();
            text += &format!(r#","log":[{{"heard":{{"hz":{{"bending":{hz:?}}}}}}}]"#);
        }
        text + "}"
    }
}

fuzz_target!(|bar: Invented| {
    let file = match BarFile::from_bytes(bar.json().as_bytes()) {
        Ok(file) => file,
        Err(refused) => return assert!(!refused.hint.is_empty(), "{refused:?}"),
    };
    let bench = Bench::in_memory(file, true);
    match bench.modes() {
        Ok(modes) => {
            for family in [&modes.bending, &modes.torsion, &modes.sideways, &modes.lengthwise] {
                let hz: Vec<f64> = family.iter().map(|mode| mode.hz).collect();
                assert!(hz.iter().all(|hz| hz.is_finite() && *hz > 0.0), "{hz:?}");
                assert!(hz.windows(2).all(|pair| pair[0] <= pair[1]), "{hz:?}");
            }
        }
        Err(refused) => assert!(!refused.hint.is_empty(), "{refused:?}"),
    }
    match bench.advise() {
        Ok(advice) => assert!(advice.bands.iter().all(|band| band.depth_m.is_finite() && band.depth_m > 0.0)),
        Err(refused) => assert!(!refused.hint.is_empty(), "{refused:?}"),
    }
});
