#!/usr/bin/python3
"""Every row of `variants` beside `price` of the same sheet written by hand.

Tables of overrides are drawn with a fixed seed, over every kind of column: lengths, angles, weights,
volumes, minutes, counts, amounts, sizes, words, names, lines, text, dates, currencies, stations, labels,
parts left out, measures taken out, parts that only the columns have. For each row the sheet is written
anew with those values, priced by itself, and must give the same figures to the cent, or the same
fault. The tables are read as commas, as semicolons with a decimal comma, and from standard input; put
together from shards and by several jobs they must be the same bytes.
Rows that differ in amounts alone are drawn too, many of them, under books of other currencies with
tiers, minimums, surcharges, taxes by section and halves to even: one price after the other must hold,
however the program comes to it.
Run from the top folder with TALLYSTONE naming the program.
"""
import csv
import io
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal

import pricing_books_made as made

PROGRAM = os.environ.get("TALLYSTONE", "build/release/tallystone")
SEED = 20261125
HEADER = "variant,status,metal g,stones,stones ct,minutes,cost,net,tax,total,margin,message".split(",")
MONEY = ("cost", "net", "tax", "total")
failures = 0

# What a sheet is given beside the demo's rows, so that every kind of measure has one to replace.
MORE = {
    "halo": [
        ("commission", "discount", "3", "%"), ("commission", "valid until", "2026-12-24", ""),
        ("shank", "width 60", "2.3", "mm"), ("shank", "open", "0", "deg"), ("shank", "made", "cast", ""),
        ("metal charm", "volume", "20.5", "mm3"), ("metal charm", "count", "1", ""),
        ("metal charm", "alloy", "585 yellow", ""), ("metal clasp", "weight", "0.5", "g"),
        ("metal clasp", "price", "38", "USD each"), ("work extra", "operation", "hand finishing", ""),
        ("work extra", "minutes", "25", "min"), ("service gift", "service", "laboratory report", ""),
        ("service gift", "count", "1", "")],
    "three-stone": [
        ("commission", "discount", "50", "EUR"), ("work extra", "operation", "hand finishing", ""),
        ("work extra", "minutes", "0.5", "h")],
    "eternity": [],
}

# Columns of each sheet: (part, measure, the values as (value, unit, cell)). A cell that names no unit
# has the sheet's; None for the measure: the part is left out.
def mm(*values):
    return [(v, "mm", v if i % 2 else f"{v} mm") for i, v in enumerate(values)]


def words(*values):
    return [(v, "", v) for v in values]


