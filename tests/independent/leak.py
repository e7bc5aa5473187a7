"""Searches every member of the client's workbooks for what only the owner may know.

The owner's workbook of the same commission says what that is: unit costs, costs, margins,
earnings, minutes, rates. A figure that stands on the client's paper in its own right (a
service passed on at cost has one price and one cost) can't be told apart and is left out;
how many figures are searched for is checked. A paper with one cost put into it proves
first that the search finds it.
"""
import csv
import glob
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import warnings
import zipfile
import zlib

import openpyxl

warnings.filterwarnings("ignore", module="openpyxl")
failed = False


def say(fine, name, details=()):
    global failed
    print(("ok " if fine else "not ok ") + name)
    for line in [] if fine else list(details)[:20]:
        print("    " + line)
    failed = failed or not fine


def price(sheets, books, out):
    done = subprocess.run([os.environ["TALLYSTONE"], "price", *sheets, "--books", books,
                           "--out", out], capture_output=True)
    if done.returncode != 0:
        sys.exit(done.stderr.decode("utf-8", "replace"))


def members(path):
    with zipfile.ZipFile(path) as archive:
        return {item.filename: archive.read(item) for item in archive.infolist()}


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def forms(value):
    """How a figure could be written: as it is, in cents, grouped."""
    texts = {f"{value:.2f}", f"{value:,.2f}", repr(round(value, 6))}
    return {text for text in texts if "." in text and len(text.replace(".", "")) >= 4}


