"""Recalculates the margin workbooks of the demo sheets and compares every cell.

LibreOffice trusts the values kept in a file that names the usual program as its maker,
unless its profile says "always recalculate" (OOXMLRecalcMode 0): so a fresh profile says
it, and a falsified workbook proves first that it works. Gnumeric is asked as well. Cells
are equal when they differ by less than 1e-9 of their size, which is what doubles of a few
steps leave; anything rounded to cents would differ by far more.

Then one rate of each kind is changed in each workbook (a metal's price, a fineness, a
premium, an hour, a tier's foot, a tax, an exchange rate ...: every book and column, every
rule of the policy that stands in Rates), and the same ones in a copy of the price books; the
recalculated workbook must equal, cell by cell, the one that the engine writes from those
books. All kinds are changed at once in each workbook, and then each alone in one of those that have it, for
what two changes hide from each other. What Decision repeats of Sensitivity
is the engine's alone: there the changed workbook must say that its cells were changed. What changes how
a price is made up, and no formula follows, must be said beside the option: it is to be priced again.
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

SAFE = {  # what a kind is multiplied by where more would not be let through
    ("alloys.csv", "gold"): "0.99", ("alloys.csv", "platinum"): "0.99",
    ("alloys.csv", "palladium"): "0.99", ("alloys.csv", "silver"): "0.99",
    ("alloys.csv", "recovery"): "0.95",
}
BITES = {  # alone: so much that what lay below the least is raised to it
    ("labour.csv", "minimum"): "20", ("policy.csv", "least net"): "20",
}
WANTED = {  # kinds that the demo sheets together must have
    ("metals.csv", "price"), ("alloys.csv", "premium"), ("alloys.csv", "finishing loss"),
    ("alloys.csv", "sprue"), ("alloys.csv", "recovery"), ("alloys.csv", "scrap payout"),
    ("crafts.csv", "rate per hour"), ("labour.csv", "minutes each"),
    ("labour.csv", "set-up minutes"), ("labour.csv", "price each"), ("labour.csv", "minimum"),
    ("services.csv", "price"), ("services.csv", "minimum"), ("taxes.csv", "rate"),
    ("rates.csv", "rate"), ("melee.csv", "price per ct"), ("melee.csv", "carat each"),
    ("stones.csv", "price per ct"), ("policy.csv", "markup"), ("policy.csv", "above"),
    ("policy.csv", "spares"), ("policy.csv", "overhead"), ("policy.csv", "contingency"),
    ("policy.csv", "floor"), ("policy.csv", "fee"), ("policy.csv", "step"), ("policy.csv", "margin"),
}
FACTORS = ("1.09", "0.8", "1.25", "0.91", "1.5", "0.7")
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


def is_engines(cell):
    """What it repeats of Sensitivity, and the number by which `why` knows a line."""
    return (cell.data_type == "f" and "Sensitivity!" in str(cell.value)) or (
        cell.parent.title == "Lines" and cell.column == 1)


def differences(kept, recalculated, sheets=None, engines=True):
    """(formulas seen, sentences about cells that differ); with or without what Decision
    repeats of Sensitivity."""
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
                if not engines and is_engines(cell):
                    continue
                if x == y or (x in (None, "") and y in (None, "")):
                    continue
                if is_number(x) and is_number(y) and abs(x - y) <= 1e-9 * max(1, abs(x), abs(y)):
                    continue
                wrong.append(f"{name}!{cell.coordinate} kept {x!r}, recalculated {y!r}: {cell.value}")
    return count, wrong


def steps_aside(changed):
    """What a recalculated workbook with changed rates says in place of the engine's words."""
    formulas, values = openpyxl.load_workbook(changed), openpyxl.load_workbook(changed, data_only=True)
    said = [values["Decision"][cell.coordinate].value for row in formulas["Decision"].iter_rows()
            for cell in row if is_engines(cell)] + [values["Sensitivity"]["A2"].value]
    return said if len(said) != 5 else [text for text in said if "Cells were changed" not in text]


