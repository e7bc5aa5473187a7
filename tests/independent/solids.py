#!/usr/bin/env python3
"""Three whole sheets measured outside the program, and the program held against it.

The sheets are those of tests/reference/sheets, with the books of tests/reference/books. Nothing
of src/geometry is used: counts are found by trying one stone after another, solids of
revolution by slicing them, the oval's girdle by walking round it, shanks by the quadrature of
shank_quadrature.py. What is taken from the specification is what a part is (a claw runs from
the base rail, level with the culet, over the girdle by 0.7 of the crown; a seat tapers to a
drill of half the stone over 0.43 of it ...), not how its volume is worked out.

    solids.py            runs $TALLYSTONE on the sheets and compares: ok or not ok a sheet
    solids.py --table    prints tests/reference/demo-quantities.csv
"""
import csv
import io
import math
import os
import subprocess
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from shank_quadrature import gauss, half  # noqa: E402

GAUSS = gauss(20)
CROWN, GIRDLE, PAVILION = 14.5 / 60, 2.5 / 60, 43.0 / 60


def integral(f, begin, end, panels=1):
    """Gauss-Legendre, 20 points a panel."""
    step = (end - begin) / panels
    return sum(step * weight * f(begin + step * (k + node)) for k in range(panels) for node, weight in GAUSS)


def turned(radius, height):
    """Solid of revolution of a radius by height, in slices."""
    return integral(lambda z: math.pi * radius(z) ** 2, 0.0, height, 8)


def seat(d, metal):
    """A taper from d to d/2 over 0.43 d, then a drill."""
    cone = 0.43 * d
    taper = turned(lambda z: d / 2 - d / 4 * z / cone, min(cone, metal))
    return taper + math.pi * (d / 4) ** 2 * max(0.0, metal - cone)


def claw(base, tip, axis, style):
    shaft = turned(lambda z: base / 2 + (tip - base) / 2 * z / axis, axis)
    if style == "round":
        return shaft + turned(lambda z: math.sqrt((tip / 2) ** 2 - z * z), tip / 2 * (1 - 1e-15))
    wall = tip * tip * tip / 2  # one leg of a v: long and high as the tip, half as thick
    return shaft + 2 * wall - (tip / 2) ** 2 * tip


def claw_axis(depth, inset, tip, style):
    """From the level of the culet to where the tip begins."""
    reach, end = (1.0, tip) if style == "v" else (0.7, tip / 2)
    return math.hypot(inset, (PAVILION + GIRDLE) * depth) + max(0.0, reach * CROWN * depth - end)


def crossing(one, other):
    """What two round bars share that cross at right angles, sliced along the third axis."""
    thin, thick = sorted((one / 2, other / 2))
    return integral(lambda a: 4 * (thin * math.cos(a)) ** 2 * math.sqrt(thick**2 - (thin * math.sin(a)) ** 2),
                    -math.pi / 2, math.pi / 2, 16)


def segment(r, s):
    """Of a disc, what lies beyond a chord at s from its middle, in strips."""
    begin = math.asin(max(-1.0, min(1.0, s / r)))
    return integral(lambda a: 2 * (r * math.cos(a)) ** 2, begin, math.pi / 2, 2)


def claw_radius(base, tip, depth, inset, style, down):
    """At a height `down` below the girdle."""
    below = (PAVILION + GIRDLE) * depth
    share = math.hypot(inset, below) / claw_axis(depth, inset, tip, style) * (1 - down / below)
    return (base + (tip - base) * share) / 2


def notch(base, tip, depth, width, inset, style):
    """The stone's room in a claw whose axis meets the girdle, in level slices: crown up to a table of
    57 % of the width, girdle, pavilion to the culet. The claw leans in below."""
    r = claw_radius(base, tip, depth, inset, style, 0.0)
    lean = inset / ((PAVILION + GIRDLE) * depth)
    crown = CROWN * depth / ((1 - 0.57) / 2 * width)
    run = width / 2 / (PAVILION * depth)
    girdle = GIRDLE * depth
    over = integral(lambda z: segment(r, z / crown), 0.0, crown * r, 32)
    beside = integral(lambda z: segment(r, -lean * z), 0.0, girdle, 4)
    end = (r + lean * girdle) / (run - lean)
    under = integral(lambda z: segment(r, run * z - lean * (girdle + z)), 0.0, end, 32)
    return over + beside + under


def in_plate(r, inner, lean, high, low):
    """Of a leaning claw, what lies further out than `inner` between two depths below the girdle."""
    return integral(lambda z: segment(r, inner + lean * z) if inner + lean * z < r else 0.0, high, low, 64)


