#!/usr/bin/python3
"""Whole rings against a solid modeller: the finished weight that `quantities` tells of each sheet
in tests/independent/rings and in demo, beside the volume that OpenSCAD finds of the same ring.

The ring is built anew from the sheet's measurements (ring_solids.py), its parts joined, the room of
its stones taken off, and the resulting mesh measured twice: by a signed sum here and by admesh. No
volume formula of the program is used; that it knows what overlaps only by allowances is what this
test is about. Counts of melee and the room between them are compared as well. A ring of several
alloys is compared in that of its shank, for what overlaps has no alloy; where the size is no
diameter, the inside diameter is taken as told, for ring sizes have tests of their own.

    whole_rings.py [SHEET...]    runs $TALLYSTONE; a table, and ok or not ok for each sheet
"""
import csv
import io
import math
import multiprocessing
import os
import pathlib
import re
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
import ring_outlines  # noqa: E402
import ring_solids as solids  # noqa: E402

PROGRAM = os.environ.get("TALLYSTONE", "build/release/tallystone")
SHEETS = sorted([*pathlib.Path("tests/independent/rings").glob("*.csv"), *pathlib.Path("demo").glob("*.csv")])
MOST = 0.02  # of the whole weight: what a caster's own scatter makes of it
ROOM = 0.003  # mm: what polygons make of a spacing


def number(text):
    try:
        return float(text)
    except ValueError:
        return text


def sheet(path):
    """Parts by kind and name, from rows; options are left out."""
    parts = {}
    for row in csv.DictReader(path.open(encoding="utf-8")):
        if row["part"] and not row["part"].startswith(("#", "option")):
            parts.setdefault(row["part"], {})[row["measure"]] = number(row["value"])
    return parts


def kind(parts, word):
    return {title.partition(" ")[2]: part for title, part in parts.items() if title.split()[0] == word}


def in_one_alloy(path, folder):
    """The sheet with all parts in the ring's alloy; a copy where they are not."""
    rows = list(csv.reader(path.open(encoding="utf-8")))
    kept = [row for row in rows if row[0].startswith("ring") or row[1] not in ("alloy", "made", "joints")
            or row[0].startswith("trade-in")]
    copy = folder / path.name
    with copy.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(row for row in kept if not row[0].startswith("option"))
    return copy


def read(path, bore):
    """The ring as ring_solids wants it: every stone with its outline and its places."""
    parts = sheet(path)
    parts["ring"]["size"] = bore
    ring = {"bore": parts["ring"]["size"], "shank": parts["shank"], "alloy": parts["ring"]["alloy"]}
    for word in ("head", "bezel", "halo", "row"):
        ring[word + "s"] = [dict(part, name=name) for name, part in kind(parts, word).items()]
    ring["stones"] = kind(parts, "stone")
    for held in ring["stones"].values():
        held.setdefault("width", held["length"])
        held.setdefault("corner", 0.0)
        held["points"] = ring_outlines.outline(held)
    chain(ring)
    for name, held in ring["stones"].items():
        held["girdle"] = girdle(ring, name, held)
    for held in ring["stones"].values():
        held["places"] = places(ring, held)
    return ring


def chain(ring):
    """Each halo after what it goes round: the stone it is about, where its counting begins, and the
    line it stands below."""
    by_name = {part["name"]: part for part in ring["halos"]}
    for part in ring["halos"]:
        around = str(part["around"])
        part["base"], part["held"] = 0.0, around
        while part["held"].startswith("halo "):
            part["held"] = str(by_name[part["held"][5:]]["around"])
        if around.startswith("halo "):
            part["base"] = edge(by_name, around[5:])
        if "under" in part:
            part["line"] = edge(by_name, str(part["under"]).removeprefix("halo "))


def edge(by_name, name):
    """How far a halo's metal reaches from the girdle."""
    part = by_name[name]
    base = edge(by_name, part["around"][5:]) if str(part["around"]).startswith("halo ") else 0.0
    return base + part["gap"] + part["stone diameter"] + part["rim"]


def girdle(ring, name, held):
    below = (solids.PAVILION + solids.GIRDLE) * held["depth"]
    for part in ring["heads"]:
        if part["holds"] == name:
            return part["culet clearance"] + below
    part = next(part for part in ring["bezels"] if part["holds"] == name)
    half = math.radians(ring["shank"].get("open", 0.0)) / 2
    radius = ring["bore"] / 2
    top = (radius + solids.rise(ring, half, 0.0)[0]) * math.cos(half) - radius
    return max(below, top + part["height"] - solids.CROWN * held["depth"] / 3)