def published():
    """Prices that the books say are offered to clients, in every currency of rates.csv."""
    seen = set()
    with open("pricebooks/rates.csv", newline="", encoding="utf-8") as file:
        rates = [float(row["rate"]) for row in csv.DictReader(file)]
    with open("pricebooks/services.csv", newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["applies"] == "offered":
                price_each = float(row["price"])
                seen.update([price_each] + [round(price_each / rate, 2) for rate in rates])
    return seen


def owner_prices(path):
    """Prices, totals, taxed amounts: what the client may see of the owner's figures."""
    seen = set()
    for row in openpyxl.load_workbook(path, data_only=True)["Lines"].iter_rows(
            min_row=5, values_only=True):
        if is_number(row[8]):
            seen.update((round(row[8], 6), round(-row[8], 6)))
    return seen


def secrets(path):
    """Figures that only the owner's workbook may hold."""
    workbook = openpyxl.load_workbook(path, data_only=True)
    found = set()
    margins = set()
    for row in workbook["Lines"].iter_rows(min_row=5, values_only=True):
        found.update(round(row[c], 6) for c in (5, 6) if is_number(row[c]))  # unit cost, cost
        if row[4] == "min" and is_number(row[3]):
            found.add(round(row[3], 6))
        if is_number(row[9]):
            margins.add(round(row[9], 6))
        if row[2] in ("margin", "floor", "earnings an hour of own crafts") and is_number(row[8]):
            margins.add(round(row[8], 6))
    for name in ("Decision", "Rates"):
        for row in workbook[name].iter_rows(min_row=5, values_only=True):
            if is_number(row[1]):
                found.add(round(row[1], 6))
    return (found | margins) - owner_prices(path) - {0}


def book_words():
    """Lots, crafts, operations; names of books and rules; what only owners speak of."""
    words = {"pricebooks", ".csv", "markup", "sprue", "overhead", "contingency", "spares",
             "finishing loss", "premium", "recovery", "per hour", "supplier"}
    for book, column in (("melee.csv", "lot"), ("stones.csv", "lot"), ("crafts.csv", "craft")):
        with open(os.path.join("pricebooks", book), newline="", encoding="utf-8") as file:
            words.update(row[column].lower() for row in csv.DictReader(file)
                         if row[column] and not row[column].startswith("#"))
    return words


def notes():
    """Notes of the sheets and books: never for the client, save those of payment stages."""
    texts = set()
    for path in glob.glob("demo/*.csv") + glob.glob("pricebooks/*.csv"):
        with open(path, newline="", encoding="utf-8-sig") as file:
            for row in csv.DictReader(file):
                note = (row.get("note") or "").strip()
                if len(note) > 25 and row.get("rule") != "payment":
                    texts.add(note.lower())
    return texts


def spoken(parts):
    """Everything a person could come to read: cells, names, headers, properties, pictures'
    descriptions, comments."""
    texts = []
    for name, data in parts.items():
        if name.endswith((".xml", ".rels", ".vml")):
            text = data.decode("utf-8")
            texts += re.findall(r">([^<]+)<", text)
            texts += re.findall(r'(?:descr|title|name|sheet|Target)="([^"]*)"', text)
    return "\n".join(texts).lower()


def leaks(path, hidden, words, allowed):
    parts = members(path)
    found = []
    for name, data in parts.items():
        if not name.endswith(".xml"):
            continue
        text = data.decode("utf-8")
        for value in hidden:
            if value in allowed or round(value, 2) in allowed:
                continue
            for form in forms(value):
                if re.search(r"(?<![0-9.,])" + re.escape(form) + r"(?![0-9])", text):
                    found.append(f"{name} holds {form}")
        for cell in re.findall(r"<v>([^<]*)</v>", text if "worksheets/" in name else ""):
            try:
                value = round(float(cell), 6)
            except ValueError:
                continue
            if value in hidden and value not in allowed and value != int(value):
                found.append(f"{name} has a cell of {cell}")
    heard = spoken(parts)
    found += [f"says \"{word}\"" for word in words if word in heard]
    return found


def with_cost(source, target, value):
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for item in old.infolist():
            data = old.read(item)
            if item.filename == "xl/sharedStrings.xml":
                data = data.replace(b"</sst>", b"<si><t>it is " + f"{value:.2f}".encode() +
                                    b"</t></si></sst>")
            new.writestr(item, data)


def structure(path):
    """Hidden sheets, names, comments, formulas, links: a client's file has none of them."""
    parts = members(path)
    book = parts["xl/workbook.xml"].decode()
    wrong = [f"member {n}" for n in parts if re.search(r"comment|external|vml|calcChain|custom", n)
             and n != "docProps/custom.xml"]
    if "hidden" in book:
        wrong.append("a hidden sheet or name")
    names = re.findall(r'definedName name="([^"]*)"', book)
    wrong += [f"the name {n}" for n in names if not n.startswith("_xlnm.Print_")]
    for name, data in parts.items():
        if "worksheets/sheet" in name and name.endswith(".xml"):
            text = data.decode()
            if re.search(r"<f[ >]", text):
                wrong.append(f"a formula in {name}")
            if re.search(r'hidden="1"', text):
                wrong.append(f"a hidden row or column in {name}")
    return wrong


def chunks(png):
    at, kinds = 8, []
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at:at + 8])
        kinds.append(kind.decode("ascii"))
        at += 12 + length
    return kinds


def talking_logo(path):
    """The logo with a text of its maker's put into it."""
    with open(path, "rb") as file:
        png = file.read()
    body = b"tEXt" + b"Comment\0made in the back room from supplier 12"
    chunk = struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
    with open(path, "wb") as file:
        file.write(png[:33] + chunk + png[33:])


