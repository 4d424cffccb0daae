//! Damped sinusoids `Re(c·zⁿ)`, `z = exp(log_pole)`, and their sums in closed form.
//!
//! Every inner product a least-squares fit needs is a sum `Σ nᵖ wⁿ` over n = 0…N−1. The closed
//! forms (differentiated geometric series) make a fit on raw samples cost one pass over the data
//! per component, whatever the number of components.

/// Complex number in double precision.
pub(crate) type Complex = nalgebra::Complex<f64>;

/// One damped sinusoid: amplitude at sample 0 and logarithm of its pole per sample
/// (real part −1/(decay in samples), imaginary part radians per sample).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Component {
    pub amplitude: Complex,
    pub log_pole: Complex,
}

impl Component {
    /// Frequency in hertz.
    pub fn hz(&self, sample_rate_hz: f64) -> f64 {
        self.log_pole.im * sample_rate_hz / std::f64::consts::TAU
    }

    /// Damping rate in 1/s; the amplitude falls by 1/e in its reciprocal.
    pub fn rate_per_s(&self, sample_rate_hz: f64) -> f64 {
        -self.log_pole.re * sample_rate_hz
    }

    /// Energy `Σ |c·zⁿ|²/2` in the first `count` samples (the oscillating part of the square
    /// averages out over a period).
    pub fn energy(&self, count: usize) -> f64 {
        let squared = Complex::new(2.0 * self.log_pole.re, 0.0);
        0.5 * self.amplitude.norm_sqr() * power_sums(squared, count)[0].re
    }

    /// The same sinusoid with sample `offset` as its sample 0.
    pub fn shifted(&self, offset: f64) -> Self {
        Self { amplitude: self.amplitude * (self.log_pole * offset).exp(), ..*self }
    }
}

/// `exp(z) − 1` without cancellation near 0.
fn exp_minus_one(z: Complex) -> Complex {
    let half = (0.5 * z.im).sin();
    let (sin, cos) = z.im.sin_cos();
    Complex::new(z.re.exp_m1() * cos - 2.0 * half * half, z.re.exp() * sin)
}

/// `Σ nᵖ wⁿ` for n = 0…count−1 and p = 0, 1, 2, with `w = exp(log_w)`.
///
/// Closed forms: the geometric series and its derivatives by `w`. Where `|log_w|·count` is small
/// they cancel (relative loss about ε/|log_w·count|²), so the terms are then added one by one.
pub(crate) fn power_sums(log_w: Complex, count: usize) -> [Complex; 3] {
    let n = count as f64;
    // Only the distance from the nearest multiple of 2π matters.
    let turn = std::f64::consts::TAU;
    let log_w = Complex::new(log_w.re, log_w.im - turn * (log_w.im / turn).round());
    if log_w.norm() * n < 0.05 {
        return direct_sums(log_w, count);
    }
    let w = log_w.exp();
    let q = -exp_minus_one(log_w);
    let w_n = (log_w * n).exp();
    let rest = -exp_minus_one(log_w * n);
    let (q2, one) = (q * q, Complex::new(1.0, 0.0));
    [rest / q, w * rest / q2 - w_n * n / q, w * (one + w) * rest / (q2 * q) - w_n * (w * (2.0 * n) / q2 + n * n / q)]
}

fn direct_sums(log_w: Complex, count: usize) -> [Complex; 3] {
    let mut sums = [Complex::new(0.0, 0.0); 3];
    for index in 0..count {
        let n = index as f64;
        let term = (log_w * n).exp();
        sums[0] += term;
        sums[1] += term * n;
        sums[2] += term * (n * n);
    }
    sums
}

const LANES: usize = 8;

/// Powers `zⁿ` for n = 0…LANES−1, and `z` to the power LANES.
fn lanes(log_pole: Complex) -> ([f64; LANES], [f64; LANES], Complex) {
    let (mut re, mut im) = ([0.0; LANES], [0.0; LANES]);
    for lane in 0..LANES {
        let power = (log_pole * lane as f64).exp();
        re[lane] = power.re;
        im[lane] = power.im;
    }
    (re, im, (log_pole * LANES as f64).exp())
}

