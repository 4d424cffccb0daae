"""Modes of bars as solids with a general-purpose finite-element library (scikit-fem), for reference.

Run: pip install scikit-fem scipy numpy; python reference/scripts/solid_by_scikit_fem.py > reference/solid_bars_scikit_fem.json

Twenty-node hexahedra (serendipity), trilinear geometry whose nodes lie on the stations of the underside, so
that the shape is exact; scipy's shift-invert eigsh. Each bar is solved on two meshes; the difference is in the file.
The bars are invented.
"""
import json
import sys

import numpy as np
import scipy.sparse.linalg as spla
from skfem import Basis, BilinearForm, ElementHexS2, ElementVector, MeshHex
from skfem.helpers import grad

VOIGT = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]


def stiffness(wood):
    e = {k: 1e9 * wood[k + "_GPa"] for k in ("E_L", "E_W", "E_H", "G_LW", "G_LH", "G_WH")}
    s = np.zeros((6, 6))
    s[0, 0], s[1, 1], s[2, 2] = 1 / e["E_L"], 1 / e["E_W"], 1 / e["E_H"]
    s[0, 1] = s[1, 0] = -wood["nu_LW"] / e["E_L"]
    s[0, 2] = s[2, 0] = -wood["nu_LH"] / e["E_L"]
    s[1, 2] = s[2, 1] = -wood["nu_WH"] / e["E_W"]
    s[3, 3], s[4, 4], s[5, 5] = 1 / e["G_WH"], 1 / e["G_LH"], 1 / e["G_LW"]
    return np.linalg.inv(s)


def turned(c, plan_deg, dip_deg):
    """C as a 3x3x3x3 tensor in bar axes: dip about the width first, then the plan turn about the vertical."""
    p, d = np.radians(plan_deg), np.radians(dip_deg)
    about_y = np.array([[np.cos(d), 0, -np.sin(d)], [0, 1, 0], [np.sin(d), 0, np.cos(d)]])
    about_z = np.array([[np.cos(p), -np.sin(p), 0], [np.sin(p), np.cos(p), 0], [0, 0, 1]])
    r = about_z @ about_y
    t = np.zeros((3, 3, 3, 3))
    for i, (a, b) in enumerate(VOIGT):
        for j, (k, l) in enumerate(VOIGT):
            for m, n in {(a, b), (b, a)}:
                for o, q in {(k, l), (l, k)}:
                    t[m, n, o, q] = c[i, j]
    return np.einsum("ip,jq,kr,ls,pqrs->ijkl", r, r, r, r, t)


def solve(bar, across, through, refine):
    x0 = np.array(bar["underside"]["x_mm"]) * 1e-3
    t0 = np.array(bar["underside"]["thickness_mm"]) * 1e-3
    lean0 = np.array(bar.get("far_minus_near_mm", [0.0] * len(x0))) * 1e-3
    x = np.concatenate([np.linspace(a, b, refine, endpoint=False) for a, b in zip(x0[:-1], x0[1:])] + [[x0[-1]]])
    width = bar["width_mm"] * 1e-3
    mesh = MeshHex.init_tensor(x, np.linspace(-0.5, 0.5, across + 1), np.linspace(-1, 0, through + 1))
    p = mesh.p.copy()
    thickness = np.interp(p[0], x0, t0) + p[1] * np.interp(p[0], x0, lean0)
    p = np.array([p[0], p[1] * width, p[2] * thickness])
    mesh = MeshHex(p, mesh.t)
    basis = Basis(mesh, ElementVector(ElementHexS2()), intorder=5)
    c = turned(stiffness(bar["wood"]), **bar["grain"])
    rho = bar["wood"]["density_kg_m3"]

    @BilinearForm
    def elastic(u, v, _):
        return np.einsum("ijkl,kl...,ij...->...", c, grad(u), grad(v))

    @BilinearForm
    def inertia(u, v, _):
        return rho * np.einsum("i...,i...->...", u, v)

    k, m = elastic.assemble(basis).tocsc(), inertia.assemble(basis).tocsc()
    shift = -((2 * np.pi * 100.0) ** 2)
    values, vectors = spla.eigsh(k, 17, m, sigma=shift, which="LM")
    order = np.argsort(values)
    return basis, values[order][6:], vectors[:, order][:, 6:]