def sensitivity(path):
    """Sentences about what Sensitivity does not keep of its promises."""
    workbook = openpyxl.load_workbook(path, data_only=True)
    sheet, wrong, reach, rows = workbook["Sensitivity"], [], None, 0
    cells = [[cell.value for cell in row] for row in sheet.iter_rows(max_col=7)]
    head = next(n for n, row in enumerate(cells) if row[0] == "What")
    margin = float(re.search(r"as it stands is (-?[0-9.]+)", " ".join(
        str(row[0]) for row in cells[:head])).group(1))
    for row in cells[head + 1:]:
        if row[0] is None:
            break
        rows += 1
        moves = []
        for at, change in ((row[3], row[5]), (row[4], row[6])):
            if at == "cannot be made":
                wrong += [] if change in (None, "") else [f"{row[0]}: {change} of nothing"]
                continue
            moves.append(abs(change))
            if abs(margin + change - at) > 1e-9:
                wrong.append(f"{row[0]}: {margin} {change:+} is not {at}")
        widest = max(moves, default=0)
        if reach is not None and widest > reach + 0.0101:  # sorted before it was rounded
            wrong.append(f"{row[0]} moves more than the row above it")
        reach = widest
    if not 10 <= rows <= 25:
        wrong.append(f"{rows} rows")
    with zipfile.ZipFile(path) as archive:
        drawn = "".join(archive.read(name).decode() for name in archive.namelist()
                        if "drawings/drawing" in name and name.endswith(".xml"))
    says = re.findall(r'descr="([^"]*)"', drawn)
    first = cells[head + 1][0]
    if not any(text.startswith("It hangs most") and first in text for text in says):
        wrong.append(f"no chart says that it hangs most on {first}: {says}")
    return wrong


BREAK_EVEN = re.compile(r"meets the floor of ([0-9.]+) % with (\w+) at ([0-9.]+) .*; at ([0-9.]+) it is under")


def at_break_even(source, target, group):
    """The first metal price that Sensitivity names, or that beside it, put into the workbook; the floor,
    or None."""
    workbook = openpyxl.load_workbook(source)
    for row in workbook["Sensitivity"].iter_rows(max_col=1, max_row=12):
        found = BREAK_EVEN.search(str(row[0].value))
        if found:
            cell_of(workbook, "market_price_of_" + found[2]).value = float(found[group])
            workbook.save(target)
            return float(found[1])
    return None


def keeps_to_floor(recalculated, floor):
    """At the price that is named the margin, as it is printed, is not under the floor."""
    row = next(openpyxl.load_workbook(recalculated, data_only=True)["Decision"].iter_rows(
        min_row=6, max_row=6, values_only=True))
    return [] if round(row[3], 2) >= floor else [f"margin {row[3]}, floor {floor}"]


def misses_floor(recalculated, floor):
    """At the price beside it the margin is under the floor, by less than a step of net makes."""
    row = next(openpyxl.load_workbook(recalculated, data_only=True)["Decision"].iter_rows(
        min_row=6, max_row=6, values_only=True))
    step = 100 * 5 / row[2]
    return [] if floor - step <= round(row[3], 2) < floor else [f"margin {row[3]}, floor {floor}, beside it"]


def too_late(work):
    """The halo wanted two days after its date: the owner's first sheet says that it is late."""
    path = os.path.join(work, "late.csv")
    with open("demo/halo.csv", encoding="utf-8") as file:
        sheet = file.read()
    assert "deliver by,2027-02-12" in sheet
    with open(path, "w", encoding="utf-8") as file:
        file.write(sheet.replace("deliver by,2027-02-12", "deliver by,2026-11-27"))
    made = price("pricebooks", os.path.join(work, "late"), [path])[0]
    rows = list(openpyxl.load_workbook(made, data_only=True)["Decision"].iter_rows(values_only=True))
    return [row for row in rows if row[0] == "Caution: ready too late" and
            "after 27 November 2026" in row[1]]


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


def kinds_of(workbook):
    """The first cell of each kind in Rates: {(book, column or the policy's rule): its row}."""
    sheet, kinds = workbook["Rates"], {}
    for row in range(5, sheet.max_row + 1):
        where, column = sheet.cell(row, 4).value, sheet.cell(row, 5).value
        if where is None or not sheet.cell(row, 2).value:
            continue
        book = where.split(":")[0]
        if book == "policy.csv":
            rule = re.split(r" on | of | above | an |,", sheet.cell(row, 1).value)[0]
            column = column if column != "value" else rule
        kinds.setdefault((book, column), row)
    return kinds


def change_workbook(source, target, only=None):
    """One rate of each kind (or of one alone) changed; returns for each its book, line, column and new value."""
    workbook = openpyxl.load_workbook(source)
    sheet, changes = workbook["Rates"], []
    for number, (kind, row) in enumerate(sorted(kinds_of(workbook).items())):
        if only not in (None, kind):
            continue
        factor = SAFE.get(kind, FACTORS[number % len(FACTORS)])
        factor = BITES.get(only, factor)
        cell = sheet.cell(row, 2)
        new = round(float(cell.value) * float(factor), 4)
        book, line = sheet.cell(row, 4).value.split(":")
        changes.append((book, int(line), sheet.cell(row, 5).value, new))
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


