"""Recalculates the margin workbooks of the demo sheets and compares every cell.

LibreOffice trusts the values kept in a file that names the usual program as its maker,
unless its profile says "always recalculate" (OOXMLRecalcMode 0): so a fresh profile says
it, and a falsified workbook proves first that it works. Gnumeric is asked as well. Cells
are equal when they differ by less than 1e-9 of their size, which is what doubles of a few
steps leave; anything rounded to cents would differ by far more.

Then three rates are changed in each workbook (a metal's price, an hour's, a markup), and
the same three in a copy of the price books; the recalculated workbook must equal, cell by
cell, the one that the engine writes from those books.
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

import openpyxl

RATES = {  # name of the cell, and what its value is multiplied by
    "market_price_of_gold": "1.09",
    "an_hour_of_the_setter": "1.25",
    "markup_on_labour": "0.8",
}
PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"
 xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode"
 oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""
warnings.filterwarnings("ignore", module="openpyxl")
failed = False


def say(fine, name, details=()):
    global failed
    print(("ok " if fine else "not ok ") + name)
    for line in [] if fine else list(details)[:20]:
        print("    " + line)
    failed = failed or not fine


def run(*command):
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          errors="replace")
    if done.returncode != 0:
        print(done.stdout)
        raise SystemExit(f"{command[0]} ended with {done.returncode}")


def office(work, files):
    """All files through LibreOffice in one call; returns the recalculated ones' folder."""
    profile, out = os.path.join(work, "profile"), tempfile.mkdtemp(dir=work)
    os.makedirs(os.path.join(profile, "user"), exist_ok=True)
    with open(os.path.join(profile, "user", "registrymodifications.xcu"), "w") as file:
        file.write(PROFILE)
    run("timeout", "240", "soffice", f"-env:UserInstallation=file://{profile}", "--headless",
        "--norestore", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", out, *files)
    return out


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def differences(kept, recalculated, sheets=None):
    """(formulas seen, sentences about cells that differ)."""
    formulas = openpyxl.load_workbook(kept)
    one = openpyxl.load_workbook(kept, data_only=True)
    other = openpyxl.load_workbook(recalculated, data_only=True)
    count, wrong = 0, []
    if one.sheetnames != other.sheetnames:
        return 0, [f"sheets differ: {one.sheetnames} {other.sheetnames}"]
    for name in sheets or one.sheetnames:
        rows = max(one[name].max_row, other[name].max_row)
        columns = max(one[name].max_column, other[name].max_column)
        for row in range(1, rows + 1):
            for column in range(1, columns + 1):
                x = one[name].cell(row, column).value
                y = other[name].cell(row, column).value
                cell = formulas[name].cell(row, column)
                count += cell.data_type == "f"
                if x == y or (x in (None, "") and y in (None, "")):
                    continue
                if is_number(x) and is_number(y) and abs(x - y) <= 1e-9 * max(1, abs(x), abs(y)):
                    continue
                wrong.append(f"{name}!{cell.coordinate} kept {x!r}, recalculated {y!r}: {cell.value}")
    return count, wrong


def falsify(source, target):
    """One kept value of a formula, changed in the file itself."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for item in old.infolist():
            data = old.read(item)
            if item.filename == "xl/worksheets/sheet2.xml":
                data, count = re.subn(rb"(</f><v>)([0-9.]+)(</v>)", rb"\g<1>77.77\g<3>", data, 1)
                assert count == 1
            new.writestr(item, data)


def cell_of(workbook, name):
    sheet, place = workbook.defined_names[name].attr_text.split("!")
    return workbook[sheet][place.replace("$", "")]


def change_workbook(source, target):
    """Three rates changed; returns for each its book, line, column and new value."""
    workbook = openpyxl.load_workbook(source)
    changes = []
    for name, factor in RATES.items():
        cell = cell_of(workbook, name)
        new = round(float(cell.value) * float(factor), 4)
        sheet = cell.parent
        book, line = sheet.cell(cell.row, 4).value.split(":")
        changes.append((book, int(line), sheet.cell(cell.row, 5).value, new))
        cell.value = new
    workbook.save(target)
    return changes


def change_books(folder, changes):
    for book, line, column, value in changes:
        path = os.path.join(folder, book)
        with open(path, newline="") as file:
            lines = file.read().splitlines()
        header = next(csv.reader([lines[0]]))
        row = next(csv.reader([lines[line - 1]]))
        row[header.index(column)] = f"{value:g}" if value != int(value) else str(int(value))
        class Line:
            text = ""

            def write(self, text):
                self.text += text
        out = Line()
        csv.writer(out, lineterminator="").writerow(row)
        lines[line - 1] = out.text
        with open(path, "w", newline="") as file:
            file.write("\n".join(lines) + "\n")


def price(books, out, sheets):
    run(os.environ["TALLYSTONE"], "price", *sheets, "--books", books, "--out", out)
    return sorted(glob.glob(os.path.join(out, "studio", "*-margin.xlsx")))


def even_books(work):
    """The books with the other rounding: half to even."""
    folder = os.path.join(work, "even-books")
    shutil.copytree("pricebooks", folder)
    path = os.path.join(folder, "policy.csv")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    assert "rounding,half,,away from zero" in text
    with open(path, "w", encoding="utf-8") as file:
        file.write(text.replace("rounding,half,,away from zero", "rounding,half,,to even"))
    return folder


def main():
    work = tempfile.mkdtemp()
    sheets = sorted(glob.glob("demo/*.csv"))
    made = price("pricebooks", os.path.join(work, "out"), sheets)
    say(len(made) == len(sheets) > 0, "every demo sheet has its margin workbook")

    false = os.path.join(work, "falsified.xlsx")
    falsify(made[0], false)
    changed, wanted = [], []
    for number, workbook in enumerate(made):
        target = os.path.join(work, f"changed{number}.xlsx")
        changes = change_workbook(workbook, target)
        books = os.path.join(work, f"books{number}")
        shutil.copytree("pricebooks", books)
        change_books(books, changes)
        again = price(books, os.path.join(work, f"out{number}"), [sheets[number]])
        changed.append(target)
        wanted.append(again[0])

    even = even_books(work)
    for path in price(even, os.path.join(work, "even"), sheets):
        target = os.path.join(work, "even-" + os.path.basename(path))
        shutil.copy(path, target)
        made.append(target)

    out = office(work, [false, *made, *changed])
    _, wrong = differences(false, os.path.join(out, "falsified.xlsx"))
    say(len(wrong) > 0, "a falsified workbook is told from a true one")
    for workbook in made:
        name = os.path.basename(workbook)
        count, wrong = differences(workbook, os.path.join(out, name))
        say(count > 300 and not wrong, f"{name}: {count} formulas recalculated", wrong)
    for number, workbook in enumerate(changed):
        name = os.path.basename(made[number])
        recalculated = os.path.join(out, os.path.basename(workbook))
        _, moved = differences(made[number], recalculated, ["Decision"])
        say(len(moved) > 5, f"{name}: changed rates move the decision")
        _, wrong = differences(wanted[number], recalculated,
                               ["Decision", "Lines", "Rates", "Workings"])
        say(not wrong, f"{name}: changed rates give what the engine gives", wrong)

    for workbook in [false, *made]:
        target = os.path.join(work, "gnumeric-" + os.path.basename(workbook))
        run("ssconvert", "--recalc", workbook, target)
        count, wrong = differences(workbook, target)
        if workbook == false:
            say(len(wrong) > 0, "Gnumeric tells a falsified workbook from a true one")
        else:
            say(not wrong, f"{os.path.basename(workbook)}: Gnumeric agrees", wrong)
    shutil.rmtree(work)
    sys.exit(1 if failed else 0)


main()