def kind(basis, vector):
    """Largest of vertical, sideways and twisting motion along the edges and the middle of the top face."""
    p, dofs = basis.mesh.p, basis.nodal_dofs
    half = np.abs(p[1]).max()
    line = lambda y: np.flatnonzero(np.isclose(p[2], 0, atol=1e-9) & np.isclose(p[1], y, atol=1e-9))
    pick = lambda comp, y: vector[dofs[comp - 1, line(y)]]
    near, far, mid = (pick(3, y) for y in (-half, half, 0.0))
    assert len(near) == len(far) == len(mid) > 10
    bend, twist = np.sum(((near + far) / 2) ** 2), np.sum(((near - far) / 2) ** 2)
    side = np.sum(pick(2, 0.0) ** 2)
    along = np.sum(pick(1, 0.0) ** 2)
    names = ["bending", "torsion", "sideways", "lengthwise"]
    return names[int(np.argmax([bend, twist, side, along]))]


def polygon(length, thickness, thinnest, half, power, stations, one_sided=0.0):
    x = np.linspace(0, length, stations)
    s = (x - length / 2) / half
    t = thickness - (thickness - thinnest) * np.clip(1 - np.abs(s) ** power, 0, None)
    t -= one_sided * np.exp(-(((x - 0.33 * length) / (0.05 * length)) ** 2))
    return {"x_mm": [round(float(v), 4) for v in x], "thickness_mm": [round(float(v), 4) for v in t], "kinks_mm": []}


WOOD = {"name": "invented", "density_kg_m3": 880.0, "E_L_GPa": 16.0, "E_W_GPa": 1.2, "E_H_GPa": 1.7, "G_LW_GPa": 1.1,
        "G_LH_GPa": 1.4, "G_WH_GPa": 0.4, "nu_LW": 0.45, "nu_LH": 0.38, "nu_WH": 0.4}


def bars():
    shape = polygon(380, 23, 12, 95, 2, 77)
    yield "F4_xylophone", {"length_mm": 380, "width_mm": 40, "underside": shape, "wood": WOOD, "grain": {"plan_deg": 1.5, "dip_deg": 2.0}}
    shape = polygon(360, 22, 9, 110, 3, 73, one_sided=1.5)
    yield "C4_one_sided", {"length_mm": 360, "width_mm": 50, "underside": shape, "wood": WOOD, "grain": {"plan_deg": 0.0, "dip_deg": 0.0}}
    shape = polygon(360, 22, 9, 110, 3, 73)
    s = np.abs((np.array(shape["x_mm"]) - 150) / 80)
    lean = [round(float(v), 4) for v in -2.0 * np.clip(1 - s ** 2, 0, None)]
    yield "C4_crooked", {"length_mm": 360, "width_mm": 50, "underside": shape, "far_minus_near_mm": lean, "wood": WOOD, "grain": {"plan_deg": 0.0, "dip_deg": 0.0}}
    yield "C4_crooked_turned", {"length_mm": 360, "width_mm": 50, "underside": shape, "far_minus_near_mm": lean, "wood": WOOD, "grain": {"plan_deg": 3.0, "dip_deg": -1.0}}


def main():
    out = {"what": __doc__.split("\n")[0], "how": "see scripts/solid_by_scikit_fem.py", "bars": []}
    for name, bar in bars():
        _, coarse, _ = solve(bar, 4, 3, 1)
        basis, fine, vectors = solve(bar, 6, 4, 1)
        modes = []
        count = {}
        for i, value in enumerate(fine):
            k = kind(basis, vectors[:, i])
            count[k] = count.get(k, 0) + 1
            hz = float(np.sqrt(value) / 2 / np.pi)
            change = float(1200 * np.log2(np.sqrt(coarse[i]) / 2 / np.pi / hz))
            modes.append({"kind": k, "mode": count[k], "hz": round(hz, 5), "coarse_minus_fine_cents": round(change, 3)})
        print(name, basis.N, modes[:6], file=sys.stderr)
        out["bars"].append({"id": name, "bar": bar, "modes": modes})
    json.dump(out, sys.stdout, indent=1)
    print()


main()