def check_text(work, books):
    """Text that a spreadsheet program would run, in every place a sheet offers."""
    with open("demo/halo.csv", encoding="utf-8") as file:
        sheet = file.read()
    for old, new in (("Engagement ring with a double halo about your own diamond",
                      "'=1+1&_x0041_"), ("demo client A", "'@SUM(A1:A9)"),
                     ("A and B 2026", "'+1-1"), ("stone centre,label,your diamond",
                                                 "stone centre,label,'-2+3")):
        assert old in sheet
        sheet = sheet.replace(old, new)
    path = os.path.join(work, "odd.csv")
    with open(path, "w", encoding="utf-8") as file:
        file.write(sheet)
    out = os.path.join(work, "odd")
    price([path], books, out)
    quote = glob.glob(os.path.join(out, "*-quote.xlsx"))[0]
    texts = []
    for name in openpyxl.load_workbook(quote).sheetnames:
        for row in openpyxl.load_workbook(quote)[name].iter_rows():
            texts += [cell for cell in row if cell.value is not None]
    said = [str(cell.value) for cell in texts]
    wrong = [str(cell.value) for cell in texts if cell.data_type == "f"]
    raw = members(quote)["xl/sharedStrings.xml"].decode()
    for wanted in ("=1+1&amp;_x005F_x0041_", "@SUM(A1:A9)", "+1-1", "-2+3"):
        if wanted not in raw:
            wrong.append(f"{wanted} is not there as it was typed")
    margin = glob.glob(os.path.join(out, "studio", "*.xlsx"))[0]
    for sheet in openpyxl.load_workbook(margin):
        for row in sheet.iter_rows():
            wrong += [f"{sheet.title}: {cell.value}" for cell in row if cell.data_type == "f" and
                      re.match(r"=(1\+1|@|\+|-2\+3|SUM\(A1:A9)", str(cell.value))]
    say(not wrong and any("@SUM" in text for text in said), "text from outside stays text", wrong)
    headers = "".join(re.findall(r"<odd(?:Header|Footer)>([^<]*)<", "".join(
        data.decode() for name, data in members(quote).items() if "worksheets/sheet" in name)))
    say("Draft" in headers, "Draft stands on each page")


def main():
    work = tempfile.mkdtemp()
    books = os.path.join(work, "pricebooks")
    shutil.copytree("pricebooks", books)
    talking_logo(os.path.join(books, "logo.png"))
    sheets = sorted(glob.glob("demo/*.csv"))
    one, two = os.path.join(work, "one"), os.path.join(work, "two")
    price(sheets, books, one)
    price(sheets, books, two)
    words = book_words() | notes() | {work.lower(), os.getcwd().lower(), "halo.csv"}

    quotes = sorted(glob.glob(os.path.join(one, "*-quote.xlsx")))
    say(len(quotes) == len(sheets) > 0, "every demo sheet has its quote")
    for quote in quotes:
        name = os.path.basename(quote)
        margin = os.path.join(one, "studio", name.replace("-quote", "-margin"))
        hidden = secrets(margin)
        say(len(hidden) > 60, f"{name}: {len(hidden)} figures that only the owner may know")
        false = os.path.join(work, "false.xlsx")
        cost = max(v for v in hidden if v != int(v))
        with_cost(quote, false, cost)
        say(len(leaks(false, hidden, words, set())) > 0, f"{name}: a cost put into it is found")
        found = leaks(quote, hidden, words, published())
        say(not found, f"{name}: no cost, margin, rate, lot, book, path or note", found)
        wrong = structure(quote)
        say(not wrong, f"{name}: nothing hidden, named, linked or run", wrong)
        for member, data in members(quote).items():
            if member.startswith("xl/media/"):
                kinds = set(chunks(data))
                say(kinds <= {"IHDR", "IDAT", "IEND", "bKGD", "sBIT", "pHYs"},
                    f"{name}: the logo is pixels alone", sorted(kinds))
        mode = os.stat(margin).st_mode & 0o777
        say(mode == 0o600, f"{name}: the margin sheet is the owner's alone", [oct(mode)])
    for path in sorted(glob.glob(os.path.join(one, "**", "*.xlsx"), recursive=True)):
        other = path.replace(one, two, 1)
        with open(path, "rb") as first, open(other, "rb") as second:
            say(first.read() == second.read(), f"{os.path.basename(path)}: the same bytes twice")
    check_text(work, books)
    shutil.rmtree(work)
    sys.exit(1 if failed else 0)


main()