def one_at_a_time(work, made, sheets):
    """Each kind of rate changed alone: [(what, the engine's workbook, the changed one, the engine's anew)]"""
    first = {}
    for number, path in enumerate(made):
        for kind in kinds_of(openpyxl.load_workbook(path)):
            first.setdefault(kind, number)
    alone = []
    for kind, number in sorted(first.items()):
        name = "-".join(kind).replace(" ", "-").replace(".csv", "")
        target, books = os.path.join(work, f"alone-{name}.xlsx"), os.path.join(work, f"alone-books-{name}")
        changes = change_workbook(made[number], target, kind)
        shutil.copytree("pricebooks", books)
        change_books(books, changes)
        wanted = price(books, os.path.join(work, f"alone-out-{name}"), [sheets[number]])[0]
        alone.append((f"{kind[0]}, {kind[1]}", made[number], target, wanted))
    return alone


def books_with(work, name, old, new):
    """The shipped books with something of the policy replaced."""
    folder = os.path.join(work, f"{name}-books")
    shutil.copytree("pricebooks", folder)
    path = os.path.join(folder, "policy.csv")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    assert old in text
    with open(path, "w", encoding="utf-8") as file:
        file.write(text.replace(old, new))
    return folder


def even_books(work):
    """The books with the other rounding: half to even."""
    return books_with(work, "even", "rounding,half,,away from zero", "rounding,half,,to even")


def floored_books(work):
    """The books with a floor that some metal's price can bring the demo pieces to."""
    return books_with(work, "floored", "floor,margin,,30,", "floor,margin,,36.2,")


def whole_books(work):
    """The books with whole tiers: a line's cost decides which of them its whole price bears."""
    return books_with(work, "whole", ",marginal,", ",whole,")


def guard_cells(workbook):
    """Cells of Lines that say whether the price is still made up as it was."""
    return [row[0].offset(0, 6) for row in workbook["Lines"].iter_rows(min_col=3, max_col=3)
            if row[0].value == "still made up in the same way"]


STEP = re.compile(r"ROUND\(\(([A-Z]+\d+)-(\w+)\),9\)")


def past_a_step(source, target):
    """A copy in which the first step of tiers that a guard names was moved to the other side of its line;
    false where no line hangs on one."""
    workbook, values = openpyxl.load_workbook(source), openpyxl.load_workbook(source, data_only=True)
    found = next((found.groups() for cell in guard_cells(workbook) for found in STEP.finditer(cell.value)
                  if found[2] in workbook.defined_names), None)
    if found is None:
        return False
    cell, name = found
    sheet, place = workbook.defined_names[name].attr_text.split("!")
    cost, step = values["Lines"][cell].value, workbook[sheet][place.replace("$", "")]
    step.value = cost / 2 if cost <= step.value else cost * 2
    workbook.save(target)
    return True


PARTED = (  # what no formula follows: which workbook, whose row in Rates, what it held, what it is made
    ("tiers whose feet pass each other", "halo", "tier of melee above", 500, 1600),
    ("a lowest tier that begins over nothing", "halo", "tier of melee above", 0, 100),
    ("whole tiers whose feet pass each other", "whole-halo", "tier of stones above", 5000, 1200),
    ("a fee of nothing", "eternity", "fee of paying by card", None, 0),
    ("stages that come to more than a hundred", "halo", "deposit of what is to pay", None, 80),
    ("a tax that parts from another of its name", "parted", "rate of sales tax", 7.25, 8.5),
    ("two taxes of one name that become one", "met", "rate of sales tax", 5, 7.25),
)


def taxed_apart(work):
    """Margin workbooks of the halo where labour bears the same tax as all else, by a row of its own
    with the same rate, and with another."""
    made = {}
    for name, rate in (("parted", "7.25"), ("met", "5")):
        folder = os.path.join(work, "books-" + name)
        shutil.copytree("pricebooks", folder)
        with open(os.path.join(folder, "taxes.csv"), "a", encoding="utf-8") as file:
            file.write(f"state,labour,{rate},sales tax,delivery,reduces,,,\n")
        path = price(folder, os.path.join(work, name), ["demo/halo.csv"])[0]
        made[name] = os.path.join(work, f"{name}-{os.path.basename(path)}")
        shutil.copy(path, made[name])
    return made


def part(work, workbooks):
    """A copy of each with the one cell changed: [(what, its path)]"""
    changed = []
    for number, (what, name, rate, held, new) in enumerate(PARTED):
        workbook = openpyxl.load_workbook(workbooks[name])
        cells = [row[1] for row in workbook["Rates"].iter_rows(min_row=5)
                 if str(row[0].value).startswith(rate) and held in (None, row[1].value)]
        cells[-1].value = new
        target = os.path.join(work, f"parted{number}.xlsx")
        workbook.save(target)
        changed.append((what, target))
    return changed


