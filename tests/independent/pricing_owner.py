"""What is read off a price: earnings an hour, the margin of each section, the cash, and what the
client is shown of overhead and contingency.

Part of the independent model (see pricing_model.py): worked out from the model's lines, held
against the workbooks as openpyxl reads them.
"""
import pathlib
import re
import warnings
from fractions import Fraction

import openpyxl
from pricing_books import exponent, plain, rounded, shares

warnings.filterwarnings("ignore", module="openpyxl")
STAGE = re.compile(r"before (.+?) (-?[0-9.]+) is bought and (-?[0-9.]+) paid")
LAID_OUT = re.compile(r"lays out up to ([0-9.]+) of its own")


def earnings(pricing):
    """(net - surcharge - cost + cost of own labour) / hours of own crafts."""
    if pricing.own_minutes == 0:
        return None
    totals = pricing.totals
    own = sum((line.cost for line in pricing.lines if line.own), Fraction(0))
    left = totals["net"] - totals["surcharge"] - totals["cost"] + own
    return pricing.money(left / (pricing.own_minutes / 60))


def margins(pricing):
    """(price - cost) / price by section, in percent to two decimals, half away from zero."""
    found = {}
    for section in dict.fromkeys(line.section for line in pricing.lines):
        lines = [line for line in pricing.lines if line.section == section]
        price = sum((line.price for line in lines), Fraction(0))
        cost = sum((line.cost for line in lines), Fraction(0))
        found[section] = rounded((price - cost) / price * 100, 2) if price > 0 else None
    return found


def cash(pricing):
    """By stage what is bought and what is paid before it.

    Stones are bought once the first stage is paid, other bills once `casting` is, where there is
    such a stage; all of it before a single one.
    """
    names = [name for name, _ in pricing.stages]
    first = 0 if len(names) > 1 else -1
    late = names.index("casting") if "casting" in names else first
    bills = [(first if line.section in ("melee", "stones") else late, line.cost) for line in pricing.lines
             if line.section not in ("overhead", "contingency") and not line.own]
    found, paid = [], Fraction(0)
    for index, (name, amount) in enumerate(pricing.stages):
        bought = sum((cost for after, cost in bills if after < index), Fraction(0))
        if index or bought:
            found.append((name, bought, paid))
        paid += amount
    return found


CLIENT = {"metal": "Metal", "melee": "Small stones", "stones": "Feature stones", "labour": "Making",
          "services": "Services"}


def shown_to_client(pricing):
    """Section prices with overhead and contingency shared among the others by price."""
    prices = {section: sum((line.price for line in pricing.lines if line.section == section), Fraction(0))
              for section in (*CLIENT, "overhead", "contingency")}
    hidden = prices.pop("overhead") + prices.pop("contingency")
    parts = shares(hidden, list(prices.values()), pricing.places)
    return {CLIENT[section]: price + part for (section, price), part in zip(prices.items(), parts)}


def compare_client(folder, models):
    """The client's price by section, an option in each column of the first table."""
    path = next(pathlib.Path(folder).glob("*quote.xlsx"))
    rows = openpyxl.load_workbook(path, data_only=True)["Quote"].iter_rows(values_only=True)
    heading = next(row for row in rows if str(row[0]).startswith("The price, in "))
    columns = [at for at, cell in enumerate(heading) if at and cell is not None]
    seen = {}
    for row in rows:
        if row[0] not in CLIENT.values():
            break
        seen[row[0]] = [row[at] for at in columns] or [next(cell for cell in row[1:] if cell is not None)]
    troubles = []
    for index, model in enumerate(models[:max(1, len(columns))]):
        for label, value in shown_to_client(model).items():
            cell = seen[label][index] if label in seen else 0
            cell = cell if isinstance(cell, (int, float)) else 0
            if differs(value, cell, model.places):
                troubles.append(f"client's {label}, option {index}: model {plain(value)}, paper {cell}")
    return troubles


class Decision:
    """The first sheet of the owner's workbook: cells as they are shown."""

    def __init__(self, folder):
        path = next(pathlib.Path(folder, "studio").glob("*margin.xlsx"))
        self.rows = list(openpyxl.load_workbook(path, data_only=True)["Decision"].iter_rows(values_only=True))

    def table(self, heading, column, until):
        """Cells of a column by the first one of their row."""
        rows = iter(self.rows)
        columns = next(row for row in rows if row[0] == heading)
        at = columns.index(column)
        found = []
        for row in rows:
            if row[0] in until:
                return found
            found.append((row[0].lower(), row[at]))
        return found

    def said(self, whose):
        return next(row[1] for row in self.rows if row[0] == whose)


def differs(value, cell, places):
    """A cell is a double of the nearest decimal."""
    if value is None:
        return isinstance(cell, (int, float))
    return not isinstance(cell, (int, float)) or Fraction(f"{cell:.{places}f}") != value


def compare(folder, models):
    """What is not as the models of the options have it."""
    paper, first = Decision(folder), models[0]
    places = exponent(first.currency)
    hourly = paper.table("Option", "Earns an hour", (None,))
    troubles = [f"an hour of {name}: model {plain(earnings(model))}, paper {cell}"
                for (name, cell), model in zip(hourly, models) if differs(earnings(model), cell, places)]
    if len(hourly) != len(models):
        troubles.append(f"{len(hourly)} options on the paper, {len(models)} in the sheet")
    sections, want = dict(paper.table("Section", "Margin, %", ("Cost",))), margins(first)
    troubles += [f"margin of {name}: model {plain(want.get(name))}, paper {sections.get(name)}"
                 for name in want.keys() | sections.keys() if differs(want.get(name), sections.get(name), 2)]
    return troubles + compare_cash(paper.said("Cash"), cash(first))


def compare_cash(said, want):
    stages = [(name, Fraction(bought), Fraction(paid)) for name, bought, paid in STAGE.findall(said)]
    most = max([bought - paid for _, bought, paid in want] + [Fraction(0)])
    told = LAID_OUT.search(said)
    troubles = [] if stages == want else [f"cash: model {[(n, plain(b), plain(p)) for n, b, p in want]}, says {said}"]
    if (Fraction(told[1]) if told else Fraction(0)) != most:
        troubles.append(f"laid out at most {plain(most)}: {said}")
    return troubles
