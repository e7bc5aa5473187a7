#!/usr/bin/python3
"""Every total of a long table of variants beside a decimal reference.

The independent model (pricing_model.py) prices one ring of each alloy and number of stones; what a
further row changes, its metal and all that is counted from it (sprue, contingency, carriage,
rounding, tax, margin), is worked out again from the grams that the program printed, in whole numbers
of minor units. Some rows drawn at random are priced by the model in full, so that the shorter way is
itself held to it. ROWS (20000) and SEED draw more and others
Run from the top folder with TALLYSTONE naming the program.
"""
import datetime
import os
import pathlib
import random
import subprocess
import sys
import tempfile
from fractions import Fraction

sys.dont_write_bytecode = True
from pricing_books import Books, Sheet, number  # noqa: E402
from pricing_model import Pricing  # noqa: E402
from pricing_needs import Facts  # noqa: E402

PROGRAM = os.environ.get("TALLYSTONE", "build/release/tallystone")
ROWS = int(os.environ.get("ROWS", "20000"))
SEED = int(os.environ.get("SEED", "20261125"))
WHOLE = 40  # rows that the model prices in full
SHEET = pathlib.Path("tests/bench/catalogue.csv")
BOOKS = pathlib.Path("pricebooks")
ALLOYS = ("750 yellow", "platinum 950", "585 rose", "950 palladium")
E6, E8, E12 = 10**6, 10**8, 10**12
failures = 0


def verdict(name, troubles):
    global failures
    failures += bool(troubles)
    print(f"{'not ok' if troubles else 'ok'} {name}")
    for trouble in troubles[:10]:
        print(f"  {trouble}")


def run(*arguments):
    return subprocess.run([PROGRAM, *map(str, arguments)], check=True, capture_output=True, text=True).stdout


def off(value, unit):
    """value / unit to a whole number, half away from zero; both whole."""
    return (2 * value + unit) // (2 * unit) if value >= 0 else -((unit - 2 * value) // (2 * unit))


def cents(text):
    return int(text.replace(".", "")) if "." in text else 100 * int(text)


def millionths(text):
    whole, _, part = text.partition(".")
    return int(whole) * E6 + int(part.ljust(6, "0") or 0)


def alloys_of(books):
    return [alloy for alloy in ALLOYS if books.find("alloys", alloy=alloy)]


def draw_rows(path, alloys):
    """The table, and its overrides by variant."""
    draw = random.Random(SEED)
    rows = {}
    with open(path, "w", encoding="utf-8") as file:
        file.write("variant,ring/size,ring/alloy,shank/width top,shank/thickness top,halo top/spacing\n")
        for i in range(ROWS):
            row = (f"{4 + draw.randrange(29) / 4:g}", draw.choice(alloys), f"{draw.randrange(1800, 3200) / 1000:.3f}",
                   f"{draw.randrange(150, 220) / 100:.2f}", f"{draw.randrange(80, 150) / 1000:.3f}")
            rows[f"v{i}"] = row
            file.write(f"v{i},{','.join(row)}\n")
    return rows


def written(folder, name, row):
    """The sheet with a row's values put in by hand."""
    size, alloy, width, thickness, spacing = row
    lines = []
    values = {"ring,size": size, "ring,alloy": alloy, "shank,width top": width, "shank,thickness top": thickness,
              "halo top,spacing": spacing}
    for line in SHEET.read_text(encoding="utf-8").splitlines():
        part, measure, *rest = line.split(",", 4)
        if f"{part},{measure}" in values:
            rest[0] = values[f"{part},{measure}"]
        lines.append(",".join((part, measure, *rest)))
    path = folder / f"{name}.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def model_of(folder, name, row):
    sheet = written(folder, name, row)
    parts = Sheet(sheet).parts("base")
    day = datetime.date.fromisoformat(parts[("commission", "")]["date"].text)
    return Pricing(Books(BOOKS, day), parts, Facts(run("quantities", sheet, "--csv")))


