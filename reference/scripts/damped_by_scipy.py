"""Fits invented blows with scipy, for comparison with `strike`.

    python3 -m venv venv && venv/bin/pip install numpy scipy
    venv/bin/python reference/scripts/damped_by_scipy.py > reference/damped_by_scipy.json

Each case is damped sinusoids from 0.3 s on in nearly Gaussian noise from a generator written out
below (so that a test can make the very same samples), rounded to single precision. The fit is
scipy.optimize.least_squares (trust region, numerical conditions of its own, started from the true
values) of all parameters on the raw samples from 3 ms after the blow; the sigma is from its
Jacobian and residual. It shares no code and no method with the listener beyond least squares.
"""

import json

import numpy as np
import scipy
from scipy.optimize import least_squares

RATE, LEAD, LENGTH, SKIP = 48000.0, 14400, 48000, 144

# (hz, decay in s, amplitude, phase in rad)
CASES = {
    "C4 bar, 40 dB": (0.005, [(262.6, 0.150, 0.5, 0.3), (1055.0, 0.046, 0.103, 1.1), (2607.0, 0.028, 0.068, 2.0)]),
    "C4 bar, 20 dB": (0.05, [(262.6, 0.150, 0.5, 0.3), (1055.0, 0.046, 0.103, 1.1), (2607.0, 0.028, 0.068, 2.0)]),
    "C2 bar, 40 dB": (0.005, [(65.9, 0.9, 0.5, 0.7), (263.0, 0.35, 0.12, 0.2), (655.0, 0.15, 0.08, 1.4)]),
    "C7 twins 12 cents apart, 40 dB": (0.003, [(2082.0, 0.10, 0.3, 0.4), (2096.0, 0.09, 0.3, 1.9)]),
    "C5 xylophone with a neighbour, 34 dB": (0.01, [(523.9, 0.12, 0.5, 0.1), (1581.3, 0.045, 0.1, 0.8), (555.0, 0.2, 0.03, 2.2)]),
}


def noise(count, seed):
    """Sum of four uniforms from Knuth's MMIX generator, variance 1."""
    state, out = seed, np.empty(count)
    for n in range(count):
        total = 0.0
        for _ in range(4):
            state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
            total += (state >> 11) / 2.0**53 - 0.5
        out[n] = total * np.sqrt(3.0)
    return out


def samples(level, modes, seed):
    x = level * noise(LEAD + LENGTH, seed)
    t = np.arange(LENGTH) / RATE
    for hz, decay, amplitude, phase in modes:
        x[LEAD:] += amplitude * np.exp(-t / decay) * np.cos(2 * np.pi * hz * t + phase)
    return x.astype(np.float32)


def fit(x, modes):
    y = x[LEAD + SKIP :].astype(float)
    y -= x.astype(float).mean()
    t = (np.arange(len(y)) + SKIP) / RATE

    def model(p):
        total = -y.copy()
        for hz, rate, c, s in p.reshape(-1, 4):
            angle, envelope = 2 * np.pi * hz * t, np.exp(-rate * t)
            total += envelope * (c * np.cos(angle) + s * np.sin(angle))
        return total

    start = np.array([[hz, 1 / d, a * np.cos(ph), -a * np.sin(ph)] for hz, d, a, ph in modes]).ravel()
    scale = np.array([[0.1, 1.0, 0.01, 0.01] for _ in modes]).ravel()
    found = least_squares(model, start, x_scale=scale, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    variance = 2 * found.cost / (len(y) - len(start))
    sigma = np.sqrt(np.diag(np.linalg.inv(found.jac.T @ found.jac)) * variance)
    rows = zip(found.x.reshape(-1, 4), sigma.reshape(-1, 4))
    return [{"hz": float(p[0]), "sigma_hz": float(s[0]), "decay_s": float(1 / p[1])} for p, s in rows]


cases = []
for seed, (name, (level, modes)) in enumerate(CASES.items(), start=1):
    x = samples(level, modes, seed)
    cases.append(
        {
            "name": name,
            "seed": seed,
            "noise_rms": level,
            "modes": [dict(zip(("hz", "decay_s", "amplitude", "phase_rad"), mode)) for mode in modes],
            "sum_of_squares": float((x.astype(float) ** 2).sum()),
            "fitted": fit(x, modes),
        }
    )
print(
    json.dumps(
        {
            "made_by": f"scripts/damped_by_scipy.py, scipy {scipy.__version__}, numpy {np.__version__}",
            "sample_rate_hz": RATE,
            "lead_samples": LEAD,
            "ring_samples": LENGTH,
            "cases": cases,
        },
        indent=1,
    )
)