def says_again(path):
    """(cells that ask for the engine, all of them)"""
    cells = guard_cells(openpyxl.load_workbook(path, data_only=True))
    return sum(cell.value == "price it again" for cell in cells), len(cells)


def main():
    work = tempfile.mkdtemp()
    sheets = sorted(glob.glob("demo/*.csv"))
    made = price("pricebooks", os.path.join(work, "out"), sheets)
    say(len(made) == len(sheets) > 0, "every demo sheet has its margin workbook")

    false = os.path.join(work, "falsified.xlsx")
    falsify(made[0], false)
    changed, wanted = [], []
    kinds = set().union(*[kinds_of(openpyxl.load_workbook(path)) for path in made])
    say(WANTED <= kinds, "the demo sheets have every kind of rate", [str(WANTED - kinds), str(kinds)])
    for number, workbook in enumerate(made):
        target = os.path.join(work, f"changed{number}.xlsx")
        changes = change_workbook(workbook, target)
        books = os.path.join(work, f"books{number}")
        shutil.copytree("pricebooks", books)
        change_books(books, changes)
        again = price(books, os.path.join(work, f"out{number}"), [sheets[number]])
        changed.append(target)
        wanted.append(again[0])

    alone = one_at_a_time(work, made[:], sheets)

    even = even_books(work)
    for path in price(even, os.path.join(work, "even"), sheets):
        target = os.path.join(work, "even-" + os.path.basename(path))
        shutil.copy(path, target)
        made.append(target)

    breaking = [(os.path.join(work, f"{word}{n}.xlsx"), workbook, group, holds)
                for n, workbook in enumerate(price(floored_books(work), os.path.join(work, "floored"), sheets[:2]))
                for word, group, holds in (("at", 3, keeps_to_floor), ("beside", 4, misses_floor))]
    breaking = [(target, at_break_even(source, target, group), holds) for target, source, group, holds in breaking]
    breaking = [(target, floor, holds) for target, floor, holds in breaking if floor is not None]

    tiers = []
    for path in price(whole_books(work), os.path.join(work, "whole"), sheets):
        target = os.path.join(work, "whole-" + os.path.basename(path))
        shutil.copy(path, target)
        made.append(target)
        past = os.path.join(work, "past-" + os.path.basename(path))
        tiers += [past] if past_a_step(target, past) else []
    say(len(tiers) > 0, "some lines hang on a step of whole tiers")

    apart = taxed_apart(work)
    named = {os.path.basename(sheet)[:-4]: path for sheet, path in zip(sheets, made)}
    whole = [path for path in made if "whole-" in path and "halo" in path.lower()]
    parted = part(work, {**named, **apart, "whole-halo": whole[0]})

    out = office(work, [false, *made, *changed, *tiers, *[target for _, target in parted], *[target for target, _, _ in breaking],
                        *[target for _, _, target, _ in alone]])
    for workbook in made:
        again, count = says_again(os.path.join(out, os.path.basename(workbook)))
        say(again == 0 < count, f"{os.path.basename(workbook)}: {count} options are made up as they were")
    for workbook in tiers:
        again, count = says_again(os.path.join(out, os.path.basename(workbook)))
        say(0 < again <= count, f"{os.path.basename(workbook)}: past a step of whole tiers it says to price it again")
    for what, workbook in parted:
        again, count = says_again(os.path.join(out, os.path.basename(workbook)))
        say(0 < again <= count, f"{what}: it says to price it again")
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
                               ["Decision", "Lines", "Rates", "Workings"], engines=False)
        say(not wrong, f"{name}: changed rates give what the engine gives", wrong)
        wrong = steps_aside(recalculated)
        say(not wrong, f"{name}: with changed rates the engine's words step aside", wrong)
        wrong = sensitivity(made[number])
        say(not wrong, f"{name}: what moves it most is sorted, adds up, and is said", wrong)

    for what, before, target, anew in alone:
        recalculated = os.path.join(out, os.path.basename(target))
        _, moved = differences(before, recalculated, ["Lines", "Workings"])
        _, wrong = differences(anew, recalculated, ["Decision", "Lines", "Rates", "Workings"], engines=False)
        say(not wrong and len(moved) > 0, f"{what}: changed alone, every cell follows", wrong or ["nothing moved"])

    wrong = [text for target, floor, holds in breaking for text in
             holds(os.path.join(out, os.path.basename(target)), floor)]
    say(not wrong and len(breaking) == 4, "at the metal price named the margin keeps to the floor, beside it it does "
        "not", wrong)
    say(len(too_late(work)) == 1, "a piece that cannot be ready in time is a caution")

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
