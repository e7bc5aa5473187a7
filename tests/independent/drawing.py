#!/usr/bin/env python3
"""The drawing measured with a ruler of our own.

Reads the SVG that `tallystone draw` writes as any XML reader would, measures stones, gaps and
heights in it, and holds them against what `quantities --csv` reports and against figures worked
out here from the sheet's own measurements (sources beside them). PNG and PDF must have the same
true size, every form the same bytes twice, and text from outside must come through unharmed.
Standard library, pdfinfo, pdftotext and pdfimages (poppler), and LibreOffice for the workbook.
"""
import csv
import io
import math
import os
import re
import struct
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET
import zipfile
import zlib
from decimal import ROUND_HALF_UP, Decimal

PROGRAM = os.environ["TALLYSTONE"]
SVG = "{http://www.w3.org/2000/svg}"
WRITTEN = 2e-4  # coordinates are written to a ten-thousandth of a millimetre
failures = 0


def verdict(good, name, seen=""):
    global failures
    if good:
        print("ok", name)
    else:
        failures += 1
        print("not ok", name)
        print("  |", seen)


def near(one, other, name, tolerance=WRITTEN):
    verdict(abs(one - other) <= tolerance, name, f"{one} and {other}")


def run(*words):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, check=False)


def quantities(sheet, *words):
    done = run("quantities", sheet, "--csv", *words)
    rows = csv.DictReader(io.StringIO(done.stdout))
    return {(r["part"], r["measure"]): r["value"] for r in rows}


class Drawing:
    """An SVG read back: elements by view, in the view's own millimetres, y up."""

    def __init__(self, path):
        self.root = ET.parse(path).getroot()
        self.views = {g.get("id"): g for g in self.root.iter(SVG + "g")}
        self.by_id = {}
        self.twice = []
        for element in self.root.iter():
            name = element.get("id")
            if name in self.by_id:
                self.twice.append(name)
            if name:
                self.by_id[name] = element

    def size(self):
        return [float(self.root.get(k).removesuffix("mm")) for k in ("width", "height")]

    def texts(self):
        return [t.text for t in self.root.iter(SVG + "text")]

    def local(self, view, x, y):
        g = self.views[view]
        scale = float(g.get("data-scale"))
        return (x - float(g.get("data-x"))) / scale, (float(g.get("data-y")) - y) / scale

    def of(self, view, what, part):
        return [e for e in self.views[view] if e.get("data-what") == what and e.get("data-part") == part]

    def circle(self, view, e):
        scale = float(self.views[view].get("data-scale"))
        x, y = self.local(view, float(e.get("cx")), float(e.get("cy")))
        return x, y, float(e.get("r")) / scale

    def paths(self, view, e):
        """The closed and open lines of a path, each a list of points."""
        lines = []
        for piece in re.findall(r"M([^MZ]*)Z?", e.get("d")):
            numbers = [float(n) for n in re.findall(r"-?[0-9.]+", piece)]
            lines.append([self.local(view, *numbers[i:i + 2]) for i in range(0, len(numbers), 2)])
        return lines

    def page_length(self, name):
        numbers = [float(n) for n in re.findall(r"-?[0-9.]+", self.by_id[name].get("d"))]
        return math.hypot(numbers[2] - numbers[0], numbers[3] - numbers[1])


def draw(folder, sheet, name, *words):
    path = os.path.join(folder, name)
    done = run("draw", sheet, "--out", path, *words)
    if done.returncode != 0:
        verdict(False, f"{sheet} is drawn as {name}", done.stderr)
        sys.exit(1)
    return path


def two_places(value):
    return str(Decimal(value).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP))


def steps(points):
    return [math.dist(a, b) for a, b in zip(points, points[1:] + points[:1])]


def side_scale(d):
    return float(d.views["side-large" if "side-large" in d.views else "side"].get("data-scale"))


