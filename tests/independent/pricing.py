#!/usr/bin/python3
"""Prices made-up commissions twice, with the program and with an independent model.

Over three sets of books, every line, total, tax and payment stage is compared exactly, the margin
to its two decimals; and what must hold of any price is looked at: columns add up, quantity times
unit cost is the cost, options stand alone. Run from the top folder with TALLYSTONE naming the
program. The seed is fixed; SEED draws other commissions, COMMISSIONS more of them a set.
"""
import csv
import datetime
import io
import os
import pathlib
import random
import subprocess
import sys
import tempfile
from fractions import Fraction

sys.dont_write_bytecode = True
import pricing_books_made as made  # noqa: E402
import pricing_cases as cases  # noqa: E402
import pricing_owner as owner  # noqa: E402
import pricing_books  # noqa: E402
from pricing_books import Books, Refused, Sheet, exponent, fold, plain, rounded  # noqa: E402
from pricing_model import SECTIONS, Pricing  # noqa: E402
from pricing_needs import Facts  # noqa: E402

PROGRAM = os.environ.get("TALLYSTONE", "build/release/tallystone")
SHIPPED = pathlib.Path("pricebooks")
FIGURES = ("quantity", "unit cost", "cost", "price")
TO_NET = ("lines", "discount", "surcharge", "minimum", "rounding")
TO_TOTAL = ("net", "tax", "rounding of total")
TO_PAY = ("total", "trade-in")
shown_sheets = set()
compared = {"commissions": 0, "options": 0, "lines": 0, "figures": 0}
failures = 0


def verdict(name, troubles, sheet=None):
    """One line a test; a failure shows the sheet and each pair of figures."""
    global failures
    if not troubles:
        print(f"ok {name}")
        return
    failures += 1
    print(f"not ok {name}")
    for trouble in troubles[:12]:
        print(f"  {trouble}")
    if sheet is not None and sheet not in shown_sheets:
        shown_sheets.add(sheet)
        print("".join(f"  | {line}\n" for line in pathlib.Path(sheet).read_text().splitlines()), end="")


def run(*arguments):
    done = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


def figure(text):
    return Fraction(text) if text else None


class Engine:
    """What `price --csv` says of one option."""

    def __init__(self, rows):
        self.lines = [row for row in rows if row["section"] in SECTIONS]
        self.trade_ins = [row for row in rows if row["section"] == "trade-in"]
        self.totals, self.taxes = {}, []
        for row in rows:
            if row["section"] == "total":
                self.total(row)
        self.stages = [(fold(row["item"]), figure(row["price"])) for row in rows if row["section"] == "payment"]

    def total(self, row):
        item = fold(row["item"])
        column = "cost" if item == "cost" else "price"
        self.totals[item] = self.totals.get(item, 0) + figure(row[column]) if row[column] else None


def priced(sheet, books, *more):
    """Rows of `price --csv` by option, or the reason why there are none."""
    code, out, err = run("price", sheet, "--books", books, "--csv", *more)
    if code != 0:
        return None, f"exit {code}: {err.strip()}"
    options = {}
    for row in csv.DictReader(io.StringIO(out)):
        options.setdefault(fold(row["option"]), []).append(row)
    return options, ""


def modelled(sheet, books, option, as_of=None):
    parts = Sheet(sheet).parts(option)
    day = as_of or parts[("commission", "")]["date"].text
    more = ("--as-of", as_of) if as_of else ()
    code, out, err = run("quantities", sheet, "--books", books, "--csv", "--option", option, *more)
    if code != 0:
        raise Refused(f"quantities: exit {code}: {err.strip()}")
    return Pricing(Books(books, datetime.date.fromisoformat(day)), parts, Facts(out))


# --- comparing ---------------------------------------------------------------------------------


def agrees(line, row):
    return all(figure(row[word]) == getattr(line, word.replace(" ", "_")) for word in FIGURES)


def is_nothing(row):
    """A line of nothing, as when old metal covers an alloy: it may be printed or not."""
    return not any(figure(row[word]) for word in ("quantity", "cost", "price"))


def shown(row):
    return " ".join(f"{word}={row[word]}" for word in FIGURES)


def compare_lines(model, engine):
    """Every line has its equal on the other side, by section and figures; items agree loosely."""
    troubles = []
    left = [row for row in engine.lines if not is_nothing(row)]
    for line in model.lines:
        if line.quantity == 0 and line.cost == 0 and line.price == 0:
            continue
        compared["lines"] += 1
        compared["figures"] += len(FIGURES)
        near = [row for row in left if row["section"] == line.section and line.key in fold(row["item"])]
        twins = [row for row in near if agrees(line, row)]
        if twins:
            left.remove(twins[0])
            continue
        close = near or [row for row in left if row["section"] == line.section]
        saw = "; ".join(f"{row['item']}: {shown(row)}" for row in close[:3]) or "no such line"
        troubles.append(f"model {line} | program {saw}")
    troubles += [f"program has {row['section']} {row['item']}: {shown(row)}" for row in left]
    return troubles


