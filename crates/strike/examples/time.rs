use strike::synth::*; use strike::*;
fn cpu() -> f64 { let s = std::fs::read_to_string("/proc/self/stat").unwrap(); let f: Vec<&str> = s.split(' ').collect(); (f[13].parse::<f64>().unwrap()+f[14].parse::<f64>().unwrap())*10.0 }
fn main() {
    let modes = [SynthMode{hz:262.6,decay_s:0.15,amplitude:0.5,phase_rad:0.3},SynthMode{hz:1055.0,decay_s:0.046,amplitude:0.1,phase_rad:1.0},SynthMode{hz:2607.0,decay_s:0.028,amplitude:0.07,phase_rad:2.0}];
    let x = blow(&modes, 48000.0, 1.0, 0.3, 0.005, 1);
    let c = Context::default();
    let t = cpu(); for _ in 0..50 { std::hint::black_box(listen(&[Take{samples:&x,sample_rate_hz:48000.0}], &c).is_ok()); }
    println!("{} ms cpu per take", (cpu()-t)/50.0);
}
