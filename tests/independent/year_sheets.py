"""The commissions of a year: their sheets, and what they cost by the independent model.

A quote here is worked out by pricing_model.py from the books and from what geometry counted
(`quantities --csv`); the program's prices are never read.
"""
import datetime
import functools
import os
import pathlib
import subprocess
from fractions import Fraction

import pricing_cases as cases
from pricing_books import Books, Sheet, exponent, fold, number, shares
from pricing_model import Pricing
from pricing_needs import Facts
from pricing_settle import Settling

PROGRAM = os.environ.get("TALLYSTONE", "build/release/tallystone")
KINDS = (cases.solitaire, cases.halo, cases.three_stone, cases.eternity, cases.bezel_ring,
         cases.ready_made, cases.graduated)
# What a spreadsheet, XML or a journal could stumble over.
TITLES = ("A ring & a band", "=1+1 <ring>", "Ring \"for ever\", plain", "Bague d'été; or", "  -ring  ")
CLIENTS = ("invented client", "Ö. Erfunden & Söhne", "=client <B>", "client \"C\", invented", "| client; D")


def old_metal(draft):
    draft.add("trade-in old", alloy="585 yellow", weight=(draft.random.choice(("4.2", "2.137", "6.05")), "g"))


def draft_of(random, name, index, day, region, currency, traded):
    """The sheet of a commission: its kind goes round, all else is drawn."""
    kind = KINDS[index % len(KINDS)]
    draft = cases.Draft(random, name, kind.__name__, (region,), (currency,))
    draft.books = "dollar"
    draft.add("commission", reference=name, title=TITLES[index % len(TITLES)],
              client=CLIENTS[index % len(CLIENTS)], currency=currency, date=day.isoformat(), region=region)
    if draft.maybe(0.3):
        draft.add("commission", discount=(random.choice(("5", "7.5")), "%"))
    if draft.maybe(0.2):
        draft.add("commission", pays_by="card")
    cases.ring(draft)
    kind(draft)
    draft.rows = [row for row in draft.rows if not row[0].startswith("option")]
    draft.options = []
    if draft.maybe(0.5):
        draft.add("service report", service="laboratory report", count=1)
    if traded:
        old_metal(draft)
    if draft.maybe(0.35):
        other = random.choice([alloy for alloy in cases.YELLOW if alloy != draft.alloy])
        draft.option("other metal", ("ring/alloy", other, ""))
    return draft


def set_cell(draft, part, measure, value, unit=""):
    draft.rows = [row for row in draft.rows if row[:2] != (part, measure)] + [(part, measure, value, unit, "")]


class Tax:
    """One rate of one quote: what it is on, and how much."""

    def __init__(self, row, base, tax):
        self.region, self.category = row.word("region"), row.word("category")
        self.name, self.rate, self.due = row["name"].strip(), number(row["rate"]), row.word("due")
        self.base, self.tax = base, tax
        self.key = (self.name, self.rate)


class KeepsBases(Settling):
    """The settling of a price, which also keeps the sum that each rate is on, its rows, and what
    of each line's price is a share of discount, surcharge, minimum and rounding."""

    def taxed(self, adjustment, credit):
        prices = [price for price, _ in self.groups.values()]
        bases = [price + part for price, part in
                 zip(prices, shares(adjustment, prices, self.places))]
        lessened = [base if group[1] else Fraction(0) for base, group in zip(bases, self.groups.values())]
        off = min(credit, sum(lessened, Fraction(0)))
        less = [base - part for base, part in zip(bases, shares(off, lessened, self.places))]
        sums = {}
        for (key, group), base, left in zip(self.groups.items(), bases, less):
            for rate in key:
                sums[rate] = sums.get(rate, Fraction(0)) + (left if rate in group[1] else base)
        self.pricing.bases = sums
        return super().taxed(adjustment, credit)

    def all(self):
        rows = {}
        for line in self.lines:
            for row in self.rows_for(line):
                rows.setdefault((row["name"].strip(), number(row["rate"])), row)
        settled = super().all()
        self.pricing.tax_rows = [Tax(row, self.pricing.bases[key], settled[1][key])
                                 for key, row in rows.items()]
        return settled


class Priced(Pricing):
    def settle(self):
        self.settling = KeepsBases(self)
        self.totals, self.taxes, self.trade_ins, self.stages = self.settling.all()

    def category_of(self, line):
        """By which category of taxes.csv a line is taxed."""
        return self.settling.rows_for(line)[0].word("category")


class Quoted:
    """What one revision promised: of each option lines, totals, taxes."""

    def __init__(self, reference, revision, draft, sheet, books, day, option_names):
        self.reference, self.revision, self.sheet, self.day = reference, revision, sheet, day
        self.region, self.currency = draft.region, draft.currency
        self.places = exponent(draft.currency)
        self.title = next(row[2] for row in draft.rows if row[:2] == ("commission", "title"))
        self.client = next(row[2] for row in draft.rows if row[:2] == ("commission", "client"))
        self.valid_until = day + datetime.timedelta(days=21)  # the policy's days, the last one included
        self.names = option_names
        self.options = {name: priced(sheet, books, name, day) for name in option_names}

    @property
    def file(self):
        return f"{self.reference}-r{self.revision}"


@functools.cache
def books_on(folder, day):
    return Books(folder, day)


def priced(sheet, books, option, day):
    done = subprocess.run([PROGRAM, "quantities", sheet, "--books", books, "--csv", "--option", option,
                           "--as-of", day.isoformat()], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"quantities {sheet}: {done.stderr}")
    return Priced(books_on(books, day), Sheet(sheet).parts(option), Facts(done.stdout))


def quoted(draft, revision, day, place, books):
    """Writes a revision's sheet and prices it."""
    set_cell(draft, "commission", "date", day.isoformat())
    folder = pathlib.Path(place)
    name, draft.name = draft.name, f"{draft.name}-{revision}"
    sheet = draft.write(folder)
    draft.name = name
    names = [fold(name) for name in Sheet(sheet).options]
    return Quoted(name, revision, draft, sheet, books, day, names)