def head(claws, base, tip, style, depth, width, inset, rails, rail):
    """Claws less their notches, and rails (their inset and length) less the claws in them."""
    one = claw(base, tip, claw_axis(depth, inset, tip, style), style) - notch(base, tip, depth, width, inset, style)
    sum_of = claws * one
    for i, (inside, length) in enumerate(rails):
        down = (PAVILION + GIRDLE) * depth * inside / inset
        share = crossing(2 * claw_radius(base, tip, depth, inset, style, down), rail) * (0.5 if i == 0 else 1.0)
        sum_of += math.pi * (rail / 2) ** 2 * length - claws * share
    return sum_of


def closed_count(radius, d, spacing, multiple=1):
    """Stones that close a circle: one more, until the chord is too short."""
    n = 2
    while 2 * radius * math.sin(math.pi / (n + 1)) >= d + spacing:
        n += 1
    return n - n % multiple


def chord_spacing(radius, n, d):
    return 2 * radius * math.sin(math.pi / n) - d


def shank(bore, wall, top, base, open_deg=0.0):
    """top, base: width, thickness, profile."""
    stations = [(0.0, *top), (math.pi, *base)]
    return 2 * half(bore / 2, wall, stations, math.radians(open_deg) / 2, math.pi, 48)


def us_bore(size):
    return (0.458 + 0.032 * size) * 25.4


def grams(volumes, density):
    return sum(round(v, 6) for v in volumes) * density / 1000


def halo_sheet():
    bore, depth, r = us_bore(6), 3.95, 3.25
    band = shank(bore, 0.7, (2.2, 1.8, "knife edge"), (2.4, 1.7, "half round"))
    rails = [(i, 2 * math.pi * (r - i)) for i in (0.8, 0.4)]
    claws = head(6, 1.1, 0.9, "round", depth, 2 * r, 0.8, rails, 0.9)
    line = r + 0.5 + 1.4 / 2
    n = closed_count(line, 1.4, 0.1, 6)
    top = math.pi * ((r + 0.5 + 1.4 + 0.35) ** 2 - (r + 0.5 - 0.3) ** 2) * 1.4 - n * seat(1.4, 1.4)
    middle = claw_radius(1.1, 0.9, depth, 0.8, "round", 0.3 + 1.4 / 2)
    top -= 6 * in_plate(middle, 0.5 - 0.3, 0.8 / ((PAVILION + GIRDLE) * depth), 0.3, 0.3 + 1.4)
    low = r + 0.5 + 1.4 + 0.35 - 0.15
    n_low = closed_count(low, 1.0, 0.1)
    face = low + 0.15
    wall = math.pi * (face**2 - (face - 1.1) ** 2) * (1.0 + 0.6) - n_low * seat(1.0, 1.1 - 0.15)
    stones = [(line * math.sin(2 * math.pi * k / n), line * math.cos(2 * math.pi * k / n)) for k in range(n)]
    spots = [(r * math.sin(math.radians(30 + 60 * k)), r * math.cos(math.radians(30 + 60 * k))) for k in range(6)]
    room = min(math.dist(a, b) for a in stones for b in spots) - 0.7 - 0.55
    girdle = 2.2 + (PAVILION + GIRDLE) * depth
    return {
        ("ring", "inside diameter"): bore,
        ("shank", "volume"): band,
        ("head centre", "volume"): claws,
        ("head centre", "claws"): 6,
        ("halo top", "stones"): n,
        ("halo top", "spacing"): chord_spacing(line, n, 1.4),
        ("halo top", "volume"): top,
        ("halo top", "weight"): n * 0.012,
        ("halo top", "claw room"): room,
        ("halo wall", "stones"): n_low,
        ("halo wall", "offset"): low - r,
        ("halo wall", "spacing"): chord_spacing(low, n_low, 1.0),
        ("halo wall", "volume"): wall,
        ("halo wall", "weight"): n_low * 0.004272,
        ("metal 750 yellow", "finished weight"): grams([band, claws, top, wall], 15.58),
        ("height", "girdle"): girdle,
        ("height", "total"): 2.2 + depth,
        ("height", "lowest"): 0.5 + depth,
        ("height", "under halo"): girdle - 2.5 - 0.5 - 0.3 - 1.8,
        ("operation set claw 6.5 mm", "count"): 1,
        ("operation set cut-down 1.4 mm", "count"): n,
        ("operation set bead 1 mm", "count"): n_low,
        ("operation form round claw", "count"): 6,
        ("operation cast 750 yellow", "count"): 1,
        ("operation unset", "count"): 1,
        ("operation sort and check stones", "count"): 1 + n + n_low,
    }