def check_heights(d, facts, sheet):
    for fact, name, word in (("girdle", "girdle-height", "girdle"), ("total", "total-height", "total")):
        value = facts["height", fact]
        near(d.page_length(name) / side_scale(d), float(value), f"{sheet}: the {fact} height is drawn true")
        verdict(d.by_id[name].get("data-mm") == value, f"{sheet}: its line says the same", value)
        verdict(f"{word} {two_places(value)}" in d.texts(), f"{sheet}: and so does its figure", d.texts())


def check_stone_heights(d, facts, part, clearance):
    """Table, girdle and culet of a stone at actual size, z over the finger."""
    name = "side-" + part.replace(" ", "-") + "-1"
    heights = sorted({round(y, 3) for _, y in d.paths("side", d.by_id[name])[0]})
    near(heights[-1], float(facts["height", "total"]), f"{part}: the table stands at the total height", 1e-3)
    near(heights[-2], float(facts["height", "girdle"]), f"{part}: its girdle's upper edge", 1e-3)
    near(heights[0], clearance, f"{part}: the culet clears the finger as the sheet says", 1e-3)


def check_bore(d, facts, sheet, is_open):
    bore = float(facts["ring", "inside diameter"])
    lines = d.paths("side", d.by_id["side-shank"])
    points = lines[0] if is_open else lines[1]
    # the nearest points of the shank to the axis, which lies half the diameter below the finger
    radius = min(math.hypot(x, y + bore / 2) for x, y in points)
    near(radius, bore / 2, f"{sheet}: the ring's inside is drawn true", 1e-3)
    verdict("inside " + two_places(facts["ring", "inside diameter"]) in d.texts(),
            f"{sheet}: and its figure says so", d.texts())


def check_halo(folder):
    sheet = "demo/halo.csv"
    facts = quantities(sheet)
    d = Drawing(draw(folder, sheet, "halo.svg"))
    verdict(not d.twice, "halo: every id stands once", d.twice)
    stones = d.of("plan", "melee", "halo top")
    verdict(len(stones) == int(facts["halo top", "stones"]), "halo: as many stones as the quantities say",
            len(stones))
    circles = [d.circle("plan", e) for e in stones]
    diameter, spacing = float(facts["halo top", "stone diameter"]), float(facts["halo top", "spacing"])
    verdict(all(abs(2 * r - diameter) <= WRITTEN for _, _, r in circles), "halo: all of their diameter",
            circles)
    chords = steps([(x, y) for x, y, _ in circles])
    verdict(all(abs(c - diameter - spacing) <= 3 * WRITTEN for c in chords),
            "halo: neighbours stand a diameter and the spacing apart", chords)
    # sheet: round 6.5, gap 0.5, stones 1.4: centres on 3.25 + 0.5 + 0.7, 18 of them, 20 deg each
    off = [math.hypot(x - 4.45 * math.sin(-math.radians(20 * i)), y - 4.45 * math.cos(math.radians(20 * i)))
           for i, (x, y, _) in enumerate(circles)]
    verdict(max(off) <= 2 * WRITTEN, "halo: each at its place on the circle, from the length axis", off)
    x, y, r = d.circle("plan", d.by_id["stone-centre-1"])
    near(2 * r, 6.5, "halo: the centre has its diameter")
    near(min(math.hypot(a - x, b - y) for a, b, _ in circles) - r - diameter / 2,
         float(facts["halo top", "gap"]), "halo: the gap to the girdle", 3 * WRITTEN)
    claws = [d.circle("plan", e) for e in d.of("plan", "claw", "head centre")]
    verdict(len(claws) == int(facts["head centre", "claws"]), "halo: as many claws", len(claws))
    room = min(math.dist(c[:2], s[:2]) - c[2] - s[2] for c in claws for s in circles)
    near(room, float(facts["halo top", "claw room"]), "halo: the room between claws and stones", 4 * WRITTEN)
    wall = d.of("plan", "melee", "halo wall")
    verdict(len(wall) == int(facts["halo wall", "stones"]), "halo: as many stones in the wall", len(wall))
    girdles = [d.paths("plan", e)[0] for e in wall]
    verdict(all(abs(math.dist(*g) - float(facts["halo wall", "stone diameter"])) <= 3 * WRITTEN
                for g in girdles), "halo: the wall's girdles are as long as its stones are wide", girdles)
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in girdles]
    verdict(all(abs(math.hypot(*m) - 3.25 - float(facts["halo wall", "offset"])) <= 3 * WRITTEN
                for m in middles), "halo: and stand on their line", middles)
    check_heights(d, facts, "halo")
    check_stone_heights(d, facts, "stone centre", 2.2)  # sheet: culet clearance
    check_bore(d, facts, "halo", False)
    near(d.page_length("room-under-halo") / side_scale(d), float(facts["height", "under halo"]),
         "halo: the room under it", 2 * WRITTEN)
    near(d.page_length("height-limit") / side_scale(d), 6.5, "halo: the wearer's limit")
    near(d.page_length("plan-width") / float(d.views["plan-large"].get("data-scale")), 11.0,
         "halo: the metal's width, 6.5 + 2 (0.5 + 1.4 + 0.35)")
    for bar in ("plan-bar", "plan-large-bar", "side-large-bar"):
        e = d.by_id[bar]
        numbers = [float(n) for n in re.findall(r"-?[0-9.]+", e.get("d"))]
        scale = float(d.views[bar.removesuffix("-bar")].get("data-scale"))
        near(numbers[6] - numbers[0], float(e.get("data-mm")) * scale, f"halo: {bar} is as long as it says")


