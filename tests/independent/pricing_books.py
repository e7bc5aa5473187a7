"""Price books and design sheets as the specification reads them, outside the program.

Part of an independent model of the costing (see pricing_model.py). Only the standard library
is used: csv for reading, fractions for every figure, so that nothing is rounded but where the
specification says so. Nothing here is taken from the program's sources or from its prices.
"""
import csv
import datetime
import linecache
import pathlib
import sys
from fractions import Fraction

# ISO 4217 exponents that differ from 2 among the currencies used here.
EXPONENTS = {"JPY": 0, "KRW": 0, "CLP": 0, "ISK": 0, "KWD": 3, "BHD": 3, "TND": 3, "OMR": 3}
# A troy ounce is 31.1034768 g (GNU units).
GRAMS = {"troy ounce": Fraction("31.1034768"), "gram": Fraction(1), "kilogram": Fraction(1000)}
FINE = ("gold", "platinum", "palladium", "silver")
# What makes a row the same row again, later: its key (product.md, Price books).
KEYS = {
    "studio": ("field",),
    "metals": ("metal",),
    "rates": ("currency", "in"),
    "alloys": ("alloy",),
    "melee": ("lot", "from mm"),
    "stones": ("lot", "from ct"),
    "labour": ("operation", "from mm", "to mm", "metal", "stone"),
    "crafts": ("craft",),
    "services": ("service", "applies"),
    "taxes": ("region", "category", "name"),
    "policy": ("rule", "subject", "above"),
}


class Refused(Exception):
    """What the model will not price: a missing row, a tie, a rate that is not there."""


def fold(text):
    """A word without regard to case or extra spaces."""
    return " ".join(text.lower().split())


def exponent(currency):
    return EXPONENTS.get(currency, 2)


def number(text, default=None):
    text = text.strip()
    if text == "":
        if default is None:
            raise Refused("a number is missing")
        return Fraction(default)
    return Fraction(text)


told_apart = set()  # lines of the model that met a tie which half away from zero rounds otherwise


def site():
    """The line of the model that asked for a rounding."""
    frame = sys._getframe(2)
    while frame.f_code.co_name in ("rounded", "round6", "money"):
        frame = frame.f_back
    return linecache.getline(frame.f_code.co_filename, frame.f_lineno).strip()


def rounded(value, places, mode="away from zero"):
    """Half away from zero or half to even, at so many decimals."""
    scaled = abs(Fraction(value)) * 10**places
    whole, rest = divmod(scaled.numerator, scaled.denominator)
    twice = 2 * rest
    if twice > scaled.denominator:
        whole += 1
    elif twice == scaled.denominator:
        if mode == "to even" and whole % 2 == 0:
            told_apart.add(site())
        else:
            whole += 1
    return Fraction(whole if value >= 0 else -whole, 10**places)