def places(ring, held):
    """x, y, z and turn of each copy: in the middle, or a mirrored pair beside what is there."""
    if "beside" not in held:
        return [(0.0, 0.0, held["girdle"], 0.0)]
    beside = ring["stones"][held["beside"]]
    x = beside["width"] / 2 + held["gap"] + held["length"] / 2
    z = beside["girdle"] - held["drop"] if "drop" in held else held["girdle"]
    return [(x, 0.0, z, -90.0), (-x, 0.0, z, 90.0)]


# ---- the two answers ----


def facts(path):
    done = subprocess.run([PROGRAM, "quantities", str(path), "--csv"], capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"quantities ended with {done.returncode}: {done.stderr}")
    return {(row["part"], row["measure"]): number(row["value"]) for row in csv.DictReader(io.StringIO(done.stdout))}


def density(alloy):
    with open("pricebooks/alloys.csv", encoding="utf-8") as book:
        return next(float(row["density"]) for row in csv.DictReader(book) if row["alloy"] == alloy)


def modelled(text, folder):
    """Volume of the mesh that OpenSCAD makes, by the sum of its signed tetrahedra and by admesh."""
    scad, stl = folder / "ring.scad", folder / "ring.stl"
    scad.write_text(text)
    done = subprocess.run(["openscad", "-o", str(stl), str(scad)], capture_output=True, text=True, check=False)
    if done.returncode != 0 or not stl.exists() or re.search("ERROR|WARNING", done.stderr):
        raise RuntimeError("openscad: " + done.stderr)
    corners = [tuple(map(float, line.split()[1:])) for line in stl.read_text().splitlines() if "vertex" in line]
    volume = math.fsum(
        a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        for a, b, c in zip(corners[::3], corners[1::3], corners[2::3])) / 6
    done = subprocess.run(["admesh", "-c", "-n", str(stl)], capture_output=True, text=True, check=False)
    found = re.search(r"Volume\s*:\s*([-0-9.]+)", done.stdout)
    return volume, float(found.group(1)) if found else math.nan


def compare(path):
    try:
        with tempfile.TemporaryDirectory() as folder:
            copy = in_one_alloy(path, pathlib.Path(folder))
            told = facts(copy)
            ring = read(copy, told["ring", "inside diameter"])
            volume, other = modelled(solids.source(ring), pathlib.Path(folder))
        grams = volume * density(ring["alloy"]) / 1000
        weight = told["metal " + ring["alloy"], "finished weight"]
        troubles = []
        if not abs(other / volume - 1) < 1e-4:
            troubles.append(f"admesh finds {other} mm3 in the mesh, the signed sum {volume}")
        if not abs(weight / grams - 1) <= MOST:
            troubles.append(f"{weight:.4f} g are told; the solid weighs {grams:.4f} g")
        for part in ring["halos"] + ring["rows"]:
            title = ("halo " if "around" in part else "row ") + part["name"]
            if told[title, "stones"] != part["stones"]:
                troubles.append(f"{title}: {told[title, 'stones']:.0f} stones are told; {part['stones']} stand")
            elif not abs(told[title, "spacing"] - part["room"]) < ROOM:
                troubles.append(f"{title}: {told[title, 'spacing']} mm between stones; {part['room']:.6f} stand")
        return path, (weight, grams, volume), troubles
    except (RuntimeError, KeyError, ValueError, OSError) as trouble:
        return path, None, [f"{type(trouble).__name__}: {trouble}"]


def main(paths):
    failures = 0
    with multiprocessing.Pool(2) as pool:
        for path, figures, troubles in pool.imap(compare, paths):
            said = ""
            if figures:
                weight, grams, volume = figures
                said = f": told {weight:8.4f} g, solid {grams:8.4f} g ({volume:8.3f} mm3), {100 * (weight / grams - 1):+.2f} %"
            print(f"{'not ok' if troubles else 'ok'} {path.parent.name}/{path.stem}{said}", flush=True)
            for trouble in troubles:
                print(f"  {trouble}")
            failures += bool(troubles)
    if not paths:
        print("not ok no sheets")
    return 1 if failures or not paths else 0


if __name__ == "__main__":
    sys.exit(main([pathlib.Path(name) for name in sys.argv[1:]] or SHEETS))
