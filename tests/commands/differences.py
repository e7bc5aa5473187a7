"""Rows `difference` of `price --csv` against the options' own rows: differences.py FILE."""
import csv
import sys
from decimal import Decimal

options = {}
with open(sys.argv[1], encoding="utf-8", newline="") as file:
    for row in csv.DictReader(file):
        options.setdefault(row["option"], []).append(row)


def section(rows, name):
    return sum(Decimal(row["price"]) for row in rows if row["section"] == name)


def item(rows, of, name):
    return next(Decimal(row["price"]) for row in rows if row["section"] == of and row["item"] == name)


names = list(options)
first = options[names[0]]
assert len(names) > 1 and not any(row["section"] == "difference" for row in first)
for name in names[1:]:
    rows = options[name]
    parts = {row["item"]: Decimal(row["price"]) for row in rows if row["section"] == "difference"}
    total = parts.pop("total")
    assert total == item(rows, "total", "total") - item(first, "total", "total"), name
    assert sum(parts.values()) == total, name
    assert parts.pop("tax") == item(rows, "total", "tax") - item(first, "total", "tax"), name
    parts.pop("adjustments")
    for part, amount in parts.items():
        assert amount == section(rows, part) - section(first, part), (name, part)