def compare_counts(model):
    """What the sheet asks for is what the program counts, by operation."""
    wanted, seen = {}, {}
    for need in model.needs:
        count = need.count if need.minutes is None else need.minutes
        wanted[need.fact()] = wanted.get(need.fact(), 0) + count
    for part, value in model.facts.all("count") + model.facts.all("minutes"):
        if part.startswith("operation "):
            seen[part] = seen.get(part, 0) + value
    return [f"{part}: model {wanted.get(part)}, quantities {seen.get(part)}"
            for part in sorted(wanted.keys() | seen.keys()) if wanted.get(part) != seen.get(part)]


def compare_totals(model, engine):
    troubles = []
    for item, value in model.totals.items():
        compared["figures"] += 1
        seen = engine.totals.get(item, Fraction(0))
        if seen != value:
            troubles.append(f"total {item}: model {plain(value)}, program {plain(seen)}")
    credit = sorted((line[3] for line in model.trade_ins))
    seen = sorted(-figure(row["price"]) for row in engine.trade_ins)
    if credit != seen:
        troubles.append(f"trade-in: model {[plain(c) for c in credit]}, program {[plain(c) for c in seen]}")
    if model.stages != engine.stages:
        troubles.append(f"stages: model {[(n, plain(a)) for n, a in model.stages]}, "
                        f"program {[(n, plain(a)) for n, a in engine.stages]}")
    compared["figures"] += len(credit) + len(model.stages)
    return troubles


def holds_together(engine, currency):
    """What anyone with a calculator finds from the printed figures alone."""
    troubles = []
    totals = engine.totals

    def total(*items):
        return sum((totals.get(item) or Fraction(0) for item in items), Fraction(0))

    for row in engine.lines:
        quantity, each, cost = (figure(row[word]) for word in FIGURES[:3])
        exact = quantity * each / (100 if row["unit"] == "%" else 1)
        by_hand = {rounded(exact, exponent(currency), mode) for mode in ("to even", "away from zero")}
        if cost not in by_hand and "minimum" not in row["item"] + row["origin"]:
            troubles.append(f"{row['section']} {row['item']}: {shown(row)} is not quantity x unit cost")
    sums = (
        ("cost", sum((figure(row["cost"]) for row in engine.lines), Fraction(0))),
        ("lines", sum((figure(row["price"]) for row in engine.lines), Fraction(0))),
        ("net", total(*TO_NET)),
        ("total", total(*TO_TOTAL)),
        ("to pay", total(*TO_PAY)),
        ("trade-in", sum((figure(row["price"]) for row in engine.trade_ins), Fraction(0))),
        ("to pay", sum((amount for _, amount in engine.stages), Fraction(0))),
    )
    for item, value in sums:
        if total(item) != value:
            troubles.append(f"{item} is {plain(total(item))}, its parts add up to {plain(value)}")
    return troubles


def differs_by_parts(first, rows):
    """Each row `difference` is what the option's own rows say more than the first's; they add up."""
    told = {fold(row["item"]): figure(row["price"]) for row in rows if row["section"] == "difference"}
    total = told.pop("total", None)

    def parts(of):
        engine = Engine(of)
        found = {section: Fraction(0) for section in SECTIONS}
        for row in engine.lines:
            found[row["section"]] += figure(row["price"])
        found["adjustments"] = sum((engine.totals.get(item) or Fraction(0)
                                    for item in (*TO_NET[1:], "rounding of total")), Fraction(0))
        found["tax"] = engine.totals.get("tax", Fraction(0))
        return found, engine.totals["total"]

    (ours, our_total), (theirs, their_total) = parts(rows), parts(first)
    troubles = [f"difference {name}: {plain(told.get(name, 0))}, the rows say {plain(ours[name] - theirs[name])}"
                for name in ours if told.get(name, 0) != ours[name] - theirs[name]]
    if total is None or total != our_total - their_total or total != sum(told.values(), Fraction(0)):
        troubles.append(f"difference total: {plain(total)}, totals {plain(our_total - their_total)}, "
                        f"parts {plain(sum(told.values(), Fraction(0)))}")
    return troubles