NONE = (None, None, "none")
COLUMNS = {
    "halo": [
        ("ring", "size", [("7", "US", "7"), ("5 1/2", "US", "5 1/2"), ("L 1/2", "UK", "L 1/2 UK"),
                          ("54", "EU", "54 EU"), ("16.5", "mm diameter", "16.5 mm diameter"),
                          ("53.4", "mm circumference", "53.4 mm circumference"), ("99", "US", "99")]),
        ("ring", "alloy", words("platinum 950", "585 yellow", "750 rose", " 750  Yellow ", "999 tin")),
        ("ring", "wear", words("daily", "occasional", "sometimes") + [NONE]),
        ("ring", "finish", words("matt", "=SUM(A1)", "hammered, then polished")),
        ("ring", "height limit", mm("6.4", "7.5") + [("0.3", "in", "0.3 in"), NONE]),
        ("shank", "profile top", words("court", "flat", "knife edge", "half round")),
        ("shank", "width top", mm("2.0", "2.35", "2.55") + [("0.09", "in", "0.09 in"), ("0.1", "mm", "0.1"),
                                                               ("two", "mm", "two")]),
        ("shank", "thickness base", mm("1.65", "1.75", "1.9")),
        ("shank", "width 60", mm("2.25", "2.6") + [NONE]),
        ("shank", "thickness 120", [(v, "mm", f"{v} mm") for v in ("1.7", "1.8")]),
        ("shank", "open", [("10", "deg", "10 deg"), ("0", "deg", "0")]),
        ("shank", "made", words("apart", "cast")),
        ("stone centre", "label", words("your stone", "the old one")),
        ("stone centre", "length", mm("6.4", "6.6")),
        ("stone centre", "weight", [("1.05", "ct", "1.05"), ("0.21", "g", "0.21 g"), NONE]),
        ("stone centre", "declared value", [("5000", "USD", "5000"), ("4800", "EUR", "4800 EUR"),
                                             ("1", "XXY", "1 XXY")]),
        ("stone centre", "supplied by", words("client")),
        ("stone centre", "treatment", words("heated", "none", "none disclosed")),
        ("head centre", "claws", words("4", "6", "6.5")),
        ("head centre", "claw style", words("double", "pointed", "prong")),
        ("head centre", "first claw", [("30", "deg", "30"), ("90", "deg", "90 deg")]),
        ("halo top", "gap", mm("0.4", "0.55")),
        ("halo top", "spacing", mm("0.12", "0.2")),
        ("halo top", "lot", words("laboratory-grown melee E-VS", "natural melee H-SI", "no such lot")),
        ("halo wall", None, [NONE]),
        ("halo wall", "stone diameter", mm("1.1", "1.2")),
        ("metal charm", "volume", [("31.25", "mm3", "31.25"), ("12", "mm3", "12 mm3")]),
        ("metal charm", "count", words("2", "3")),
        ("metal charm", "alloy", words("silver 925", "750 yellow")),
        ("metal clasp", "weight", [("0.6", "g", "0.6"), ("0.3", "dwt", "0.3 dwt"), ("3", "ct", "3 ct")]),
        ("metal clasp", "price", [("41.50", "USD each", "41.50"), ("35", "EUR each", "35 EUR each")]),
        ("metal tag", "volume", [("8", "mm3", "8 mm3")]),
        ("work extra", "minutes", [("35", "min", "35"), ("0.75", "h", "0.75 h")]),
        ("work inscription", "count", words("2", "0")),
        ("service gift", None, [NONE]),
        ("service gift", "service", words("assay and hallmark", "laboratory report")),
        ("trade-in old", "weight", [("5.1", "g", "5.1"), ("2", "dwt", "2 dwt"), ("0.1", "oz t", "0.1 oz t")]),
        ("trade-in old", "use", words("in the piece", "credit")),
        ("commission", "discount", [("4.5", "%", "4.5"), ("100", "USD", "100 USD"), ("80", "EUR", "80 EUR"), NONE]),
        ("commission", "date", words("2026-11-20", "2026-02-30")),
        ("commission", "valid until", words("2026-12-31")),
        ("commission", "region", words("export", "state and county")),
        ("commission", "pays by", words("card", "bank")),
        ("commission", "title", words("Another ring", "-1")),
        ("commission", "currency", words("EUR", "GBP")),
    ],
    "three-stone": [
        ("ring", "size", [("52", "EU", "52"), ("6", "US", "6 US")]),
        ("stone centre", "lot", words("laboratory-grown oval E-VS1", "natural oval F-VS2")),
        ("stone centre", "weight", [("0.95", "ct", "0.95"), ("1.04", "ct", "1.04")]),
        ("stone side", "count", words("2", "1", "3")),
        ("stone side", "gap", mm("0.15", "0.3")),
        ("stone side", "drop", mm("0.6", "0.8")),
        ("head side", None, [NONE]),
        ("head centre", "alloy", words("750 yellow", "platinum 950") + [NONE]),
        ("shank", "open", [("42", "deg", "42"), ("36.5", "deg", "36.5")]),
        ("commission", "discount", [("75.5", "EUR", "75.5"), ("2", "%", "2 %")]),
        ("work extra", "minutes", [("0.4", "h", "0.4"), ("12", "min", "12 minutes")]),
    ],
    "eternity": [
        ("ring", "size", [("6", "US", "6"), ("7.25", "US", "7.25"), ("N", "UK", "N UK")]),
        ("ring", "alloy", words("platinum 950", "750 white palladium")),
        ("row band", "stone diameter", mm("1.8", "1.9", "2.1")),
        ("row band", "spacing", mm("0.1", "0.15")),
        ("row band", "lot", words("natural melee G-VS", "natural melee D-F VVS")),
        ("row band", "to", [("120", "deg", "120"), ("90.5", "deg", "90.5 deg"), NONE]),
        ("row band", "setting", words("bead", "channel", "shared claw")),
        ("shank", "width top", mm("2.9", "3.1")),
        ("shank", "width base", mm("2.9", "3.1")),
        ("work finishing", "minutes", [("55", "min", "55"), ("1", "h", "1 h")]),
        ("commission", "discount", [("6", "%", "6"), NONE]),
    ],
}
ROWS = {"halo": 340, "three-stone": 90, "eternity": 90}


def verdict(name, troubles):
    global failures
    failures += bool(troubles)
    print(f"not ok {name}" if troubles else f"ok {name}")
    for trouble in troubles[:12]:
        print(f"  {trouble}")


def run(*arguments, given=None):
    return subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, check=False, input=given)


