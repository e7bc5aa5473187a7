#!/usr/bin/python3
"""What Sensitivity says of a tenth more or less, against books and sheets that really say so.

Each driver of the margin sheet names a cell of a book or a measure of the sheet. Here that cell is
changed in a copy of the files, and `price` is run on them: it must come to the margin that
Sensitivity names, within what rounding explains, or refuse the change where Sensitivity says that it
cannot be made. The demos are taken with the shipped books, and with books in which a tier, a minimum
and a surcharge lie within a tenth of what the piece comes to, so that a moved rate changes how the
price is made up. Run from the top folder with TALLYSTONE naming the program.
"""
import csv
import io
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
from decimal import ROUND_HALF_UP, Decimal

sys.dont_write_bytecode = True
import openpyxl  # noqa: E402

PROGRAM = os.environ.get("TALLYSTONE", "build/release/tallystone")
DEMOS = ["demo/halo.csv", "demo/eternity.csv", "demo/three-stone.csv"]
ORIGIN = re.compile(r"(\S+\.csv):(\d+)(?: (.+))?$")
MILLIONTH = Decimal("0.000001")


def price(sheet, books):
    done = subprocess.run([PROGRAM, "price", str(sheet), "--books", str(books), "--csv"],
                          capture_output=True, text=True, check=False)
    if done.returncode not in (0, 65):
        raise SystemExit(done.stderr)
    rows = [row for row in csv.DictReader(io.StringIO(done.stdout)) if row["option"] == "base"]
    return rows, done.stderr


def totals(rows):
    return {row["item"]: Decimal(row["price"] or row["cost"])
            for row in rows if row["section"] == "total"}


def margin(rows):
    """The margin before steps, and by how much roundings can be off it: half a coin in each line's
    cost and in its price, and half of the last figure that Sensitivity prints."""
    said = totals(rows)
    lines = sum(row["section"] not in ("total", "payment", "trade-in") for row in rows)
    income = said["lines"] + said["discount"] + said["minimum"]
    off = Decimal("0.01") * (lines + 1)
    return 100 * (income - said["cost"]) / income, 100 * off / income + Decimal("0.005")


def read(path):
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.reader(file))


def write(path, rows):
    with open(path, "w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


def change(path, line, column, factor):
    rows = read(path)
    cell = rows[0].index(column)
    value = Decimal(rows[line - 1][cell]) * factor
    rows[line - 1][cell] = str(value.quantize(MILLIONTH, ROUND_HALF_UP))
    write(path, rows)


def beside(sheet, books):
    """Adds rules that a tenth passes: whole tiers by the dearest line of each section, and a
    minimum by the net; the piece is paid in a way that has a surcharge."""
    rows, _ = price(sheet, books)
    said = totals(rows)
    policy = read(books / "policy.csv")
    width = len(policy[0])
    sections = ["metal", "melee", "stones", "labour"]
    policy = [row for row in policy
              if not (row[0] in ("markup", "margin", "at cost", "tiers") and row[1] in sections)
              and row[:2] != ["minimum", "net"]]
    for section in sections:
        dearest = max((Decimal(row["cost"]) for row in rows if row["section"] == section),
                      default=Decimal(0)) or Decimal(100)
        foot = (dearest * Decimal("1.05")).quantize(Decimal("0.01"))
        for row in (["tiers", section, "", "whole"], ["markup", section, "", "60", "%"],
                    ["markup", section, str(foot), "35", "%"]):
            policy.append(row + [""] * (width - len(row)))
    policy.append(["minimum", "net", "", str(said["lines"].quantize(Decimal(1))), "USD"]
                  + [""] * (width - 5))
    write(books / "policy.csv", policy)
    measures = [row for row in read(sheet) if row[:2] != ["commission", "pays by"]]
    measures.insert(1, ["commission", "pays by", "card"] + [""] * (len(measures[0]) - 3))
    write(sheet, measures)


def drivers(sheet, books, out):
    done = subprocess.run([PROGRAM, "price", str(sheet), "--books", str(books), "--out", str(out)],
                          capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(done.stderr)
    (workbook,) = (out / "studio").glob("*.xlsx")
    sheet = openpyxl.load_workbook(workbook, data_only=True)["Sensitivity"]
    for row in sheet.iter_rows(values_only=True):
        origin = ORIGIN.match(str(row[2] or ""))
        if origin:
            yield row[0], origin, ((Decimal("0.9"), row[3]), (Decimal("1.1"), row[4]))


def compare(sheet, books, origin, factor, said):
    """A trouble in words, or None."""
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        shutil.copytree(books, folder / "books")
        shutil.copy(sheet, folder)
        name, line, column = origin.groups()
        at = folder / "books" / name if column else folder / sheet.name
        change(at, int(line), column or "value", factor)
        rows, why = price(folder / sheet.name, folder / "books")
    if not rows or isinstance(said, str):
        fine = not rows and isinstance(said, str)
        return None if fine else f"said {said}; the program: {why.strip()[:200] or 'prices it'}"
    really, off = margin(rows)
    return None if abs(Decimal(str(said)) - really) <= off else f"said {said}, is {really:.3f}"


def main():
    failed = 0
    for demo in DEMOS:
        for close in (False, True):
            troubles, count = [], 0
            with tempfile.TemporaryDirectory() as folder:
                folder = pathlib.Path(folder)
                books = folder / "books"
                shutil.copytree("pricebooks", books)
                sheet = pathlib.Path(shutil.copy(demo, folder))
                if close:
                    beside(sheet, books)
                for name, origin, sides in drivers(sheet, books, folder / "out"):
                    count += 1
                    for factor, said in sides:
                        trouble = compare(sheet, books, origin, factor, said)
                        if trouble:
                            troubles.append(f"{name} ({origin[0]}) times {factor}: {trouble}")
            title = f"{demo}: {count} drivers are the files changed" + \
                (", where a tenth passes a tier or a minimum" if close else "")
            good = not troubles and count >= 10
            failed += not good
            print(f"{'ok' if good else 'not ok'} {title}")
            for trouble in troubles[:12]:
                print(f"  {trouble}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
