#[path = "../tests/common/mod.rs"]
mod common;
use strike::*;
fn main() {
    let f = common::patch_folder().unwrap();
    let i: usize = std::env::args().nth(2).unwrap().parse().unwrap();
    let r = common::read_patch(&std::fs::read(f.join(std::env::args().nth(1).unwrap())).unwrap());
    let rec = &r[i];
    let x = &rec.samples[..rec.before_loop.unwrap_or(rec.samples.len())];
    let _ = listen(&[Take{samples:x,sample_rate_hz:rec.sample_rate_hz}], &Context::default());
}
