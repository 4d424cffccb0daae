"""DXF contours read by ezdxf's strict reader, without its recovery, and audited.

Run from the repository: pip install ezdxf; python reference/scripts/dxf_by_ezdxf.py FOLDER
where FOLDER was written by: barwright sheet template plan.toml --machines FOLDER

Fails if a file is refused, has errors or fixes, or is not one closed polyline on layer CUT with millimetres that make sense.
"""
import pathlib
import sys

import ezdxf

files = sorted(pathlib.Path(sys.argv[1]).glob("*.dxf"))
assert files, "no DXF files there"
for path in files:
    document = ezdxf.readfile(path)
    audit = document.audit()
    assert not audit.errors and not audit.fixes, (path, audit.errors, audit.fixes)
    assert document.dxfversion == "AC1009", (path, document.dxfversion)
    cuts = document.modelspace().query('POLYLINE[layer=="CUT"]')
    assert len(cuts) == 1 and cuts[0].is_closed, path
    points = [vertex.dxf.location for vertex in cuts[0].vertices]
    long = max(p.x for p in points) - min(p.x for p in points)
    thick = max(p.y for p in points) - min(p.y for p in points)
    assert 100 < long < 700 and 10 < thick < 30, (path, long, thick)
    layers = {entity.dxf.layer for entity in document.modelspace()}
    assert {"CUT", "CENTRE", "NODE", "TEXT"} <= layers, (path, layers)
    print(f"{path.name}: {len(points)} points, {long:.2f} x {thick:.2f} mm, layers {sorted(layers)}")
