"""Readings of two reference bars over 12 weeks, and what numpy's least squares (SVD) finds in them.

Run from the repository: pip install numpy; python reference/scripts/climate_by_numpy.py > reference/climate_by_numpy.json

Invented: air that wanders, bars whose moisture follows it with a time constant of 15 days, -1.2 cents per degree,
-11 cents per percent of moisture, 0.4 cents of noise. The equilibrium moisture is that of the Wood Handbook's
equation, written anew here. The regression has a level for each bar and is solved without removing means.
"""
import json

import numpy as np

RNG = np.random.default_rng(20261127)


def equilibrium(t, humidity):
    h = humidity / 100
    w = 349 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    return 1800 / w * (k * h / (1 - k * h) + (k1 * k * h + 2 * k1 * k2 * (k * h) ** 2) / (1 + k1 * k * h + k1 * k2 * (k * h) ** 2))


FOLLOWS = 15.0
days = np.arange(0, 84.0, 1.0)
log = [(d, 20 + 2.5 * np.sin(d / 9) + RNG.normal(0, 0.8), 47 + 12 * np.sin(d / 14 + 1) + RNG.normal(0, 2)) for d in days]
log = [(float(d), round(float(t), 2), round(float(h), 1)) for d, t, h in log]


def moisture_at(day):
    # The same first-order lag by small steps (an hour's hundredth of the time constant), air linear between entries.
    known = [(d, equilibrium(t, h)) for d, t, h in log]
    state, now, step = known[0][1], known[0][0], 0.01
    air = lambda at: np.interp(at, [d for d, _ in known], [m for _, m in known])
    while now < day - 1e-9:
        by = min(step, day - now)
        # Midpoint rule.
        half = state + 0.5 * by * (air(now) - state) / FOLLOWS
        state += by * (air(now + 0.5 * by) - half) / FOLLOWS
        now += by
    return state


readings = []
for bar, level in ((0, 3.0), (1, -7.0)):
    for day in sorted(RNG.choice(np.arange(3, 83), 16, replace=False)):
        _, t, _ = log[int(day)]
        cents = level - 1.2 * (t - 20) - 11.0 * (moisture_at(day) - 8.5) + RNG.normal(0, 0.4)
        readings.append({"bar": bar, "day": float(day), "temperature_c": t, "cents": round(float(cents), 4), "moisture": moisture_at(day)})

matrix = np.array([[r["bar"] == 0, r["bar"] == 1, r["temperature_c"], r["moisture"]] for r in readings], dtype=float)
right = np.array([r["cents"] for r in readings])
found, rest, _, _ = np.linalg.lstsq(matrix, right, rcond=None)
freedom = len(readings) - 4
variance = float(rest[0]) / freedom
covariance = variance * np.linalg.inv(matrix.T @ matrix)
print(json.dumps({
    "follows_days": FOLLOWS, "log": log, "readings": readings,
    "per_c": [float(found[2]), float(np.sqrt(covariance[2, 2]))],
    "per_moisture": [float(found[3]), float(np.sqrt(covariance[3, 3]))],
    "scatter_cents": float(np.sqrt(variance)), "freedom": freedom,
}, indent=None, separators=(",", ":")))
