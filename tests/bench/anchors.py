"""What a studio would take instead of `variants`: the same table through other programs.

The others compute a simplified ring (model.awk says which, its price list of melee searched by the
stone's diameter included), the program the whole of it: design, geometry, books, every rule. So the others' answers are compared with one another, the program's
with `price` elsewhere (tests/independent/variants.py); what is compared here is time alone.
"""
import csv
import os
import pathlib
import random
import subprocess
import sys

HERE = pathlib.Path(__file__).parent
SHEET = HERE / "catalogue.csv"
HEADER = "variant,ring/size,ring/alloy,shank/width top,shank/thickness top,halo top/stone diameter"
ALLOYS = ("750 yellow", "platinum 950", "585 rose")
RATES = {"750 yellow": (98.663616, 15.5), "platinum 950": (47.833024, 20.7), "585 rose": (76.81, 13.2)}
STEPS = [((4 + i) / 10, round(0.0036905 * ((4 + i) / 10 + 0.05) ** 3, 6),
          1104 if i <= 3 else 941 if i <= 5 else 787 if i <= 13 else 806 if i <= 22 else 941 if i <= 28 else 1104)
         for i in range(1, 31)]  # of melee: from mm, carat each, price a carat
ALWAYS = "0"  # OOXMLRecalcMode


def table(path, rows, seed=20261125):
    """A season's table: sizes by quarters, three alloys, widths and thicknesses by hundredths, seven stones."""
    draw = random.Random(seed)
    with open(path, "w", encoding="utf-8") as file:
        file.write(HEADER + "\n")
        for i in range(rows):
            file.write(f"v{i},{4 + draw.randrange(29) / 4:g},{draw.choice(ALLOYS)},{draw.randrange(180, 320) / 100:.2f},"
                       f"{draw.randrange(150, 220) / 100:.2f},{draw.randrange(10, 17) / 10:.2f}\n")


def answers(path):
    with open(path, encoding="utf-8", newline="") as file:
        return {row[0]: [float(cell) for cell in row[2:11]] for row in list(csv.reader(file))[1:]}


# Half a cent in binary falls to either side: a program that spares it a cent of cost, times markup
# and tax, is up to four cents of total. Such rows are few, and their number is printed.
TIE = 0.045
MOST_TIES = 0.01


def agree(name, totals, plain):
    """True where another program's totals are those of mawk but for ties; says how many those are."""
    if totals.keys() != plain.keys():
        return False
    apart = [abs(totals[row] - plain[row][7]) for row in plain]
    ties = sum(one > 0.0051 for one in apart)
    if ties:
        print(f"  {name}: {ties} of {len(plain)} totals fall on another side of half a cent in binary")
    return max(apart) <= TIE and ties <= MOST_TIES * len(plain)


def duckdb(modules):
    """The folder of DuckDB's package, installed on first use; None where the registry is not there."""
    if not (modules / "node_modules/@duckdb/node-api").is_dir():
        modules.mkdir(parents=True, exist_ok=True)
        (modules / "package.json").write_text("{}\n", encoding="utf-8")
        got = subprocess.run(["npm", "install", "--silent", "--no-audit", "--no-fund", "@duckdb/node-api"],
                             cwd=modules, check=False, capture_output=True)
        if got.returncode != 0:
            return None
    return modules.resolve()


# ---- workbooks ----


