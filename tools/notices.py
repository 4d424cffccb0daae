#!/usr/bin/env python3
"""Writes crates/barwright/notices.txt: every package of Cargo.lock with its licence, and each licence's text once.

Run at the root after Cargo.lock changed:  python3 tools/notices.py
A test compares the list with Cargo.lock; `barwright licences` prints it.
"""
import hashlib, json, pathlib, subprocess

root = pathlib.Path(__file__).resolve().parent.parent
metadata = json.loads(subprocess.run(
    ["cargo", "metadata", "--format-version", "1", "--locked"], cwd=root, check=True, capture_output=True).stdout)
own = set(metadata["workspace_members"])
packages = sorted((p for p in metadata["packages"] if p["id"] not in own), key=lambda p: (p["name"], p["version"]))
texts, lines = {}, []
for package in packages:
    folder = pathlib.Path(package["manifest_path"]).parent
    found = []
    for path in sorted(folder.iterdir()):
        if path.is_file() and path.name.upper().startswith(("LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE")):
            text = path.read_text(encoding="utf-8", errors="replace").replace("\r\n", "\n").strip()
            key = hashlib.sha256(" ".join(text.split()).encode()).hexdigest()
            number, _ = texts.setdefault(key, (len(texts) + 1, text))
            found.append(number)
    licence = package["license"] or "see its text"
    which = ", ".join(f"text {number}" for number in sorted(set(found))) or "no text in the package"
    lines.append(f"{package['name']} {package['version']}: {licence} ({which})")
font = (root / "crates/paper/font").glob("*.txt")
head = ("Third-party software that barwright is built with or tested with, and its licences.\n"
        f"{len(packages)} packages; the same text is printed once, below.\n")
out = [head, "\n".join(lines)]
for path in sorted(font):
    out.append(f"\n---- The typeface: {path.name} ----\n{path.read_text().strip()}")
for number, text in sorted(texts.values()):
    out.append(f"\n---- text {number} ----\n{text}")
(root / "crates/barwright/notices.txt").write_text("\n".join(out) + "\n")
print(len(packages), "packages,", len(texts), "texts")