def base_sheet(kind):
    with open(f"demo/{kind}.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    rows = [row for row in rows if row and row[0] and not row[0].startswith(("#", "option"))]
    rows += [[*row, ""] for row in MORE[kind]]
    replaced = {(row[0], row[1]): row for row in rows}
    return list(replaced.values())


def write_sheet(path, rows):
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["part", "measure", "value", "unit", "note"])
        writer.writerows(rows)


def by_hand(rows, changes):
    """The sheet with a row's changes, as its owner would type them."""
    rows = [list(row) for row in rows]
    for (part, measure), (value, unit, _) in changes.items():
        place = [i for i, row in enumerate(rows) if row[0] == part and measure in (None, row[1])]
        if value is None:
            rows = [row for i, row in enumerate(rows) if i not in place]
        elif place:
            rows[place[0]][2:4] = [value, unit]
        else:
            rows.append([part, measure, value, unit, ""])
    return rows


def draw(kind, pick):
    """(name, changes) of each row: one column each at first, then several at once."""
    columns = COLUMNS[kind]
    for number, (part, measure, values) in enumerate(columns):
        for value in values:
            yield {(part, measure): value}
    while True:
        chosen = pick.sample(columns, pick.randint(0, 5))
        changes = {(part, measure): pick.choice(values) for part, measure, values in chosen}
        yield changes


def clashes(changes):
    """Rows that no sheet could say: a part left out and measured."""
    gone = {part for (part, measure), value in changes.items() if measure is None}
    return any(part in gone and measure is not None for part, measure in changes)


def table(kind, drawn, separator, point):
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\r\n" if separator == ";" else "\n")
    columns = [(part, measure) for part, measure, _ in COLUMNS[kind]]
    writer.writerow(["variant"] + [part if measure is None else f"{part}/{measure}" for part, measure in columns])
    for name, changes in drawn:
        cells = [changes[at][2] if at in changes else "" for at in columns]
        if point == ",":
            cells = [re.sub(r"^(\d+)\.(\d+)(?=$| )", r"\1,\2", cell) for cell in cells]
        cells = ["'" + cell if cell.startswith(("=", "-")) else cell for cell in cells]
        writer.writerow([name, *cells])
    return out.getvalue()


def priced(path, *books):
    """What `price` and `quantities` say of a sheet, in the columns of `variants`; or its faults."""
    done = run("price", path, "--csv", *books)
    if done.returncode != 0:
        return None, re.findall(r"^\S+:(?:\d+:\d+:)? (.*) \[[a-z-]+\]$", done.stderr, re.M)
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    total = {row["item"]: row for row in rows if row["section"] == "total"}
    facts = list(csv.DictReader(io.StringIO(run("quantities", path, "--csv", *books).stdout)))
    got = {"cost": total["cost"]["cost"], "margin": total["margin"]["price"]}
    got.update({item: total[item]["price"] for item in ("net", "tax", "total")})
    got["minutes"] = sum(Decimal(row["quantity"]) for row in rows if row["section"] == "labour" and row["unit"] == "min")
    got["metal g"] = sum(Decimal(row["value"]) for row in facts if row["measure"] == "finished weight")
    # the operation that counts every stone of the studio's and the client's
    counts = {row["part"]: Decimal(row["value"]) for row in facts if row["measure"] == "stones"}
    carats = {row["part"]: Decimal(row["value"]) for row in facts if row["measure"] == "weight" and row["unit"] == "ct"}
    got["stones"], got["stones ct"] = Decimal(0), Decimal(0)
    with open(path, encoding="utf-8", newline="") as file:
        sheet = {(row["part"], row["measure"]): row["value"] for row in csv.DictReader(file)}
    for part, weight in carats.items():
        many = counts.get(part)
        if many is None:
            many = Decimal(sheet.get((part, "count"), "1"))
            weight *= many
        got["stones"] += many
        got["stones ct"] += weight
    return got, []


def compare(row, got, faults):
    if got is None:
        if row["status"] != "fault":
            return f"{row['variant']}: priced, but by hand it has a fault: {faults[:1]}"
        if any(row[column] for column in HEADER[2:-1]):
            return f"{row['variant']}: a fault, with figures"
        if row["message"] not in faults:
            return f"{row['variant']}: {row['message']!r}, by hand {faults}"
        return None
    if row["status"] != "priced":
        return f"{row['variant']}: {row['status']} {row['message']!r}, by hand it is priced"
    for column in HEADER[2:-1]:
        same = row[column] == got[column] if column in (*MONEY, "margin") else Decimal(row[column]) == got[column]
        if not same:
            return f"{row['variant']}: {column} {row[column]}, by hand {got[column]}"
    return None


