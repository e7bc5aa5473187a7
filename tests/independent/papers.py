#!/usr/bin/python3
"""The papers as they are handed over: printed by LibreOffice, read by Gnumeric and openpyxl.

How many pages a quote and an owner's sheet take, on A4 and Letter; that pictures print at their
own proportions and what is marked 1:1 at that, each on rows of its own; that no number stands as
###; that every picture and chart says in words what it shows, and that what it says is so; that
links between sheets lead to what a line rests on and back to the first line that rests on it.
"""
import csv
import glob
import os
import re
import shutil
import subprocess
import sys
import tempfile
import warnings
import zipfile
from decimal import Decimal

import openpyxl

PROGRAM = os.environ["TALLYSTONE"]
warnings.filterwarnings("ignore", module="openpyxl")
failed = False


def say(fine, name, details=()):
    global failed
    print(("ok " if fine else "not ok ") + name)
    for line in [] if fine else list(details)[:20]:
        print("    " + str(line))
    failed = failed or not fine


def run(*command):
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          errors="replace", check=False)
    if done.returncode != 0:
        print(done.stdout)
        raise SystemExit(f"{command[0]} ended with {done.returncode}")
    return done.stdout


def books(work, paper, detail):
    """The demo's price books for another paper and another detail of the price."""
    folder = os.path.join(work, f"books-{paper}-{detail}")
    shutil.copytree("pricebooks", folder)
    path = os.path.join(folder, "studio.csv")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    assert "paper,A4" in text and "quote detail,lines" in text
    with open(path, "w", encoding="utf-8") as file:
        file.write(text.replace("paper,A4", f"paper,{paper}").replace(
            "quote detail,lines", f"quote detail,{detail}"))
    return folder


def pages_of(pdf):
    """The text of each page."""
    return run("pdftotext", "-layout", pdf, "-").split("\f")[:-1]


def alternatives(path):
    """What stands in for each picture and chart of a workbook."""
    says = []
    with zipfile.ZipFile(path) as archive:
        for name in archive.namelist():
            if re.match(r"xl/drawings/drawing\d+\.xml$", name):
                frames = re.findall(r"<xdr:cNvPr [^>]*>", archive.read(name).decode())
                for frame in frames:
                    found = re.search(r'descr="([^"]*)"', frame)
                    says.append(found[1].replace("&amp;", "&") if found else "")
    return says


def print_all(work, files):
    run("timeout", "240", "soffice", f"-env:UserInstallation=file://{work}/profile", "--headless",
        "--norestore", "--convert-to", "pdf", "--outdir", work, *files)
    return [os.path.join(work, os.path.basename(f)[:-5] + ".pdf") for f in files]


KEPT = Decimal(300)  # USD: pricebooks/policy.csv, what is kept after the deposit


def check_words(name, path):
    """Figures stay with their units, amounts are in the quote's currency, what bears no tax is not called taxed."""
    sheet = openpyxl.load_workbook(path)["Quote"]
    texts = [cell.value for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]
    loose = [text for text in texts if re.search(r"\d (ct|g|mm|USD|EUR)\b", text)]
    say(len(texts) > 30 and not loose, f"{name}: no figure leaves its unit on another line", loose)
    mine, other = ("EUR", "USD") if "DEMO-THREE" in name else ("USD", "EUR")
    foreign = [text for text in texts if re.search(rf"\b{other}\b", text)]
    say(not foreign, f"{name}: amounts are in the currency of the quote", foreign)
    rate = Decimal(1)
    if mine == "EUR":
        with open("pricebooks/rates.csv", encoding="utf-8") as file:  # the last begun by 24 November 2026
            rate = Decimal(max((row[3], row[2]) for row in map(lambda line: line.split(","), file)
                               if row[:2] == ["EUR", "USD"] and row[3] <= "2026-11-24")[1])
    kept = f"We keep {KEPT / rate:.2f}\u00a0{mine} after the stage"
    said = [text for text in texts if text.startswith("We keep")]
    say(all(text.startswith(kept) for text in said), f"{name}: what is kept is said in it too", [kept] + said)
    first = [str(row[0].value or "") for row in sheet.iter_rows()]
    wrong = [pair for pair in zip(first, first[1:]) if pair[0].startswith("of it") and
             ("not taxed" in pair[0]) != pair[1].endswith(", 0 %")]
    say(not wrong, f"{name}: what bears no tax is not called taxed", wrong)


