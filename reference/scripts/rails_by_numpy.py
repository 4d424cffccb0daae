"""Rails under rows of bars by numpy's least squares (SVD), written anew from the problem's statement.

Run from the repository: pip install numpy; python reference/scripts/rails_by_numpy.py > reference/rails_by_numpy.json

Unknown: y of both rails as straight lines over x, and for every bar y of its end that faces the player. For each bar,
each rail and each of its two sides: rail's y at that side's x, less the bar's y, shall be the node's distance from the
end; weighted by 1/length (motion at the cord per millimetre goes as 1/length). The player's rail is at y = 0 at the
first bar. Three cases: slopes free; the outer rail taking all the convergence of a natural row; and of an accidental
row. All bars are invented; their node lines carry normal noise of 1 mm.
"""
import json
import sys

import numpy as np

RNG = np.random.default_rng(20261125)


def row(count, lean):
    bars, edge = [], 0.0
    for i in range(count):
        t = i / (count - 1)
        width = 0.072 - 0.032 * t
        x, edge = edge + width / 2, edge + width + 0.0127
        share, span = 0.169 + 0.050 * t, 0.384 - 0.12 * (x - 0.036)
        length = span / (1 - 2 * share)
        rise = lean * width * (1 - t)
        nodes = [[share * length - rise / 2, share * length + rise / 2],
                 [(1 - share) * length + rise / 2, (1 - share) * length - rise / 2]]
        bars.append({"x": x, "width": width, "length": length,
                     "nodes": (np.array(nodes) + RNG.normal(0, 0.001, (2, 2))).tolist()})
    return bars


def solve(bars, shares):
    origin, count = bars[0]["x"], len(bars)
    rail_columns = 3 if shares is None else 2
    rows, right = [], []
    for i, bar in enumerate(bars):
        for rail in (0, 1):
            for side in (0, 1):
                arm = bar["x"] + (side - 0.5) * bar["width"] - origin
                line = np.zeros(rail_columns + count)
                line[0] = rail
                if shares is None:
                    line[1 + rail] = arm
                else:
                    line[1] = shares[rail] * arm
                line[rail_columns + i] = -1
                rows.append(line / bar["length"])
                right.append(bar["nodes"][rail][side] / bar["length"])
    found = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)[0]
    slopes = found[1:3] if shares is None else np.array(shares) * found[1]
    return {"span": found[0], "slopes": slopes.tolist(), "ends": found[rail_columns:].tolist()}


cases = []
for name, count, lean, shares in (("free", 36, 0.07, None), ("natural, outer rail takes all", 36, 0.07, (1, 0)),
                                  ("accidental, outer rail takes all", 25, -0.02, (0, -1))):
    bars = row(count, lean)
    cases.append({"name": name, "row": name.split(",")[0], "bars": bars, "found": solve(bars, shares)})
json.dump({"made_by": f"reference/scripts/rails_by_numpy.py, numpy {np.__version__}",
           "units": "metres", "cases": cases}, sys.stdout, indent=1)
print()
