"""Our eigensolver against scipy's sparse one on the same matrices, in one run.

Run from the repository: pip install scipy numpy; python reference/scripts/eigsh_ratio.py [BAR …]

Builds and runs the example `matrices` of bar-physics, which writes K and M of a bar of solid_bars.json as Matrix
Market files and times its own factorisation and iteration; then times scipy.sparse.linalg.eigsh in shift-invert mode
on the files read back: same shift, same accuracy asked (1e-9 of the eigenvalue), one thread each, best of several
runs. scipy knows nothing of the rigid motions and finds them as well (3 of a symmetry class, 6 of a turned bar); its
factorisation is tried in its default ordering, in the ordering for symmetric patterns, and in the given order, and
the fastest counts.
"""
import os

# Before numpy is read: one thread, as ours.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"
import json
import subprocess
import sys
import tempfile
import time

import numpy as np
import scipy
import scipy.io
import scipy.sparse.linalg as spla

RUNS = 5
ORDERINGS = ("COLAMD", "MMD_AT_PLUS_A", "NATURAL")


def eigsh(k, m, sigma, count, ordering):
    begin = time.perf_counter()
    factor = spla.splu((k - sigma * m).tocsc(), permc_spec=ordering, options={"SymmetricMode": ordering != "COLAMD"})
    inverse = spla.LinearOperator(k.shape, factor.solve, dtype=float)
    values = spla.eigsh(k, count, m, sigma=sigma, OPinv=inverse, tol=1e-9, return_eigenvectors=True)[0]
    return 1e3 * (time.perf_counter() - begin), np.sort(values)


def main(bars):
    print(f"scipy {scipy.__version__}, numpy {np.__version__}, one thread each, best of several runs")
    print("bar | unknowns | nonzeros of K | ours ms | scipy ms (ordering) | ratio | worst difference, cents")
    with tempfile.TemporaryDirectory() as folder:
        for bar in bars:
            command = ["cargo", "run", "--release", "-q", "-p", "bar-physics", "--example", "matrices", "--", bar, folder]
            for part in json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout):
                k = scipy.io.mmread(part["stiffness"]).tocsc()
                m = scipy.io.mmread(part["mass"]).tocsc()
                ours = np.array(part["omega_squared"])
                runs = [
                    (*eigsh(k, m, -part["shift"], len(ours) + part["rigid"], ordering), ordering)
                    for ordering in ORDERINGS
                    for _ in range(RUNS)
                ]
                ms, values, ordering = min(runs, key=lambda run: run[0])
                cents = 600 * np.log2(values[part["rigid"]:] / ours)
                print(
                    f"{bar} | {part['unknowns']} | {k.nnz} | {part['best_ms']:.1f} | {ms:.1f} ({ordering}) | "
                    f"{ms / part['best_ms']:.1f} | {np.abs(cents).max():.1e}"
                )
                assert np.abs(cents).max() < 1e-3, "the two solvers disagree by more than a thousandth of a cent"


if __name__ == "__main__":
    main(sys.argv[1:] or ["B2_blank", "B2_final", "B2r_final"])