def check_owed(work):
    """Old metal above the price: the quote says who pays whom, without a minus; what `price --csv` signs is the same."""
    for grams, most in ((45, 3), (150, 4)):  # by hand, a gram at some 68 USD: some of the four options, and all
        sheet, out = os.path.join(work, f"owed-{grams}.csv"), os.path.join(work, f"owed-{grams}")
        with open("demo/halo.csv", encoding="utf-8") as file:
            text = file.read()
        assert "trade-in old,weight,4.2," in text
        with open(sheet, "w", encoding="utf-8") as file:
            file.write(text.replace("trade-in old,weight,4.2,", f"trade-in old,weight,{grams},"))
        run(PROGRAM, "price", sheet, "--books", "pricebooks", "--out", out)
        table = subprocess.run((PROGRAM, "price", sheet, "--books", "pricebooks", "--csv"), check=True,
                               stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True).stdout
        rows = [row for row in csv.DictReader(table.splitlines())
                if row["section"] == "payment" or row["item"] == "to pay"]
        signed = {}
        for row in rows:
            signed.setdefault("whole" if row["item"] == "to pay" else row["item"], []).append(Decimal(row["price"]))
        sheet = openpyxl.load_workbook(glob.glob(out + "/*-quote.xlsx")[0])["Quote"]
        found, minus = {}, []
        for cells in sheet.iter_rows(values_only=True):
            label = str(cells[0] or "")
            item = "whole" if label in ("To pay", "What we owe you") else re.split("[:,]", label)[0].lower()
            if item in signed:
                sign = -1 if label == "What we owe you" or ", we pay you:" in label else 1
                assert all(not isinstance(cell, str) or cell == "\u2013" for cell in cells[1:] if cell is not None)
                for at, cell in enumerate(cells[-len(signed["whole"]):]):
                    if isinstance(cell, (int, float)):
                        minus += [cells] if cell < 0 else []
                        found.setdefault(item, {})[at] = sign * Decimal(repr(cell))
        found = {item: [by[at] for at in sorted(by)] for item, by in found.items()}
        owed = sum(amount < 0 for amount in signed["whole"])
        say(0 < owed <= most and (owed == 4) == (most == 4), f"{grams} g of old metal: above the price", [signed])
        say(not minus, f"{grams} g of old metal: no payment bears a minus", minus)
        say(len(signed) == 4 and found == signed, f"{grams} g of old metal: who pays whom, in words", [found, signed])


def right_margin_mm(pdf):
    """Of what is printed on the first page, footer left out."""
    text = run("pdftotext", "-bbox", "-f", "1", "-l", "1", pdf, "-")
    wide, high = map(float, re.search(r'<page width="([\d.]+)" height="([\d.]+)"', text).groups())
    words = re.findall(r'<word xMin="[\d.]+" yMin="[\d.]+" xMax="([\d.]+)" yMax="([\d.]+)"', text)
    return (wide - max(float(x) for x, y in words if float(y) < 0.93 * high)) * 25.4 / 72


def check_quote(name, path, pdf, most):
    sheets = openpyxl.load_workbook(path).sheetnames
    pages = pages_of(pdf)
    own = [p for p in pages if re.search(r"Quotation \S+ +page", p)]  # the sheet's own, not what stands overleaf
    know = [p for p in pages if re.search(r"What you should know", p)]
    say(len(know) == 1 and "Disclosures" in "".join(pages), f"{name}: what to know is said once", [len(know)])
    say(0 < len(own) <= most, f"{name}: the quote prints on {most} page{'s'[:most - 1]}", own)
    say("Signature" in own[-1], f"{name}: which ends with the place to sign", own)
    say(sheets[0] == "Quote" and {"Drawing", "Stones"} <= set(sheets), f"{name}: its sheets", sheets)
    margin = right_margin_mm(pdf)
    say(15 < margin < 19, f"{name}: what is printed goes to the right margin, 15 mm", [margin])
    say("###" not in "".join(pages), f"{name}: every figure is shown")
    pictures = [row.split() for row in run("pdfimages", "-list", pdf).splitlines()[2:]]
    odd = [row for row in pictures if not all(297 <= float(row[k]) <= 303 for k in (12, 13))]
    say(len(pictures) >= 3 and not odd, f"{name}: pictures print at their own proportions", odd)
    says = alternatives(path)
    say(len(says) >= 3 and all(len(text) > 15 for text in says),
        f"{name}: each picture is also said in words", says)
    check_pictures(name, path)
    check_words(name, path)