# Amounts that alone differ from row to row, and what seldom differs with them: (part, measure,
# least, most, decimals, unit of the sheet written by hand).
AMOUNTS = [
    ("shank", "width top", 1.9, 3.2, 2, "mm"), ("shank", "thickness base", 1.5, 2.2, 2, "mm"),
    ("halo top", "spacing", 0.1, 0.25, 2, "mm"), ("stone centre", "declared value", 1, 9999, 2, "USD"),
    ("metal charm", "volume", 1, 90, 3, "mm3"), ("metal clasp", "price", 0, 900, 2, "USD each"),
    ("work extra", "minutes", 1, 900, 1, "min"), ("trade-in old", "weight", 0.1, 30, 3, "g"),
    ("commission", "discount", 0, 60, 3, "%")]
SELDOM = [
    ("ring", "size", [("5", "US", "5"), ("6 1/2", "US", "6 1/2"), ("8", "US", "8")]),
    ("ring", "alloy", words("750 yellow", "585 rose")),
    ("commission", "pays by", words("card", "bank")),
    ("commission", "discount", [("100", "EUR", "100 EUR"), NONE]),
    ("halo top", "lot", words("natural melee H-SI"))]


def draw_amounts(pick, region, currency):
    changes = {("commission", "region"): (region, "", region), ("commission", "currency"): (currency, "", currency)}
    for part, measure, least, most, places, unit in pick.sample(AMOUNTS, pick.randint(2, 6)):
        value = f"{pick.uniform(least, most):.{pick.randint(0 if least >= 1 else 1, places)}f}"
        changes[(part, measure)] = (value, unit, f"{value} {unit}")
    for part, measure, values in pick.sample(SELDOM, pick.choice((0, 0, 0, 1, 2))):
        changes[(part, measure)] = pick.choice(values)
    return changes


def amounts(name, change, regions, currencies, folder):
    """Rows of one mould over and over, under books of their own."""
    books = "--books", made.copy_books("pricebooks", folder / f"books-{name}", change)
    pick = random.Random(f"{SEED} {name}")
    rows = base_sheet("halo")
    base = folder / f"{name}.csv"
    write_sheet(base, rows)
    drawn = [draw_amounts(pick, pick.choice(regions[:2]), pick.choice(currencies[:2])) for _ in range(70)]
    header = sorted({at for changes in drawn for at in changes})
    path = folder / f"{name}-variants.csv"
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["variant", *("/".join(at) for at in header)])
        # three times over, so that each row is also priced after others of its mould
        for number in [*range(len(drawn))] * 3:
            writer.writerow([f"{name} {number}", *(drawn[number][at][2] if at in drawn[number] else "" for at in header)])
    answer = list(csv.DictReader(io.StringIO(run("variants", base, path, *books).stdout)))

    def by_itself(number):
        sheet = folder / f"{name}-{number}.csv"
        write_sheet(sheet, by_hand(rows, drawn[number]))
        return priced(sheet, *books)

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        prices = list(pool.map(by_itself, range(len(drawn))))
    troubles = [] if len(answer) == 3 * len(drawn) else [f"{len(answer)} answers"]
    for number, row in enumerate(answer):
        trouble = compare(row, *prices[number % len(drawn)])
        troubles += [trouble] if trouble else []
    if 2 * sum(row["status"] == "priced" for row in answer) < len(answer):
        troubles.append("few rows were priced")
    verdict(f"amounts alone, {name} books: {len(answer)} variants are what `price` says by hand", troubles)


def one_sheet(kind, folder):
    pick = random.Random(f"{SEED} {kind}")
    rows = base_sheet(kind)
    base = folder / f"{kind}.csv"
    write_sheet(base, rows)
    drawn, source = [], draw(kind, pick)
    while len(drawn) < ROWS[kind]:
        changes = next(source)
        if not clashes(changes):
            drawn.append((f"{kind} {len(drawn)}", changes))
    path = folder / f"{kind}-variants.csv"
    path.write_text(table(kind, drawn, ",", "."), encoding="utf-8")
    done = run("variants", base, path)
    answer = list(csv.DictReader(io.StringIO(done.stdout)))
    troubles = [] if done.stdout.splitlines()[:1] == [",".join(HEADER)] else ["the header is another"]
    if [row["variant"] for row in answer] != [name for name, _ in drawn]:
        troubles.append("the order or the number of rows is another")

    def by_itself(number):
        sheet = folder / f"{kind}-{number}.csv"
        write_sheet(sheet, by_hand(rows, drawn[number][1]))
        return priced(sheet)

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        prices = list(pool.map(by_itself, range(len(drawn))))
    for row, (got, faults) in zip(answer, prices):
        trouble = compare(row, got, faults)
        troubles += [trouble] if trouble else []
    faulty = sum(row["status"] == "fault" for row in answer)
    if done.returncode != (65 if faulty else 0):
        troubles.append(f"exit {done.returncode} with {faulty} faults")
    if not 0 < len(answer) - faulty:
        troubles.append("no row was priced")
    verdict(f"{kind}: {len(answer)} variants, {faulty} at fault, are what `price` says by hand", troubles)
    return base, path, drawn, done.stdout