def eternity_sheet():
    bore, d, thick = us_bore(6.5), 2.0, 2.0
    band = shank(bore, 0.0, (2.8, thick, "court"), (2.8, thick, "court"))
    radius = bore / 2 + thick - 0.15 * d
    edge = math.asin(d / 2 / radius)
    arc = math.radians(179.65 - 0.35) - 2 * edge
    n = 1
    while n * 2 * math.asin((d + 0.12) / 2 / radius) <= arc:
        n += 1
    seats = 2 * n * seat(d, thick - 0.15 * d)
    return {
        ("ring", "inside diameter"): bore,
        ("shank", "volume"): band,
        ("row band", "stones"): 2 * n,
        ("row band", "spacing"): 2 * radius * math.sin(arc / (n - 1) / 2) - d,
        ("row band", "weight"): 2 * n * 0.035,
        ("row band", "seats"): seats,
        ("metal 585 white palladium", "finished weight"): grams([band - seats], 14.13),
        ("operation set shared claw 2 mm", "count"): 2 * n,
        ("operation hand finishing", "minutes"): 40,
    }


def oval_round(length, width):
    def speed(t):
        return math.hypot(width / 2 * math.sin(t), length / 2 * math.cos(t))

    return integral(speed, 0.0, 2 * math.pi, 64)


def pear_inside(length, width, inset):
    """Length of the curve at a distance inside a pear: its three arcs drawn nearer."""
    r = width / 2
    rise = length - r
    flank = (r * r + rise * rise) / (2 * r)
    turn = math.acos((flank - r) / (flank - inset))
    return math.pi * (r - inset) + 2 * (flank - inset) * turn


def three_sheet():
    bore = 54 / math.pi
    band = shank(bore, 0.5, (2.2, 1.9, "half round"), (2.4, 1.7, "half round"), 40)
    rails = [(i, oval_round(7.7, 5.7) - 2 * math.pi * i) for i in (0.8, 0.4)]
    centre = head(4, 1.0, 0.8, "round", 3.6, 5.7, 0.8, rails, 0.9)
    side = head(2, 0.8, 0.65, "round", 1.85, 3.0, 0.4, [(0.4, pear_inside(4.6, 3.0, 0.4))], 0.8)
    side += head(1, 0.8, 0.65, "v", 1.85, 3.0, 0.4, [], 0.8)
    side -= crossing(0.8, 0.8) / 2  # the v claw's part of the rail
    return {
        ("ring", "inside diameter"): bore,
        ("shank", "volume"): band,
        ("head centre", "volume"): centre,
        ("head side", "volume"): 2 * side,
        ("head side", "claws"): 6,
        ("metal 750 yellow", "finished weight"): grams([band], 15.58),
        ("metal platinum 950", "finished weight"): grams([centre, 2 * side], 20.7),
        ("height", "girdle"): 1.2 + (PAVILION + GIRDLE) * 3.6,
        ("height", "total"): 4.8,
        ("height", "lowest"): 0.3 + 3.6,
        ("operation set claw 5.7 mm", "count"): 1,
        ("operation set claw 3 mm", "count"): 2,
        ("operation form round claw", "count"): 8,
        ("operation form v claw", "count"): 2,
        ("operation cast 750 yellow", "count"): 1,
        ("operation cast platinum 950", "count"): 1,
        ("operation join", "count"): 6,
    }


SHEETS = {"halo": halo_sheet, "eternity": eternity_sheet, "three-stone": three_sheet}


def figures(program, name):
    command = [program, "quantities", f"tests/reference/sheets/{name}.csv", "--csv", "--books", "tests/reference/books"]
    text = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found = {}
    for row in csv.DictReader(io.StringIO(text)):
        try:
            found.setdefault((row["part"], row["measure"]), float(row["value"]))
        except ValueError:
            continue
    return found


def compare(program, name, expected):
    found = figures(program, name)
    bad = [
        f"  {part},{measure}: {found.get((part, measure))}, expected {value:.6f}"
        for (part, measure), value in expected.items()
        if abs(found.get((part, measure), math.inf) - value) > 1.5e-6
    ]
    print(f"{'not ok' if bad else 'ok'} {name}: {len(expected)} figures")
    print("\n".join(bad), end="\n" if bad else "")
    return not bad


def main():
    if sys.argv[1:] == ["--table"]:
        print("# What the reference sheets take (the sheet itself, no option). Half a millionth is rounding.")
        print("sheet,part,measure,value,tol,source")
        for name, measured in SHEETS.items():
            for (part, measure), value in measured().items():
                print(f"{name},{part},{measure},{value:.9f},1.5e-6,independent program: tests/independent/solids.py")
        return 0
    program = os.environ["TALLYSTONE"]
    good = [compare(program, name, measured()) for name, measured in SHEETS.items()]
    return 0 if all(good) else 1


if __name__ == "__main__":
    sys.exit(main())