class Kind:
    """One alloy and number of stones: what does not change with the metal, in minor units."""

    def __init__(self, model):
        books = model.books
        name = model.parts[("ring", "")].word("alloy")
        alloy = books.one("alloys", alloy=name)
        fine = model.fine_value(alloy)
        rate = fine + model.turned(number(alloy["premium"], 0), "")
        self.loss, self.sprue, recovery = (number(alloy[word], 0) for word in ("finishing loss", "sprue", "recovery"))
        self.rate, self.lost = int(rate * E6), int(books.round6(rate - fine * recovery / 100) * E6)
        bands = model.bands(model.lines[0])
        assert len(bands) == 1 and bands[0][1].word("rule") == "markup", "metal of this table has one markup"
        self.markup = number(bands[0][1]["value"])
        rest = [line for line in model.lines[2:] if line.section not in ("contingency", "services")]
        self.cost = int(100 * sum(line.cost for line in rest))
        self.price = int(100 * sum(line.price for line in rest))
        self.contingency = number(books.policy("contingency", "cost")[0]["value"])
        services = [line for line in model.lines if line.section == "services"]
        carriage = [line for line in services if line.key == "insured carriage"][0]
        self.carriage = carriage.unit_cost
        self.carriage_least = int(100 * number(books.find("services", service="insured carriage")[0]["minimum"]))
        fixed = [line for line in services if line is not carriage]
        self.service_cost = int(100 * sum(line.cost for line in fixed))
        self.service_price = int(100 * sum(line.price for line in fixed))
        self.declared = int(100 * model.declared([part for part in model.kind("stone")]))
        self.step = int(100 * number(books.policy("round up", "net")[0]["value"]))
        self.least = int(100 * number(books.policy("minimum", "net")[0]["value"]))
        self.tax = [number(row["rate"]) for row in books.find("taxes", region="state", category="all")]

    @staticmethod
    def percent(value, share):
        """share % of a whole number, to a whole number."""
        return off(value * share.numerator, 100 * share.denominator)

    def totals(self, grams):
        """(cost, net, tax, total, margin in hundredths of a percent) from millionths of a gram."""
        quantity = self.percent(grams, 100 + self.loss)
        sprue = self.percent(quantity, self.sprue)
        metal = [off(quantity * self.rate, E12 // 100), off(sprue * self.lost, E12 // 100)]
        cost = self.cost + sum(metal)
        extra = self.percent(cost, self.contingency)
        price = self.price + sum(self.percent(one, 100 + self.markup) for one in metal) + extra
        carriage = max(self.percent(price + self.declared, self.carriage), self.carriage_least)
        cost += extra + carriage + self.service_cost
        net = max(price + carriage + self.service_price, self.least)
        net = -(-net // self.step) * self.step
        tax = sum(self.percent(net, rate) for rate in self.tax)
        return cost, net, tax, net + tax, off((net - cost) * 10000, net)


def key_of(cells, rows):
    return rows[cells[0]][1], cells[3]


def compare(lines, rows, folder):
    kinds, troubles, keys = {}, [], {}
    for line in lines:
        cells = line.rstrip("\n").split(",")
        if cells[1] != "priced":
            troubles.append(line.rstrip("\n"))
            continue
        key = key_of(cells, rows)
        if key not in kinds:
            kinds[key] = Kind(model_of(folder, "kind", rows[cells[0]]))
        keys[key] = keys.get(key, 0) + 1
        margin = off(millionths(cells[10]), 10000)
        said = (*map(cents, cells[6:10]), margin)
        mine = kinds[key].totals(millionths(cells[2]))
        if said != mine and len(troubles) < 20:
            troubles.append(f"{cells[0]}: program {said}, reference {mine}")
    return troubles, keys


def compare_whole(lines, rows, folder):
    troubles = []
    for line in random.Random(SEED + 1).sample(lines, min(WHOLE, len(lines))):
        cells = line.rstrip("\n").split(",")
        model = model_of(folder, "whole", rows[cells[0]])
        for cell, item in zip(cells[6:11], ("cost", "net", "tax", "total", "margin")):
            if Fraction(cell) != model.totals[item]:
                troubles.append(f"{cells[0]} {item}: program {cell}, model {float(model.totals[item])}")
    return troubles


def main():
    with tempfile.TemporaryDirectory() as where:
        folder = pathlib.Path(where)
        books = Books(BOOKS, datetime.date(2026, 11, 25))
        rows = draw_rows(folder / "season.csv", alloys_of(books))
        with open(folder / "priced.csv", "wb") as to:
            subprocess.run([PROGRAM, "variants", SHEET, folder / "season.csv"], check=True, stdout=to)
        with open(folder / "priced.csv", encoding="utf-8") as file:
            lines = file.readlines()[1:]
        verdict(f"the table has {ROWS} answers", [] if len(lines) == ROWS else [f"{len(lines)} lines"])
        troubles, keys = compare(lines, rows, folder)
        verdict(f"{ROWS} rows of {len(keys)} kinds agree with a decimal reference in cost, net, tax, total and margin", troubles)
        verdict("kinds have two alloys and two numbers of stones at least",
                [] if len({a for a, _ in keys}) > 1 and len({n for _, n in keys}) > 1 else [str(keys)])
        verdict(f"{min(WHOLE, ROWS)} rows agree with the whole model", compare_whole(lines, rows, folder))
        kind = Kind(model_of(folder, "kind", rows["v0"]))
        one = kind.totals(5 * E6)
        verdict("a gram more is seen", [] if kind.totals(6 * E6) != one else ["the reference does not depend on the metal"])
    sys.exit(failures > 0)


if __name__ == "__main__":
    main()