/// `Σ xₙ zⁿ` and `Σ n·xₙ zⁿ`.
///
/// Eight interleaved recursions keep the processor's pipelines full; the rounding of a recursion
/// grows as N·ε, about 1e-11 for a second of sound.
/// Terms beyond sixteen decay times (weight 1e-7, −140 dB) are left out.
pub(crate) fn correlate(samples: &[f64], log_pole: Complex) -> [Complex; 2] {
    let audible = (-16.0 / log_pole.re.min(-1e-12)).ceil() as usize;
    let samples = &samples[..samples.len().min(audible)];
    let (mut re, mut im, step) = lanes(log_pole);
    let mut sums = [[0.0; LANES]; 4];
    let mut base = 0.0;
    let chunks = samples.chunks_exact(LANES);
    let tail = chunks.remainder();
    for chunk in chunks {
        for lane in 0..LANES {
            let (x, n) = (chunk[lane], base + lane as f64);
            let (a, b) = (x * re[lane], x * im[lane]);
            sums[0][lane] += a;
            sums[1][lane] += b;
            sums[2][lane] += n * a;
            sums[3][lane] += n * b;
            let next = re[lane] * step.re - im[lane] * step.im;
            im[lane] = re[lane] * step.im + im[lane] * step.re;
            re[lane] = next;
        }
        base += LANES as f64;
    }
    for (lane, x) in tail.iter().enumerate() {
        let n = base + lane as f64;
        sums[0][lane] += x * re[lane];
        sums[1][lane] += x * im[lane];
        sums[2][lane] += n * x * re[lane];
        sums[3][lane] += n * x * im[lane];
    }
    let total = |row: usize| sums[row].iter().sum::<f64>();
    [Complex::new(total(0), total(1)), Complex::new(total(2), total(3))]
}

fn log_pole_rate(component: &Component) -> f64 {
    component.log_pole.re.min(-1e-12)
}

/// Subtracts the component from the samples, as far as it is above 1e-13 of its start.
pub(crate) fn subtract(samples: &mut [f64], component: &Component) {
    let (mut re, mut im, step) = lanes(component.log_pole);
    let c = component.amplitude;
    let audible = (-30.0 / log_pole_rate(component)).ceil() as usize;
    let end = samples.len().min(audible);
    for chunk in samples[..end].chunks_mut(LANES) {
        for (lane, x) in chunk.iter_mut().enumerate() {
            *x -= c.re * re[lane] - c.im * im[lane];
            let next = re[lane] * step.re - im[lane] * step.im;
            im[lane] = re[lane] * step.im + im[lane] * step.re;
            re[lane] = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_sums_equal_added_terms() {
        // From nearly steady to fast decay; tolerance: ε times the worst cancellation 1/0.05² and
        // a margin of a few hundred for 3000 rounded additions.
        for log_w in [
            Complex::new(-1e-5, 2e-5),
            Complex::new(-1e-4, 0.0),
            Complex::new(-3e-3, 1.3),
            Complex::new(1e-5, 3.1),
            Complex::new(-0.2, 6.2),
        ] {
            let (closed, direct) = (power_sums(log_w, 3000), direct_sums(log_w, 3000));
            for power in 0..3 {
                let scale = direct[power].norm().max(1.0);
                assert!(
                    (closed[power] - direct[power]).norm() < 1e-9 * scale,
                    "{log_w} power {power}: {} against {}",
                    closed[power],
                    direct[power]
                );
            }
        }
    }

    #[test]
    fn subtracting_a_component_leaves_nothing() {
        let component = Component { amplitude: Complex::new(0.3, -0.2), log_pole: Complex::new(-1e-3, 0.21) };
        let mut samples: Vec<f64> =
            (0..1003).map(|n| (component.amplitude * (component.log_pole * f64::from(n)).exp()).re).collect();
        let [plain, _] = correlate(&samples, component.log_pole);
        let direct: Complex = samples.iter().enumerate().map(|(n, x)| (component.log_pole * n as f64).exp() * *x).sum();
        // Recursion rounding: 1003 steps of ε, sums of order 100.
        assert!((plain - direct).norm() < 1e-10);
        subtract(&mut samples, &component);
        assert!(samples.iter().all(|x| x.abs() < 1e-12));
    }
}