def forms(kind, base, path, drawn, whole):
    """Other forms of the same table give the same bytes."""
    comma = path.with_name(f"{kind}-comma.csv")
    comma.write_text("\ufeff" + table(kind, drawn, ";", ","), encoding="utf-8")
    verdict(f"{kind}: semicolons, decimal commas, CRLF and a byte-order mark",
            [] if same_figures(run("variants", base, comma).stdout, whole) else ["the answers differ"])
    verdict(f"{kind}: from standard input",
            [] if run("variants", base, given=path.read_text(encoding="utf-8")).stdout == whole else ["the answers differ"])


def cuts(kind, base, path, whole):
    """Parts of a long table in order, and several jobs, give the same bytes."""
    for count in (2, 7, 64):
        parts = [run("variants", base, path, "--shard", f"{i}/{count}").stdout for i in range(1, count + 1)]
        verdict(f"{kind}: {count} shards in order are the whole", [] if "".join(parts) == whole else ["they are not"])
    for jobs in (2, 5):
        verdict(f"{kind}: {jobs} jobs give the same bytes",
                [] if run("variants", base, path, "--jobs", jobs).stdout == whole else ["they do not"])


def same_figures(one, other):
    """All but the messages, which quote a number with the file's own mark."""
    left, right = (list(csv.DictReader(io.StringIO(text))) for text in (one, other))
    return len(left) == len(right) and all(
        a[column] == b[column] for a, b in zip(left, right) for column in HEADER[:-1])


def best(base, path, whole):
    rows = [row for row in csv.DictReader(io.StringIO(whole)) if row["status"] == "priced"]
    for by, column, sign in (("margin", "margin", -1), ("total", "total", 1), ("metal", "metal g", 1)):
        order = sorted(range(len(rows)), key=lambda i: (sign * Decimal(rows[i][column]), i))[:9]
        expected = [rows[i]["variant"] for i in order]
        for jobs in (1, 3):
            done = run("variants", base, path, "--best", 9, "--by", by, "--csv", "--jobs", jobs)
            names = [row["variant"] for row in csv.DictReader(io.StringIO(done.stdout))]
            verdict(f"the nine best by {by}, {jobs} jobs", [] if names == expected else [f"{names}", f"{expected}"])


def resident(base, rows, folder):
    """The most memory that pricing so many rows took, KiB, of a process that a small one started."""
    path = folder / f"rows-{rows}.csv"
    with open(path, "w", encoding="utf-8") as file:
        file.write("variant,ring/size,shank/width top\n")
        file.writelines(f"v{i},{5 + i % 9 / 2},{2 + i % 80 / 100:.2f}\n" for i in range(rows))
    code = ("import os,resource,sys; os.dup2(os.open(os.devnull,os.O_WRONLY),1); "
            "os.spawnv(os.P_WAIT,sys.argv[1],sys.argv[1:]); "
            "sys.stderr.write(str(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss))")
    done = subprocess.run([sys.executable, "-c", code, PROGRAM, "variants", str(base), str(path)],
                          capture_output=True, text=True, check=True)
    return int(done.stderr)


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for kind in COLUMNS:
            base, path, drawn, whole = one_sheet(kind, folder)
            forms(kind, base, path, drawn, whole)
            many = folder / f"{kind}-many.csv" # many blocks, so that parts and jobs have some each
            many.write_text(table(kind, drawn * (1 + 8000 // len(drawn)), ",", "."), encoding="utf-8")
            whole = run("variants", base, many).stdout
            cuts(kind, base, many, whole)
            if kind == "halo":
                best(base, many, whole)
        for one in made.SETS:
            amounts(*one, folder)
        few, many = (resident(folder / "eternity.csv", rows, folder) for rows in (1000, 100000))
        verdict(f"memory is flat: {few} KiB at 1,000 rows, {many} KiB at 100,000",
                [] if abs(many - few) <= 1024 else ["it is not"])
    sys.exit(1 if failures else 0)


main()