def check_three(folder):
    sheet = "demo/three-stone.csv"
    facts = quantities(sheet)
    d = Drawing(draw(folder, sheet, "three.svg"))
    right, left = (d.paths("plan", d.by_id[f"stone-side-{i}"])[0] for i in (1, 2))
    verdict(max(min(math.dist((-x, y), q) for q in right) for x, y in left) <= 2 * WRITTEN,
            "three stones: the second pear is the mirror image of the first")
    centre = d.paths("plan", d.by_id["stone-centre-1"])[0]
    xs, ys = [x for x, _ in centre], [y for _, y in centre]
    # sheet: 7.7 by 5.7, side stones 4.6 by 3.0 with their tips out, 0.2 beside it
    near(max(xs) - min(xs), 5.7, "three stones: the centre's width", 2e-3)
    near(max(ys) - min(ys), 7.7, "three stones: its length along the finger", 2e-3)
    near(min(x for x, _ in right) - max(xs), 0.2, "three stones: the gap beside it", 3e-3)
    near(max(x for x, _ in right) - min(x for x, _ in right), 4.6, "three stones: a pear's length", 3e-3)
    tip = max(right)
    near(tip[1], 0.0, "three stones: its tip points out along the band", 1e-3)
    check_heights(d, facts, "three stones")
    check_stone_heights(d, facts, "stone centre", 1.2)  # sheet: culet clearance
    check_bore(d, facts, "three stones", True)
    side = sorted({round(y, 3) for _, y in d.paths("side", d.by_id["side-stone-side-1"])[0]})
    near(side[-2], float(facts["height", "girdle"]) - 1, "three stones: the drop of the side stones", 1e-3)  # sheet


def check_eternity(folder):
    sheet = "demo/eternity.csv"
    facts = quantities(sheet)
    d = Drawing(draw(folder, sheet, "eternity.svg"))
    stones = d.of("side", "melee", "row band")
    verdict(len(stones) == int(facts["row band", "stones"]), "eternity: as many stones as the quantities say",
            len(stones))
    bore = float(facts["ring", "inside diameter"])
    diameter, spacing = float(facts["row band", "stone diameter"]), float(facts["row band", "spacing"])
    girdles = [d.paths("side", e)[0] for e in stones]
    verdict(all(abs(math.dist(*g) - diameter) <= 3 * WRITTEN for g in girdles), "eternity: their diameter")
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2 + bore / 2) for a, b in girdles]
    # geometry's rule: a crown height, 0.15 of the diameter, inside the face of 2.0 mm
    verdict(all(abs(math.hypot(*m) - bore / 2 - 2.0 + 0.15 * diameter) <= 3 * WRITTEN for m in middles),
            "eternity: all on one circle inside the face", middles)
    shoulder = sorted((m for m in middles if m[0] > 0), key=lambda m: -m[1])
    chords = [math.dist(a, b) for a, b in zip(shoulder, shoulder[1:])]
    verdict(len(shoulder) == 15 and all(abs(c - diameter - spacing) <= 4 * WRITTEN for c in chords),
            "eternity: neighbours stand a diameter and the spacing apart", chords)
    above = d.of("plan", "melee", "row band")
    verdict(len(above) == sum(1 for m in middles if m[1] / math.hypot(*m) >= 0.05),
            "eternity: from above one sees those of the upper half", len(above))
    check_bore(d, facts, "eternity", False)