def letters(column):
    """A column's letters, from 0."""
    return chr(64 + column // 26) * (column >= 26) + chr(65 + column % 26)


def formulas(row):
    """Forty formulas of a row: the ring in each of three alloys, and the least of their totals."""
    size, width, thick, stone = (f"${column}{row}" for column in "BDEF")
    out = []
    for i, alloy in enumerate(ALLOYS):
        rate, density = RATES[alloy]
        cell = [f"${letters(6 + 13 * i + k)}{row}" for k in range(13)]
        out += [f"=(11.6332+0.8128*{size})/2",
                f"=2*PI()*({cell[0]}*PI()*{width}*{thick}/4+{width}*{thick}*{thick}/3)",
                f"={cell[1]}*{density}/1000",
                f"=INT(PI()/ASIN(({stone}+0.1)/(6.9+{stone})))",
                f"={cell[3]}*VLOOKUP({stone},steps!$A$1:$C$30,2)",
                f"={cell[4]}*VLOOKUP({stone},steps!$A$1:$C$30,3)",
                f"=45+6*{cell[3]}",
                f"={cell[6]}*1.133333",
                f"=ROUND({cell[2]}*{rate},2)+ROUND({cell[5]},2)+ROUND({cell[7]},2)",
                f"={cell[8]}+ROUND({cell[8]}*0.18,2)",
                f"=ROUND({cell[9]}*2.2,2)",
                f"=ROUND({cell[10]}*0.0825,2)",
                f"={cell[10]}+{cell[11]}"]
    return [*out, "=MIN(" + ",".join(f"${letters(18 + 13 * i)}{row}" for i in range(3)) + ")"]


def workbook(path, source):
    import openpyxl  # Debian's own python has it
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("season")
    with open(source, encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.reader(file), 1):
            if number == 1:
                sheet.append(row)
            else:
                sheet.append([row[0], float(row[1]), row[2], *map(float, row[3:6]), *formulas(number)])
    steps = book.create_sheet("steps")
    for step in STEPS:
        steps.append(step)
    book.save(path)


def profile(folder):
    """A profile of LibreOffice that recalculates what it loads."""
    (folder / "user").mkdir(parents=True)
    (folder / "user/registrymodifications.xcu").write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n<oor:items xmlns:oor="http://openoffice.org/2001/registry">'
        '<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">'
        f"<value>{ALWAYS}</value></prop></item></oor:items>\n", encoding="utf-8")
    return f"-env:UserInstallation=file://{folder.resolve()}"


def sheet_answers(path):
    """Each row's total in its own alloy, from a CSV of the workbook."""
    with open(path, encoding="utf-8", newline="") as file:
        return {row[0]: float(row[18 + 13 * ALLOYS.index(row[2])]) for row in list(csv.reader(file))[1:]}


# ---- the benches ----


def others(program, folder, modules, rows):
    """Commands by name for `rows` rows, checked against one another; the program's first."""
    season, said = folder / "season.csv", folder / "awk.csv"
    table(season, rows)
    with open(said, "wb") as to:
        subprocess.run(["mawk", "-f", HERE / "model.awk", season], check=True, stdout=to)
    sides = {"variants of the program": [program, "variants", SHEET, season],
             "mawk, a simplified formula": ["mawk", "-f", HERE / "model.awk", season]}
    priced = subprocess.run(sides["variants of the program"], check=True, capture_output=True, text=True).stdout
    if priced.count(",priced,") != rows:
        sys.exit(f"of {rows} variants only {priced.count(',priced,')} were priced")
    found = duckdb(modules)
    if found is None:
        print("  DuckDB is left out: its package could not be installed")
        return sides
    command = ["node", HERE / "model.mjs", found, season, folder / "duckdb.csv"]
    subprocess.run(command, check=True)
    totals = {row: figures[7] for row, figures in answers(folder / "duckdb.csv").items()}
    if not agree("DuckDB", totals, answers(said)):
        sys.exit("mawk and DuckDB do not agree")
    return {**sides, "DuckDB, one thread, the same formula": command}


def spreadsheets(program, folder, rows):
    """The same for a workbook of forty formulas a row, recalculated by two programs."""
    season, book = folder / "small.csv", folder / "season.xlsx"
    table(season, rows)
    workbook(book, season)
    plain = folder / "small-awk.csv"
    with open(plain, "wb") as to:
        subprocess.run(["mawk", "-f", HERE / "model.awk", season], check=True, stdout=to)
    office = ["soffice", profile(folder / "profile"), "--headless", "--convert-to", "csv", "--outdir", folder / "office", book]
    sides = {"variants of the program": [program, "variants", SHEET, season],
             "Gnumeric, forty formulas a row": ["ssconvert", "--recalc", book, folder / "gnumeric.csv"],
             "LibreOffice, the same workbook": office}
    for name, where in (("Gnumeric, forty formulas a row", folder / "gnumeric.csv"),
                        ("LibreOffice, the same workbook", folder / "office/season.csv")):
        subprocess.run([str(word) for word in sides[name]], check=True, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL, env={**os.environ, "LC_ALL": "C.UTF-8"})
        if not agree(name, sheet_answers(where), answers(plain)):
            sys.exit(f"{name}: the totals are not mawk's")
    return sides