SPOT = r"<xdr:{0}><xdr:col>(\d+)</xdr:col><xdr:colOff>(-?\d+)</xdr:colOff><xdr:row>(\d+)</xdr:row><xdr:rowOff>(-?\d+)<"
EMU_A_POINT = 12700  # ECMA-376 part 1, 20.1.2.1: a point has 12 700 of its drawing units


def pictures_of(archive, sheet):
    """The pictures of the sheet of that number: ((column, off, row, off) from, the same to, points wide, high)."""
    links = archive.read(f"xl/worksheets/_rels/sheet{sheet}.xml.rels").decode()
    drawing = archive.read("xl/drawings/" + re.search(r"drawings/(drawing\d+\.xml)", links)[1]).decode()
    found = []
    for anchor in re.findall(r"<xdr:twoCellAnchor.*?</xdr:twoCellAnchor>", drawing):
        ends = [tuple(map(int, re.search(SPOT.format(end), anchor).groups())) for end in ("from", "to")]
        size = re.search(r'<a:ext cx="(\d+)" cy="(\d+)"/>', anchor)
        found.append((*ends, int(size[1]) / EMU_A_POINT, int(size[2]) / EMU_A_POINT))
    return found


def check_pictures(name, path):
    """A picture of the first sheet covers no words; a drawing has rows and, but for the first, a page of its own."""
    workbook = openpyxl.load_workbook(path)
    quote, sheet = workbook["Quote"], workbook["Drawing"]
    with zipfile.ZipFile(path) as archive:
        on_quote = pictures_of(archive, 1 + workbook.sheetnames.index("Quote"))
        drawings = pictures_of(archive, 1 + workbook.sheetnames.index("Drawing"))
    merged = {area.start_cell.coordinate: area for area in quote.merged_cells.ranges}
    words = [merged[cell.coordinate].bounds if cell.coordinate in merged else (cell.column, cell.row) * 2
             for row in quote.iter_rows() for cell in row if cell.value]
    covered = [area for (left, _, top, _), (right, over, bottom, below), _, _ in on_quote for area in words
               if area[0] <= right + (over > 0) and area[2] > left and area[1] <= bottom + (below > 0) and area[3] > top]
    say(on_quote and not covered, f"{name}: no picture covers words", covered)
    wrong, row = [], 0
    for (column, over, first, below), _, _, high in drawings:
        if (column, over, first, below) != (0, 0, row, 0):
            wrong.append(f"a drawing begins in column {column} + {over}, row {first} + {below}, not in row {row}")
        room = 0
        while room < high:
            room, row = room + (sheet.row_dimensions[row + 1].height or 15), row + 1
        if room > high + 4:
            wrong.append(f"the drawing to row {row} is {high} points high and has {room}")
    begun = [spot[0][2] for spot in drawings]
    turned = [brk.id for brk in sheet.row_breaks.brk]
    say(drawings and not wrong, f"{name}: each drawing has rows of its own, and no more", wrong)
    say(turned == begun[1:], f"{name}: each drawing after the first begins a page", [turned, begun])


CELLS = r"(?:\b(\w+)!)?\$?\b([A-Z]{1,2}\$?\d+)\b(?::\$?([A-Z]{1,2}\$?\d+))?"  # B7, Lines!B7, $B$7:$B$9


def names_of(workbook):
    """{name: (sheet, cell)} of the named cells."""
    names = {}
    for name in workbook.defined_names.definedName:
        found = re.fullmatch(r"'?(\w+)'?!\$([A-Z]+)\$(\d+)", name.attr_text)
        if found:
            names[name.name] = (found[1], found[2] + found[3])
    return names


def rests_on(workbook, names, row):
    """The cells that a row of Lines rests on, but for what other rows of Lines work out; where one of those merely
    shows a rate or a quantity, it is that which is taken."""
    seen, todo = set(), [("Lines", cell.coordinate) for cell in workbook["Lines"][row]]
    while todo:
        sheet, place = todo.pop()
        text = workbook[sheet][place].value
        others = sheet == "Lines" and int(re.sub(r"\D", "", place)) != row
        if (sheet, place) in seen or (others and str(text)[1:] not in names):
            continue
        seen.add((sheet, place))
        text = re.sub(r'"[^"]*"', "", text) if str(text).startswith("=") else ""
        todo += [names[word] for word in re.findall(r"[A-Za-z_][A-Za-z0-9_.]*", text) if word in names]
        for where, first, last in re.findall(CELLS, text):
            span = first.replace("$", "") + (":" + last.replace("$", "") if last else "")
            cells = workbook[where or sheet][span]
            todo += [(where or sheet, cell.coordinate) for line in (cells if last else ((cells,),)) for cell in line]
    return {(sheet, int(place[1:])) for sheet, place in seen if sheet != "Lines" and place[0] == "B"}