def png_chunks(data):
    at = 8
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at:at + 8])
        body = data[at + 8:at + 8 + length]
        (crc,) = struct.unpack(">I", data[at + 8 + length:at + 12 + length])
        yield kind, body, crc == zlib.crc32(kind + body)
        at += 12 + length


def check_forms(folder):
    sheet = "demo/halo.csv"
    width, height = Drawing(draw(folder, sheet, "form.svg")).size()
    data = open(draw(folder, sheet, "form.png"), "rb").read()
    chunks = {kind: body for kind, body, _ in png_chunks(data)}
    verdict(all(good for _, _, good in png_chunks(data)), "PNG: every chunk's check sum is right")
    pixels = struct.unpack(">II", chunks[b"IHDR"][:8])
    dots = struct.unpack(">IIB", chunks[b"pHYs"])
    verdict(dots == (11811, 11811, 1), "PNG: says 300 dots an inch", dots)
    for size, count, name in ((width, pixels[0], "wide"), (height, pixels[1], "high")):
        near(count / dots[0] * 1000, size, f"PNG: as {name} as the SVG", 0.05)
    verdict({b"tIME", b"tEXt", b"zTXt", b"iTXt"}.isdisjoint(chunks), "PNG: carries no time and no text")
    pdf = draw(folder, sheet, "form.pdf")
    said = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    points = [float(n) for n in re.search(r"Page size: +([0-9.]+) x ([0-9.]+)", said).groups()]
    for size, count, name in ((width, points[0], "wide"), (height, points[1], "high")):
        near(count / 72 * 25.4, size, f"PDF: as {name} as the SVG", 0.01)
    verdict("CreationDate:    Wed Nov 25" in said and "2026" in said, "PDF: dated as the commission", said)
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    verdict("girdle 5.20" in text and "DEMO-HALO" in text, "PDF: its words can be read", text)
    for form in ("svg", "png", "pdf"):
        one = open(draw(folder, sheet, "one." + form), "rb").read()
        other = open(draw(folder, sheet, "other." + form), "rb").read()
        verdict(one == other and len(one) > 1000, f"{form}: the same input gives the same bytes")


def check_workbook(folder):
    """The sheet `Drawing` of the client's quote, printed by a spreadsheet program."""
    done = run("price", "demo/halo.csv", "--out", folder)
    verdict(done.returncode == 0, "the quote is written", done.stderr)
    book = os.path.join(folder, "DEMO-HALO-draft-quote.xlsx")
    with zipfile.ZipFile(book) as packed:
        names = re.findall(r'<sheet name="([^"]*)"', packed.read("xl/workbook.xml").decode())
        says = "".join(packed.read(n).decode() for n in packed.namelist()
                       if n.startswith("xl/drawings/drawing"))
    verdict("Drawing" in names, "the quote has a sheet Drawing", names)
    # the logo, the picture, the sheet itself and the one option that is drawn otherwise
    told = re.findall(r'descr="([^"]+)"', says)
    verdict(len(told) == 4 and sum("halo: 18 of 1.40" in t or "6.50" in t for t in told) == 3,
            "every picture has its alternative text", told)
    subprocess.run(["soffice", "--headless", f"-env:UserInstallation=file://{folder}/office",
                    "--convert-to", "pdf", "--outdir", folder, book], capture_output=True, check=True)
    listed = subprocess.run(["pdfimages", "-list", book.replace(".xlsx", ".pdf")],
                            capture_output=True, text=True, check=True).stdout
    rows = [line.split() for line in listed.splitlines()[2:]]
    width, _ = Drawing(draw(folder, "demo/halo.csv", "book.svg")).size()
    large = [r for r in rows if int(r[3]) == round(width / 25.4 * 300) and int(r[4]) > 1400]
    # columns: page num type width height colour comp bpc enc interp object ID x-ppi y-ppi
    verdict(len(large) >= 2 and all(abs(int(r[12]) - 300) <= 1 and abs(int(r[13]) - 300) <= 1 for r in large),
            "the drawings print at 300 by 300 dots an inch: to scale", listed)