def plain(value):
    """As the program prints a number: at most six decimals, no trailing zeros."""
    if value is None:
        return ""
    digits = str(abs(rounded(value, 6)) * 10**6 // 1).rjust(7, "0")
    text = f"{digits[:-6]}.{digits[-6:]}".rstrip("0").rstrip(".")
    return "-" + text if value < 0 and text != "0" else text


def ceiling(value):
    value = Fraction(value)
    return -((-value.numerator) // value.denominator)


def shares(total, weights, places):
    """`total` in parts by weight, largest remainder; ties to the earlier."""
    if total < 0:
        return [-part for part in shares(-total, weights, places)]
    whole = sum(weights, Fraction(0))
    units = total * 10**places
    if whole == 0:
        return [Fraction(0) for _ in weights]
    exact = [units * weight / whole for weight in weights]
    parts = [part.numerator // part.denominator for part in exact]
    left = int(units) - sum(parts)
    order = sorted(range(len(weights)), key=lambda i: (parts[i] - exact[i], i))
    for i in order[:left]:
        parts[i] += 1
    return [Fraction(part, 10**places) for part in parts]


def fitting(value):
    """Every rounded figure is counted in millionths in 64 bits: past that is an error."""
    if abs(value) * 10**6 >= 2**63:
        raise Refused(f"{float(value):.0f} is past what is exact")
    return value


class Row(dict):
    """Cells by folded column word; what a row lacks reads as empty."""

    line = 0

    def __missing__(self, key):
        return ""

    def word(self, key):
        return fold(self[key])

    def has(self, key):
        return self[key].strip() != ""


def rows_of(path):
    """The rows of a file with their first physical line; blank ones and `#` skipped."""
    rows = []
    with open(path, encoding="utf-8-sig", newline="") as stream:
        reader = csv.reader(stream)
        header = [fold(cell) for cell in next(reader)]
        before = reader.line_num
        for cells in reader:
            line, before = before + 1, reader.line_num
            if not any(cell.strip() for cell in cells) or cells[0].lstrip().startswith("#"):
                continue
            row = Row(zip(header, cells))
            row.line = line
            rows.append(row)
    return rows


class Books:
    """The rows in force on one day, and what follows from them alone."""

    def __init__(self, folder, day):
        self.day = day
        self.tables = {}
        for name, key in KEYS.items():
            path = pathlib.Path(folder) / f"{name}.csv"
            rows = rows_of(path) if path.exists() else []
            self.tables[name] = self.in_force(rows, key)
        self.studio = {row.word("field"): row["value"].strip() for row in self.tables["studio"]}
        self.currency = self.studio["currency"].upper()
        self.mode = "away from zero"
        for row in self.policy("rounding", "half"):
            self.mode = row.word("value")

    def in_force(self, rows, key):
        """Of the rows of a key that have begun and not ended, that which began last."""
        best = {}
        for row in rows:
            begins, ends = row["from"].strip(), row["until"].strip()
            if begins and datetime.date.fromisoformat(begins) > self.day:
                continue
            if ends and datetime.date.fromisoformat(ends) < self.day:
                continue
            name = tuple(row.word(column) for column in key)
            if name not in best or best[name]["from"].strip() <= begins:
                best[name] = row
        chosen = list(best.values())
        chosen.sort(key=lambda row: row.line)
        return chosen

    def find(self, table, **cells):
        """The rows whose cells read so (`from_mm` stands for the column `from mm`)."""
        wanted = {key.replace("_", " "): fold(value) for key, value in cells.items()}
        return [
            row
            for row in self.tables[table]
            if all(row.word(key) == value for key, value in wanted.items())
        ]

    def one(self, table, **cells):
        found = self.find(table, **cells)
        if len(found) != 1:
            raise Refused(f"{len(found)} rows of {table}.csv for {cells}")
        return found[0]

    def policy(self, rule, subject=None):
        cells = {"rule": rule} if subject is None else {"rule": rule, "subject": subject}
        return self.find("policy", **cells)

    def round6(self, value):
        return fitting(rounded(value, 6, self.mode))

    def rate(self, source, target):
        """What one unit of `source` is in `target`: the row in force, else the inverse."""
        if source == target:
            return Fraction(1)
        for row in self.tables["rates"]:
            if row["currency"].strip().upper() == source and row["in"].strip().upper() == target:
                return number(row["rate"])
        for row in self.tables["rates"]:
            if row["currency"].strip().upper() == target and row["in"].strip().upper() == source:
                return 1 / number(row["rate"])
        raise Refused(f"no rate from {source} to {target}")

    def turned(self, value, source, target):
        """A price in another currency: turned first, to six decimals, then multiplied."""
        source = (source or self.currency).strip().upper() or self.currency
        if source == target:
            return Fraction(value)
        return self.round6(Fraction(value) * self.rate(source, target))

    def per_gram(self, metal, target):
        """A metal's price a gram: kept exact."""
        row = self.one("metals", metal=metal)
        source = row["currency"].strip().upper() or self.currency
        return number(row["price"]) * self.rate(source, target) / GRAMS[row.word("per")]

    def main_metal(self, alloy):
        """The largest part; from 8 karat on the trade calls an alloy gold though it holds more silver."""
        parts = {metal: number(alloy[metal], 0) for metal in FINE}
        main = max(FINE, key=lambda metal: parts[metal])
        return "gold" if main == "silver" and parts["gold"] >= 333 else main

    def step(self, table, lot, size):
        """The row of a lot whose step holds the size: from, up to, not including."""
        unit = "mm" if table == "melee" else "ct"
        for row in self.find(table, lot=lot):
            if number(row[f"from {unit}"]) <= size < number(row[f"to {unit}"]):
                return row
        raise Refused(f"no step of {lot} for {float(size)} {unit}")

    def labour(self, need):
        """Most narrowing columns that fit, then the narrower size; a tie is refused."""
        fits = []
        for row in self.find("labour", operation=need.operation):
            rank = self.narrowness(row, need)
            if rank is not None:
                fits.append((rank, row))
        if not fits:
            raise Refused(f"no price for {need}")
        best = max(rank for rank, _ in fits)
        chosen = [row for rank, row in fits if rank == best]
        if len(chosen) != 1:
            raise Refused(f"{len(chosen)} prices that fit equally well for {need}")
        return chosen[0]

    def narrowness(self, row, need):
        columns, width = 0, Fraction(10**9)
        if row.has("from mm") or row.has("to mm"):
            least, most = number(row["from mm"], 0), number(row["to mm"], 10**9)
            if need.size is None or not least <= need.size < most:
                return None
            columns += row.has("from mm") + row.has("to mm")
            width = most - least
        if row.has("metal"):
            main = self.main_metal(self.one("alloys", alloy=need.alloy)) if need.alloy else None
            if row.word("metal") not in (need.alloy, main):
                return None
            columns += 1
        if row.has("stone"):
            words = {need.shape, need.species} | ({"client"} if need.client else set())
            if row.word("stone") not in words:
                return None
            columns += 1
        return columns, -width


class Value:
    """One measurement of a sheet: the cell as written, its unit, its line."""

    def __init__(self, row):
        self.text, self.unit, self.line = row["value"].strip(), fold(row["unit"]), row.line


class Part(dict):
    """Measurements by word; kind and name beside them."""

    def __init__(self, kind, name):
        super().__init__()
        self.kind, self.name = kind, name

    def word(self, measure, default=""):
        return fold(self[measure].text) if measure in self else default

    def count(self, measure, default):
        return int(self[measure].text) if measure in self else default

    def grams(self, measure):
        units = {"": 1, "g": 1, "ct": Fraction(1, 5), "oz t": GRAMS["troy ounce"]}
        units["dwt"] = GRAMS["troy ounce"] / 20
        value = self[measure]
        return rounded(Fraction(value.text) * units[value.unit], 6)


def split(part):
    kind, _, name = fold(part).partition(" ")
    return kind, name


class Sheet:
    """A design sheet: its rows as `base` and as each option has them."""

    def __init__(self, path):
        self.rows = rows_of(path)
        self.options = ["base"]
        for row in self.rows:
            kind, name = split(row["part"])
            if kind == "option" and name not in self.options:
                self.options.append(name)

    def parts(self, option="base"):
        parts = {}
        for row in self.rows:
            kind, name = split(row["part"])
            if kind != "option":
                part = parts.setdefault((kind, name), Part(kind, name))
                part[row.word("measure")] = Value(row)
        for row in self.rows:
            kind, name = split(row["part"])
            if kind == "option" and name == option and row.word("measure") != "label":
                self.override(parts, row)
        return parts

    @staticmethod
    def override(parts, row):
        part, slash, measure = row.word("measure").partition("/")
        key = split(part)
        if not slash:
            del parts[key]
            return
        parts.setdefault(key, Part(*key))[fold(measure)] = Value(row)