def check_links(name, path):
    """A line's number leads to what it rests on, and what it is called leads back to the first such line."""
    workbook = openpyxl.load_workbook(path)
    names, lines = names_of(workbook), workbook["Lines"]
    numbered = [row for row in range(6, lines.max_row + 1) if isinstance(lines.cell(row, 1).value, (int, float))]
    rests = {row: rests_on(workbook, names, row) for row in numbered}
    wrong, count, back = [], 0, {}
    for row in numbered:
        link = lines.cell(row, 1).hyperlink
        if link is None:
            wrong += [f"Lines!A{row} leads nowhere"] if rests[row] else []
            continue
        count += 1
        to = re.fullmatch(r"'?(Workings|Rates|Quantities)'?!A(\d+)", link.location or "")
        there = (to[1], int(to[2])) if to else (link.location, 0)
        between = any(sheet == "Workings" for sheet, _ in rests[row])
        rates = any(sheet == "Rates" for sheet, _ in rests[row])
        wanted = "Workings" if between else "Rates" if rates else "Quantities"
        if there not in rests[row] or there[0] != wanted:
            wrong.append(f"Lines!A{row} leads to {there}; it rests on {sorted(rests[row])}")
    say(count > 20 and not wrong, f"{name}: the number of each line leads to what it rests on", [count] + wrong)
    for row in reversed(numbered):
        back.update({spot: row for spot in rests[row]})
    wrong, count = [], 0
    for sheet in ("Workings", "Rates", "Quantities"):
        for row in range(4, workbook[sheet].max_row + 1):
            link = workbook[sheet].cell(row, 1).hyperlink
            leads, first = link and link.location, back.get((sheet, row))
            count += link is not None
            if leads != (f"Lines!C{first}" if first else None):
                wrong.append(f"{sheet}!A{row} leads to {leads}; the first line that rests on it is {first}")
    say(count > 20 and not wrong, f"{name}: what a line rests on leads back to the first", [count] + wrong)


def places_shown(number, form):
    """Decimals of a number in a number format, and digits' rooms that the format leaves free after them."""
    digits = re.search(r"\.([0#]*)", form.replace("_.", ""))
    needed = digits[1].count("0") if digits else 0
    exact = format(Decimal(repr(number)).normalize(), "f")
    return max(needed, min(len(digits[1]) if digits else 0, len(exact.partition(".")[2]))) + form.count("_0")


def check_points(name, path):
    """Figures of a column stand on one decimal point: a digit or a digit's room for each of six decimals."""
    workbook, wrong, count = openpyxl.load_workbook(path, data_only=True), [], 0
    for sheet, columns in (("Lines", "DF"), ("Rates", "B"), ("Quantities", "B"), ("Workings", "B")):
        for column in columns:
            for cell in workbook[sheet][column]:
                if isinstance(cell.value, (int, float)):
                    count += 1
                    if places_shown(cell.value, cell.number_format) != 6 or "?" in cell.number_format:
                        wrong.append(f"{sheet}!{cell.coordinate} {cell.value} {cell.number_format}")
    say(count > 100 and not wrong, f"{name}: figures stand on their decimal points", [count] + wrong)


def check_said_once(name, sheet):
    """What stands among the cells that may be changed is not said again under "The piece in numbers"."""
    rows = [tuple(cell.value for cell in row) for row in sheet.iter_rows(min_row=5, max_col=5)]
    heading = next(n for n, row in enumerate(rows) if row[0] == "The piece in numbers")
    told = [(row[1], row[3], re.sub(r"(; |^)in: .*", "", str(row[4]))) for row in rows]
    again = [one for one in told[heading + 1:] if one[2] not in ("", "None") and one in told[:heading]]
    say(heading > 10 and len(rows) > heading + 10 and not again, f"{name}: Quantities says nothing twice", again)