def check_option(folder):
    low = Drawing(draw(folder, "demo/halo.csv", "low.svg", "--option", "low"))
    facts = quantities("demo/halo.csv", "--option", "low")
    verdict(not low.of("plan", "melee", "halo wall"), "an option is drawn: low has no side halo")
    check_heights(low, facts, "option low")


def changed(folder, name, change):
    rows = list(csv.reader(open("demo/halo.csv", encoding="utf-8")))
    path = os.path.join(folder, name)
    with open(path, "w", encoding="utf-8", newline="") as to:
        csv.writer(to).writerows(change(rows))
    return path


def check_text(folder):
    nasty = "A & <B> \"C\" 'D' ]]> \u00e4\u20ac"

    def change(rows):
        for row in rows:
            if row[:2] == ["commission", "title"]:
                row[2] = nasty
            if row[:2] == ["halo top", "label"]:
                row[2] = "<halo> & 'co'"
        return rows

    sheet = changed(folder, "nasty.csv", change)
    path = draw(folder, sheet, "nasty.svg")
    texts = Drawing(path).texts()
    verdict(nasty in texts and "<halo> & 'co'" in texts, "text from outside comes through as it was written", texts)
    raw = open(path, encoding="utf-8").read()
    verdict("<B>" not in raw and "<halo>" not in raw and "& " not in raw, "and is escaped in the file")
    draw(folder, sheet, "nasty.pdf")
    draw(folder, sheet, "nasty.png")


def check_odd(folder):
    def pendant(rows):
        return [r for r in rows if r[0] != "shank" and not r[0].startswith("option")
                and (r[0], r[1]) not in (("ring", "size"), ("ring", "height limit"))] + [
                    ["metal bail", "weight", "1", "g", ""]]

    d = Drawing(draw(folder, changed(folder, "pendant.csv", pendant), "pendant.svg"))
    verdict(len(d.of("plan", "melee", "halo top")) == 18 and "side-shank" not in d.by_id,
            "a piece without a ring is drawn as far as it is measured")
    box = os.path.join(folder, "refused")
    os.mkdir(box)
    bad = changed(folder, "bad.csv", lambda rows: [r for r in rows if r[:2] != ["halo top", "gap"]])
    for words, code, name in (((bad, os.path.join(box, "x.svg")), 65, "a sheet with a fault draws nothing"),
                              (("demo/halo.csv", os.path.join(box, "x.gif")), 64, "an unknown form is a slip"),
                              (("demo/halo.csv", os.path.join(box, "svg")), 64, "so is none")):
        done = run("draw", words[0], "--out", words[1])
        verdict(done.returncode == code and not os.listdir(box), name, done)
    done = run("draw", "demo/halo.csv", "--out", "x.gif")
    verdict(all(form in done.stderr for form in (".svg", ".png", ".pdf")), "the three forms are named",
            done.stderr)
    verdict(run("draw", "demo/halo.csv").returncode == 64, "--out is asked for")


def main():
    with tempfile.TemporaryDirectory() as folder:
        check_halo(folder)
        check_three(folder)
        check_eternity(folder)
        check_forms(folder)
        check_workbook(folder)
        check_option(folder)
        check_text(folder)
        check_odd(folder)
    sys.exit(failures > 0)


main()
