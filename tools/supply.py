#!/usr/bin/env python3
"""Holds every package of Cargo.lock against deny.toml: licence, source, ban. Prints what there is twice.

    python3 tools/supply.py          exit status 1 and the packages if something is not allowed

What cargo-deny asks beyond this (known advisories, yanked versions) needs a network; tools/release runs that.
"""
import json
import pathlib
import re
import subprocess
import sys
import tomllib

ROOT = pathlib.Path(__file__).resolve().parent.parent
TOKEN = re.compile(r"\(|\)|[A-Za-z0-9.+-]+(?: WITH [A-Za-z0-9.+-]+)?")


def allowed(expression: str, allow: set[str]) -> bool:
    """An SPDX expression (SPDX 2.3, annex D): AND binds closer than OR; "/" is the old way to write OR."""
    tokens = TOKEN.findall(expression.replace("/", " OR "))

    def either() -> bool:
        value = both()
        while tokens and tokens[0] == "OR":
            tokens.pop(0)
            # Read on even where the answer is known: the words behind it must go.
            other = both()
            value = value or other
        return value

    def both() -> bool:
        value = one()
        while tokens and tokens[0] == "AND":
            tokens.pop(0)
            other = one()
            value = value and other
        return value

    def one() -> bool:
        token = tokens.pop(0)
        if token != "(":
            return token in allow
        value = either()
        tokens.pop(0)
        return value

    return either() and not tokens


def findings(packages: list[dict], policy: dict) -> list[str]:
    allow = set(policy["licenses"]["allow"])
    banned = {ban["name"] for ban in policy["bans"]["deny"]}
    sources = {"registry+" + url for url in policy["sources"]["allow-registry"]}
    wrong = []
    for package in packages:
        name = f"{package['name']} {package['version']}"
        licence = package["license"]
        if licence and not allowed(licence, allow):
            wrong.append(f"{name}: licence {licence}")
        if not licence and not package["license_file"]:
            wrong.append(f"{name}: no licence")
        if package["source"] not in sources:
            wrong.append(f"{name}: from {package['source']}")
        if package["name"] in banned:
            wrong.append(f"{name}: banned")
    return wrong


def main() -> int:
    policy = tomllib.loads((ROOT / "deny.toml").read_text())
    sample = {"name": "x", "version": "1", "license_file": None}
    bad = [
        sample | {"license": "GPL-3.0-only", "source": "registry+x"},
        sample | {"license": "MIT AND GPL-2.0-only", "source": "git+https://example.invalid"},
        sample | {"license": None, "source": None, "name": "openssl-sys"},
    ]
    # The check can fail: these must.
    assert len(findings(bad, policy)) == 7, findings(bad, policy)
    assert allowed("(MIT OR GPL-2.0-only) AND ISC", set(policy["licenses"]["allow"]))
    output = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--locked"], cwd=ROOT, check=True, capture_output=True
    ).stdout
    metadata = json.loads(output)
    own = set(metadata["workspace_members"])
    packages = [package for package in metadata["packages"] if package["id"] not in own]
    wrong = findings(packages, policy)
    names = [package["name"] for package in packages]
    twice = sorted({name for name in names if names.count(name) > 1})
    print(f"{len(packages)} packages; in more than one version: {', '.join(twice) or 'none'}")
    print("\n".join(wrong) or "licences, sources and bans as deny.toml wants them")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