def check_margin(name, path, pdf):
    wanted = {"Decision": 1, "Rates": 2, "Sensitivity": 1, "Quantities": 2}
    pages = pages_of(pdf)
    counts = {sheet: sum(bool(re.search(rf" · {sheet}\s+page", p)) for p in pages) for sheet in wanted}
    say(all(0 < counts[s] <= wanted[s] for s in wanted), f"{name}: pages of the owner's sheets", [counts])
    workbook = openpyxl.load_workbook(path, data_only=True)
    options = [row for row in workbook["Decision"].iter_rows(min_row=6, values_only=True)]
    options = options[:next(n for n, row in enumerate(options) if row[3] is None)]
    lines = sum(bool(re.search(r" · Lines\s+page", p)) for p in pages)
    say(lines == len(options), f"{name}: Lines takes a page for each option", [lines, len(options)])
    say("###" not in "".join(pages), f"{name}: every figure is shown")
    frozen = [s for s in ("Lines", "Rates", "Quantities", "Workings") if not workbook[s].freeze_panes]
    say(not frozen, f"{name}: headings stay when one scrolls", frozen)
    check_said_once(name, workbook["Quantities"])
    says = alternatives(path)
    best = max(options, key=lambda row: row[3])
    worst = min(options, key=lambda row: row[3])
    told = [text for text in says if "leaves most" in text]
    say(len(told) == 1 and told[0].startswith(f"{best[0]} leaves most, {best[3]:.2f} %") and
        f"{worst[0]} least, {worst[3]:.2f} %" in told[0] and "floor is 30 %" in told[0],
        f"{name}: the chart of the options says which leaves most and least", says)
    sections = {}
    for row in workbook["Decision"].iter_rows(min_row=6 + len(options) + 3, values_only=True):
        if row[0] == "Cost":
            break
        if isinstance(row[2], (int, float)):
            sections[row[0].lower()] = row[2]
    most = max(sections, key=sections.get)
    say(any(text.startswith(f"Parts of the cost: {most} {sections[most]:.1f} %") for text in says),
        f"{name}: the chart of the cost says its largest part", [most, sections, says])
    say(len(says) == 3 and any("hangs most" in text for text in says),
        f"{name}: three charts, each said in words", says)
    check_links(name, path)
    check_points(name, path)


def check_gnumeric(name, work, path):
    """Gnumeric reads the client's file and writes it again: the same words and figures."""
    again = os.path.join(work, "gnumeric-" + os.path.basename(path))
    run("ssconvert", path, again)
    one, other, wrong = openpyxl.load_workbook(path), openpyxl.load_workbook(again), []
    for sheet in one.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                kept, read = cell.value, other[sheet.title][cell.coordinate].value
                if (kept or None) != (read or None) and not (
                        isinstance(kept, (int, float)) and abs(kept - read) < 1e-9):
                    wrong.append(f"{sheet.title}!{cell.coordinate}: {kept!r}, {read!r}")
    say(not wrong, f"{name}: Gnumeric reads the same", wrong)


def with_options(work, sheet, most):
    """A copy of a sheet that has its first options alone."""
    with open(sheet, encoding="utf-8") as file:
        lines = file.read().split("\n")
    options = list(dict.fromkeys(line.split(",")[0] for line in lines if line.startswith("option ")))
    assert len(options) >= most
    kept = [line for line in lines if line.split(",")[0] not in options[most:]]
    path = os.path.join(work, os.path.basename(sheet))
    with open(path, "w", encoding="utf-8") as file:
        file.write("\n".join(kept))
    return path


def many_digits(work):
    """The owner's sheets of a piece with a costly stone in currencies whose amounts are long."""
    made = []
    for currency, rate in (("JPY", "0.0066"), ("IDR", "0.000062")):
        folder = books(os.path.join(work, currency), "A4", "total")
        with open(os.path.join(folder, "rates.csv"), "a", encoding="utf-8") as file:
            file.write(f"{currency},USD,{rate},,,invented\n")
        sheet = os.path.join(work, f"{currency}.csv")
        with open("demo/halo.csv", encoding="utf-8") as file:
            text = file.read()
        assert "commission,currency,USD" in text and "DEMO-HALO" in text
        with open(sheet, "w", encoding="utf-8") as file:
            file.write(text.replace("commission,currency,USD", f"commission,currency,{currency}")
                       .replace("declared value,6200", "declared value,1250000").replace("DEMO-HALO", currency))
        run(PROGRAM, "price", sheet, "--books", folder, "--out", work)
        made.append((currency, os.path.join(work, "studio", f"{currency}-draft-margin.xlsx")))
    return made


# Where three options, each complete, take more than a page though set closer, what to know stands
# overleaf: the halo with a stone and old metal of the client's own has the most to say; a Letter
# page is 50 points shorter.
OVERLEAF = {("A4", "lines"): {"HALO"}, ("Letter", "sections"): {"HALO"},
            ("Letter", "lines"): {"HALO", "THREE", "ETERNITY"}}