def stands_alone(folder, sheet, books, option, options, more):
    """An option equals a sheet that says the same as its own rows."""
    parts = Sheet(sheet).parts(option)
    alone = pathlib.Path(folder) / f"alone-{pathlib.Path(sheet).name}"
    with open(alone, "w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(cases.HEADER)
        for part in parts.values():
            for measure, value in part.items():
                writer.writerow((f"{part.kind} {part.name}".strip(), measure, value.text, value.unit, ""))
    rows, reason = priced(alone, books, *more)
    if rows is None:
        return [reason]
    columns = ("section", "item", "unit") + FIGURES
    want = [[row[column] for column in columns] for row in options[option] if row["section"] != "difference"]
    have = [[row[column] for column in columns] for row in rows["base"]]
    return [f"option {a} | alone {b}" for a, b in zip(want, have) if a != b] or (
        [] if len(want) == len(have) else [f"{len(want)} rows, alone {len(have)}"])


def check_owner(folder, name, sheet, books, more, models):
    """The owner's workbook of a commission."""
    place = pathlib.Path(folder) / f"papers-{name}"
    code, _, err = run("price", sheet, "--books", books, "--out", place, *more)
    troubles = owner.compare(place, models) if code == 0 else [f"exit {code}: {err.strip()}"]
    verdict(f"{name}: earnings, margins and cash of the owner's paper as the model has them", troubles, sheet)
    if code == 0 and "quote detail,sections" in (pathlib.Path(books) / "studio.csv").read_text(encoding="utf-8"):
        troubles = owner.compare_client(place, models)
        verdict(f"{name}: overhead and contingency are shared on the client's paper", troubles, sheet)


def check(folder, draft, books, papers):
    name, sheet = draft.name, draft.write(folder)
    more = ("--as-of", draft.as_of) if draft.as_of else ()
    options, reason = priced(sheet, books, *more)
    if options is None:
        verdict(f"{name}: prices", [reason], sheet)
        return
    compared["commissions"] += 1
    counts, lines, totals, sums, models = [], [], [], [], []
    for option in Sheet(sheet).options:
        engine = Engine(options[option])
        compared["options"] += 1
        try:
            model = modelled(sheet, books, option, draft.as_of)
        except Refused as why:
            lines.append(f"{option}: the model refuses: {why}")
            continue
        models.append(model)
        counts += [f"{option}: {trouble}" for trouble in compare_counts(model)]
        lines += [f"{option}: {trouble}" for trouble in compare_lines(model, engine)]
        totals += [f"{option}: {trouble}" for trouble in compare_totals(model, engine)]
        sums += [f"{option}: {trouble}" for trouble in holds_together(engine, model.currency)]
    verdict(f"{name}: the bench is asked for what the sheet needs", counts, sheet)
    verdict(f"{name}: every line as the model has it", lines, sheet)
    verdict(f"{name}: every total as the model has it", totals, sheet)
    verdict(f"{name}: the printed columns add up", sums, sheet)
    apart = [f"{option}: {trouble}" for option in Sheet(sheet).options[1:]
             for trouble in differs_by_parts(options["base"], options[option])]
    verdict(f"{name}: the difference of each option adds up", apart, sheet)
    last = Sheet(sheet).options[-1]
    troubles = stands_alone(folder, sheet, books, last, options, more)
    verdict(f"{name}: option {last} stands alone", troubles, sheet)
    if papers and models:
        check_owner(folder, name, sheet, books, more, models)


def check_refusals(folder):
    """Where a figure would be a guess, neither prices."""
    for refusal in cases.REFUSALS:
        place = pathlib.Path(folder) / f"refusal-{refusal.name}"
        books = made.copy_books(SHIPPED, place, refusal.books)
        sheet = cases.refused(refusal).write(folder)
        options, _ = priced(sheet, books)
        troubles = [] if options is None else ["the program prices it"]
        try:
            modelled(sheet, books, "base")
            troubles.append("the model prices it")
        except Refused as why:
            if "quantities: " in str(why) and not refusal.counting:
                troubles.append(f"refused before it was priced: {why}")
        verdict(f"refused by both: {refusal.name}", troubles, sheet)
        options, reason = priced(cases.refused(refusal, False).write(folder), SHIPPED)
        verdict(f"priced without that: {refusal.name}", [reason] if options is None else [], sheet)


# Roundings of the model that must meet a tie which the two ways of rounding tell apart. Not
# among them: what is a quotient (surcharge, earnings), and sums of money taken over as they are.
TOLD_APART = (
    "quantity = self.books.round6", "sprue = self.books.round6", "lost = self.books.round6",
    "return self.books.round6(exact)", "each = self.books.round6(carat * price)",
    "each = self.books.round6(self.books.per_gram", "return self.money(carats", "self.books.round6(hour / 60)",
    "hours = self.books.round6", "return self.round6(Fraction(value) * self.rate", "line.cost = ",
    "least = self.money(least)", "return self.money(price)", "self.money(base * rate[1] / 100)",
    "self.money(least) - net", "step = self.money(step)", "amount = self.money(self.pricing.turned",
)


def check_ties():
    """Half to even holds everywhere: each rounding was met where it makes a difference."""
    met = pricing_books.told_apart
    verdict("each rounding met a tie that half to even rounds otherwise",
            [f"none at: {part}" for part in TOLD_APART if not any(part in line for line in met)])


def main():
    seed = int(os.environ.get("SEED", "20261123"))
    count = int(os.environ.get("COMMISSIONS", "24"))
    with tempfile.TemporaryDirectory() as folder:
        for title, change, regions, currencies in made.SETS:
            books = made.copy_books(SHIPPED, pathlib.Path(folder) / title, change)
            for index in range(count):
                drawn = random.Random(f"{seed} {title} {index}")
                papers = index < len(cases.KINDS)  # each kind once: papers take their time
                check(folder, cases.draft_of(drawn, title, index, regions, currencies), books, papers)
        check_refusals(folder)
    if not {"SEED", "COMMISSIONS"} & os.environ.keys():  # other draws need not meet them all
        check_ties()
    print(f"# {compared['commissions']} commissions, {compared['options']} options, "
          f"{compared['lines']} lines, {compared['figures']} figures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
