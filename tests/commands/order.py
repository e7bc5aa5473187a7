"""Adds up what `price --csv` and `quantities --csv` say of each demo sheet and holds the order
against it; then orders copies with another reference, another currency and old metal used in
the piece. Called by order.sh with its working folder, which holds the three tables."""
import csv
import datetime
import io
import math
import os
import re
import subprocess
import sys
import warnings
from collections import defaultdict
from decimal import ROUND_HALF_UP, Decimal

import openpyxl

warnings.filterwarnings("ignore", module="openpyxl")
WORK = sys.argv[1]
SHEETS = ["demo/eternity.csv", "demo/halo.csv", "demo/three-stone.csv"]
MILLIONTH = Decimal("0.000001")
failed = False


def say(fine, name, details=()):
    global failed
    print(("ok " if fine else "not ok ") + name)
    for line in [] if fine else list(details)[:10]:
        print("    " + str(line))
    failed = failed or not fine


def table(*arguments):
    done = subprocess.run([os.environ["TALLYSTONE"], *arguments, "--books", "pricebooks", "--csv"],
                          capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{arguments}: {done.returncode}\n{done.stderr}")
    return list(csv.DictReader(io.StringIO(done.stdout)))


def order(name, *sheets):
    return table("order", *sheets, "--table", name)


def kept(name):
    with open(os.path.join(WORK, name + ".csv"), newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def dec(text):
    return Decimal(text or "0")


def total(rows, column):
    return sum((dec(row[column]) for row in rows), Decimal(0))


def currency_of(sheet):
    with open(sheet, newline="", encoding="utf-8") as file:
        return next(r[2] for r in csv.reader(file) if r[:2] == ["commission", "currency"])


def date_of(sheet, measure="date"):
    with open(sheet, newline="", encoding="utf-8") as file:
        return next(r[2] for r in csv.reader(file) if r[:2] == ["commission", measure])


def copy(sheet, name, **changes):
    """A copy of a sheet with commission measures replaced; `more` are rows that take the place
    of its options."""
    path = os.path.join(WORK, name + ".csv")
    more = changes.pop("more", None)
    with open(sheet, newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))
    for row in rows:
        if row[0] == "commission" and row[1] in changes:
            row[2] = changes[row[1]]
    if more is not None:
        rows = [r for r in rows if not r[0].startswith("option ")] + more
    with open(path, "w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)
    return path


PRICES = {s: [r for r in table("price", s) if r["option"] == "base"] for s in SHEETS}
QUANTITIES = {s: table("quantities", s) for s in SHEETS}


def check_stones():
    rows = kept("stones")
    for section, bought in (("melee", lambda r: r["depth mm"] == ""),
                            ("stones", lambda r: r["depth mm"] != "")):
        costs, counts = defaultdict(Decimal), Decimal(0)
        for sheet in SHEETS:
            for row in PRICES[sheet]:
                if row["section"] == section:
                    costs[currency_of(sheet)] += dec(row["cost"])
                    counts += dec(row["quantity"])
        mine = [r for r in rows if bought(r)]
        ordered = defaultdict(Decimal)
        for row in mine:
            if row["currency"]:
                ordered[row["currency"]] += dec(row["cost"])
        say({k: v for k, v in costs.items() if v} == ordered and len(mine) > 1,
            f"{section}: costs of each currency are those of `price`", [costs, ordered])
        say(counts == total(mine, "stones"), f"{section}: as many as `price` is charged with",
            [counts, total(mine, "stones")])
    melee = [r for r in rows if r["depth mm"] == ""]
    items = {}
    for sheet in SHEETS:
        for row in PRICES[sheet]:
            if row["section"] == "melee":
                items[row["item"]] = items.get(row["item"], 0) + dec(row["quantity"])
    say(items == {r["stone"]: dec(r["stones"]) for r in melee}, "melee: each lot and size", [items])
    facts = [r for s in SHEETS for r in QUANTITIES[s] if r["part"].split()[0] in ("halo", "row")]
    say(sum(dec(r["value"]) for r in facts if r["measure"] == "stones") == total(melee, "set"),
        "melee: set is what the pieces hold")
    weight = sum(dec(r["value"]) for r in facts if r["measure"] == "weight")
    mine = sum(dec(r["carats"]) / dec(r["stones"]) * dec(r["set"]) for r in melee)
    say(abs(weight - mine) < MILLIONTH * 10 and mine > 0, "melee: carats set are those of the pieces",
        [weight, mine])
    say(all(dec(r["set"]) + dec(r["spares"]) == dec(r["stones"]) for r in rows) and
        total(rows, "spares") > 0, "set and spares add up")
    own = [r for r in rows if r["supplied by"] == "client"]
    say(len(own) == 1 and own[0]["cost"] == own[0]["currency"] == "" and own[0] is rows[-1],
        "the client's own stone is marked and not bought", own)


def check_casting():
    rows = {r["alloy"]: r for r in kept("casting")}
    finished, poured, castings = defaultdict(Decimal), defaultdict(Decimal), defaultdict(Decimal)
    for sheet in SHEETS:
        for row in QUANTITIES[sheet]:
            if row["part"].startswith("metal ") and row["measure"] == "finished weight":
                finished[row["part"][6:]] += dec(row["value"])
            if row["part"].startswith("operation cast ") and row["measure"] == "count":
                castings[row["part"][15:]] += dec(row["value"])
    names = {r["item"]: a for a, r in rows.items()}
    for sheet in SHEETS:
        for row in PRICES[sheet]:
            if row["section"] == "metal":
                poured[names[row["item"].replace(", sprue", "")]] += dec(row["quantity"])
    say(finished == {a: dec(r["finished g"]) for a, r in rows.items()} and len(rows) == 3,
        "casting: finished grams are those of `quantities`", [finished])
    say(poured == {a: dec(r["to cast g"]) for a, r in rows.items()},
        "casting: to cast is what `price` is charged with", [poured])
    say(castings == {a: dec(r["count"]) for a, r in rows.items()}, "casting: castings", [castings])
    say(all(dec(r["with loss g"]) + dec(r["sprue g"]) == dec(r["to cast g"]) == dec(r["to buy g"])
            and 0 < dec(r["recovered g"]) < dec(r["sprue g"]) for r in rows.values()),
        "casting: loss, sprue and what is bought add up")


def capacity():
    """Minutes a week of each craft: the row that began last."""
    weeks = {}
    with open("pricebooks/crafts.csv", newline="", encoding="utf-8") as file:
        for row in sorted(csv.DictReader(file), key=lambda r: r["from"]):
            if row["from"] <= "2026-11-25":
                weeks[row["craft"]] = dec(row["minutes per week"])
    return weeks


def weeks_wrong(rows, start):
    wrong, done, minutes_a_week = [], defaultdict(Decimal), capacity()
    for row in rows:
        if row["minutes"] == "":
            if row["week"] or row["cumulated"]:
                wrong.append(row)
            continue
        done[row["craft"]] += dec(row["minutes"])
        week = math.ceil(done[row["craft"]] / minutes_a_week[row["craft"]])
        begins = start + datetime.timedelta(days=7 * (week - 1))
        late = (begins + datetime.timedelta(days=6)).isoformat() > row["deliver by"] != ""
        if (dec(row["cumulated"]), row["week"], row["week from"], row["late"]) != (
                done[row["craft"]], str(week), begins.isoformat(), "late" if late else ""):
            wrong.append(row)
    return wrong


def check_bench():
    rows = kept("bench")
    for sheet in SHEETS:
        reference = PRICES[sheet][0]["reference"]
        mine = [r for r in rows if r["reference"] == reference]
        minutes = sum(dec(r["quantity"]) for r in PRICES[sheet]
                      if r["section"] == "labour" and r["unit"] == "min")
        say(minutes == total(mine, "minutes") and minutes > 0,
            f"bench: minutes of {reference} are those of `price`", [minutes])
        labour = sorted(r["item"] for r in PRICES[sheet] if r["section"] == "labour")
        say(labour == sorted(r["operation"] for r in mine), f"bench: every operation of {reference}",
            [labour])
        counts = sorted(dec(r["value"]) for r in QUANTITIES[sheet]
                        if r["part"].startswith("operation ") and r["measure"] == "count")
        say(counts == sorted(dec(r["count"]) for r in mine if r["count"]),
            f"bench: counts of {reference} are those of `quantities`", [counts])
    start = max(datetime.date.fromisoformat(date_of(s)) for s in SHEETS)
    wrong = weeks_wrong(rows, start)
    say(not wrong, "bench: cumulated minutes and weeks follow from crafts.csv", wrong)
    due = [date_of("demo/" + r["reference"].replace("DEMO-", "").lower()
                   .replace("three", "three-stone") + ".csv", "deliver by")
           for r in rows if r["craft"] == "setter"]
    say(due == sorted(due) and len(set(due)) == 3, "bench: what is due first comes first", due)


def check_work_order():
    """Within a craft and a commission operations follow labour.csv, whose rows are in the order of work."""
    with open("pricebooks/labour.csv", newline="", encoding="utf-8") as file:
        names = list(dict.fromkeys(row["operation"] for row in csv.DictReader(file)))
    steps = defaultdict(list)
    for row in kept("bench"):
        told = row["operation"]  # with its size or alloy behind it
        named = max((n for n in names if told == n or told.startswith(n + " ")), key=len)
        steps[row["craft"], row["reference"]].append(names.index(named))
    wrong = [key for key, at in steps.items() if at != sorted(at)]
    say(not wrong and max(map(len, steps.values())) > 3, "bench: operations stand in the order of work", wrong)
    mine = [r["operation"] for r in kept("bench") if (r["craft"], r["reference"]) == ("goldsmith", "DEMO-ETERNITY")]
    say(mine[-2:] == ["hand finishing", "final check"], "bench: the final check comes last", mine)


def check_many():
    """Enough copies to fill several weeks, in two currencies."""
    more = [copy("demo/halo.csv", f"h{i}", reference=f"H{i}", date="2026-11-30") for i in range(12)]
    yen = copy("demo/halo.csv", "yen", reference="Y", currency="JPY")
    rows = order("stones", "demo/halo.csv", *more, yen)
    melee = [r for r in rows if r["stone"].endswith(" 1.40 mm")]
    one = next(r for r in kept("stones") if r["stone"].endswith(" 1.40 mm"))
    say([r["currency"] for r in melee] == ["JPY", "USD"], "one lot in two currencies: two rows", melee)
    say(dec(melee[1]["cost"]) == 13 * dec(one["cost"]) and dec(melee[1]["stones"]) == 13 * 19 and
        dec(melee[1]["carats"]) == 13 * dec(one["carats"]), "thirteen of one kind are one row", melee)
    say("." not in melee[0]["cost"] and dec(melee[0]["cost"]) > 1000, "yen have no decimals", melee)
    say(melee[1]["for"].startswith("DEMO-HALO 19, H0 19, H1 19"), "each commission is named", melee)
    say(len([r for r in rows if r["supplied by"] == "client"]) == 14, "clients' stones stay apart")
    bench = order("bench", "demo/halo.csv", *more, yen)
    wrong = weeks_wrong(bench, datetime.date(2026, 11, 30))
    say(not wrong and max(int(r["week"] or 0) for r in bench) > 1,
        "fourteen commissions fill several weeks from the latest date", wrong)
    soon = copy("demo/halo.csv", "soon", reference="S", **{"deliver by": "2026-11-27"})
    late = order("bench", soon)
    say({r["late"] for r in late if r["week"]} == {"late"}, "a week that ends too late is marked")


def check_old_metal():
    """Two grams of old metal in the piece: the melt stays, only what is bought is less."""
    rows = [["trade-in grandmother", "alloy", "750 yellow", "", ""],
            ["trade-in grandmother", "weight", "2", "g", ""],
            ["trade-in grandmother", "use", "in the piece", "", ""]]
    path = copy("demo/halo.csv", "old", reference="OLD", more=rows)
    plain, old = order("casting", "demo/halo.csv")[0], order("casting", path)[0]
    same = ("finished g", "with loss g", "sprue g", "to cast g", "recovered g", "count")
    say(all(plain[c] == old[c] for c in same) and dec(old["old metal g"]) == 2 and
        dec(old["to buy g"]) == dec(old["to cast g"]) - 2, "old metal is melted with the new", [old])
    with open("pricebooks/alloys.csv", newline="", encoding="utf-8") as file:
        alloy = next(r for r in csv.DictReader(file) if r["alloy"] == "750 yellow")

    def part(of, column):
        return (of * dec(alloy[column]) / 100).quantize(MILLIONTH, ROUND_HALF_UP)
    poured = dec(old["finished g"]) + part(dec(old["finished g"]), "finishing loss")
    sprue = part(poured, "sprue")
    say((poured, sprue, part(sprue, "recovery")) == tuple(
        dec(old[c]) for c in ("with loss g", "sprue g", "recovered g")),
        "loss, sprue and recovery are the alloy's", [poured, sprue])
    chain = [["metal chain", "label", "=chain", "", ""], ["metal chain", "weight", "3.1", "g", ""],
             ["metal chain", "count", "2", "", ""], ["metal chain", "price", "150", "each", ""]]
    rows = order("casting", copy("demo/halo.csv", "chain", reference="C", more=chain))
    made = [(r["made"], r["count"], r["item"]) for r in rows]
    say(("ready-made", "2", "'=chain") in made and len(rows) == 2, "ready-made parts are ordered too",
        made)


def check_workbook():
    path = os.path.join(WORK, "book.xlsx")
    subprocess.run([os.environ["TALLYSTONE"], "order", *SHEETS, "--books", "pricebooks", "--out",
                    path], check=True, capture_output=True)
    values = openpyxl.load_workbook(path, data_only=True)
    formulas = openpyxl.load_workbook(path)
    say(values.sheetnames == ["Stones", "Casting", "Bench"], "the workbook has three sheets")
    torn, broken = [], False
    for name in values.sheetnames:
        rows = kept(name.lower())
        sheet = values[name]
        heads = [c.value for c in sheet[5] if c.value]
        wrong = [h for h in heads if h.lower() not in rows[0]]
        for number, row in enumerate(rows):
            for column, head in enumerate(heads):
                cell, text = sheet.cell(6 + number, column + 1).value, row[head.lower()]
                if isinstance(cell, datetime.datetime):
                    cell = cell.date().isoformat()
                if head == "For" and isinstance(cell, str):  # lines end between two commissions alone
                    torn += [cell] if re.search(r"[^,]\n", cell) or max(map(len, cell.split("\n"))) > 34 else []
                    broken = broken or "\n" in cell
                    cell = cell.replace("\n", " ")
                fine = (cell in (None, "") and text == "") or (
                    abs(dec(str(cell)) - dec(text)) < MILLIONTH / 10
                    if isinstance(cell, (int, float)) else cell == text)
                if not fine:
                    wrong.append(f"{head} {6 + number}: {cell!r} {text!r}")
        say(not wrong and len(heads) > 9, f"sheet {name} holds what the table holds", wrong)
    say(broken and not torn, "whose it is stays whole in its line", torn)
    sheet, plain = values["Stones"], kept("stones")
    heads = [c.value for c in sheet[5] if c.value]
    cost, currency = heads.index("Cost") + 1, heads.index("Currency") + 1
    sums = {sheet.cell(r, currency).value: sheet.cell(r, cost).value
            for r in range(6 + len(plain), sheet.max_row + 1)}
    wanted = defaultdict(Decimal)
    for row in plain:
        if row["currency"]:
            wanted[row["currency"]] += dec(row["cost"])
    say(len(wanted) == 2 and {k: Decimal(str(v)) for k, v in sums.items()} == wanted and
        formulas["Stones"].cell(6 + len(plain), cost).value.startswith("=SUMIF("),
        "the sums by currency stand below", [sums, wanted])


check_stones()
check_casting()
check_bench()
check_work_order()
check_many()
check_old_metal()
check_workbook()
sys.exit(1 if failed else 0)