def priced(work, sheets, paper, detail, prefix=""):
    """Prices the sheets for a paper and a detail; {"quote" or "margin": [(piece, workbook)]}, moved into `work` under
    names of their own."""
    out, made = os.path.join(work, f"{prefix}{paper}-{detail}"), {"quote": [], "margin": []}
    run(PROGRAM, "price", *sheets, "--books", books(out + "-books", paper, detail), "--out", out)
    for path in sorted(glob.glob(os.path.join(out, "*.xlsx")) + glob.glob(os.path.join(out, "studio", "*.xlsx"))):
        piece, kind = re.fullmatch(r"(\S+)-draft-(quote|margin)\.xlsx", os.path.basename(path)).groups()
        name = f"{prefix}{paper}-{detail}-{piece}" + ("-margin" if kind == "margin" else "") + ".xlsx"
        shutil.move(path, os.path.join(work, name))
        made[kind].append((piece, os.path.join(work, name)))
    return made


def three_options(work, sheets):
    """[(name, quote, is it known to need its back)] for each paper and detail, the base and two options side by side."""
    folder, quotes = os.path.join(work, "three"), []
    os.makedirs(folder)
    fewer = [with_options(folder, sheet, 2) for sheet in sheets]
    for paper in ("A4", "Letter"):
        for detail in ("total", "sections", "lines"):
            for piece, path in priced(work, fewer, paper, detail, "three-")["quote"]:
                turned = piece.split("-")[1] in OVERLEAF.get((paper, detail), ())
                quotes.append((os.path.basename(path), path, turned))
    return quotes


def check_promise(work):
    """The price is fixed, unless the policy lets metal follow the finished weight: then the client is told so."""
    for rule, told in ((0, "it changes only if the design does"),
                       (1, "the metal follows the finished weight where it differs by more than 5 %")):
        folder = books(os.path.join(work, f"promise-{rule}"), "A4", "total")
        path = os.path.join(folder, "policy.csv")
        with open(path, encoding="utf-8") as file:
            text = file.read()
        assert "\n# weight adjusts,metal,,5,%" in text
        with open(path, "w", encoding="utf-8") as file:
            file.write(text.replace("# weight adjusts", "weight adjusts") if rule else text)
        out = os.path.join(work, f"promised-{rule}")
        run(PROGRAM, "price", "demo/halo.csv", "--books", folder, "--out", out)
        quote = openpyxl.load_workbook(glob.glob(os.path.join(out, "*.xlsx"))[0])["Quote"]
        texts = [str(cell.value) for row in quote.iter_rows() for cell in row if cell.value]
        say(any(told in text for text in texts), f"the quote says that {told}", texts[-12:])
        say(any("finished weight" in text for text in texts) == bool(rule), "and says the other thing nowhere")


def main():
    work = tempfile.mkdtemp()
    check_promise(work)
    sheets = sorted(glob.glob("demo/*.csv"))
    check_owed(work)
    quotes, margins = [], []
    for paper in ("A4", "Letter"):
        for detail in ("lines", "total"):
            made = priced(work, sheets, paper, detail)
            quotes += [(os.path.basename(path), path) for _, path in made["quote"]]
            margins += [(os.path.basename(path), path) for _, path in made["margin"] if detail == "lines"]
    say(len(quotes) == 12 and len(margins) == 6, "quotes and margin sheets on both papers")
    three = three_options(work, sheets)
    say(len(three) == 18, "three options on both papers at each detail")
    long = many_digits(work)
    printed = print_all(work, [one[1] for one in quotes + margins + three + long])
    for (name, path), pdf in zip(quotes, printed):
        check_quote(name, path, pdf, 1 if "total-DEMO-THREE" in name else 2)
    for (name, path), pdf in zip(margins, printed[len(quotes):]):
        check_margin(name, path, pdf)
    for (name, path, turned), pdf in zip(three, printed[len(quotes) + len(margins):-len(long)]):
        check_quote(name, path, pdf, 1)
        sheets = openpyxl.load_workbook(path).sheetnames
        say(turned == ("Overleaf" in sheets), f"{name}: what to know stands overleaf only where it must", sheets)
    for (name, path), pdf in zip(long, printed[-len(long):]):
        say("###" not in "".join(pages_of(pdf)), f"{name}: every figure of the owner's sheets is shown")
        check_points(name, path)
    for name, path in quotes[:3]:
        check_gnumeric(name, work, path)
    shutil.rmtree(work)
    sys.exit(1 if failed else 0)


main()
