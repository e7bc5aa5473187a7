#!/usr/bin/python3
"""Recomputes the chain of every amount from its leaves up: the demo sheets, and made-up ones.

`why SHEET --csv` says how each amount came about: steps with formulas over other steps, and leaves
that stand in a price book, in the sheet or among the quantities. Here each formula is read and
worked out again in exact fractions and must give its printed value; each leaf is looked up where it
says it is from; each chain's root must be what `price --csv` prints. The chains of break-even prices
are worked out again as well; the piece, priced with the metal at that price and at the one beside it,
must keep the floor and miss it; and what more of price adds to net and cost is found again by moving
the price in the chain's own formulas. Run from the top folder with TALLYSTONE naming the program.
"""
import csv
import datetime
import io
import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
from fractions import Fraction

sys.dont_write_bytecode = True
import openpyxl  # noqa: E402

import pricing_books_made as made  # noqa: E402
import pricing_cases as cases  # noqa: E402
from pricing_books import Books, Sheet, ceiling, fold, plain, rounded, rows_of, shares  # noqa: E402

PROGRAM = os.environ.get("TALLYSTONE", "build/release/tallystone")
SHIPPED = pathlib.Path("pricebooks")
TOKEN = re.compile(r"\s*(?:(\d+(?:\.\d+)?)|#(\d+)|([a-z]+)|([-+×/(),:]))")
failures = 0
compared = {"chains": 0, "break-even prices": 0, "of them where lines meet": 0,
            "without a break-even": 0, "steps": 0, "book leaves": 0, "other leaves": 0,
            "of them in another row of the part they name": 0}


def verdict(name, troubles):
    global failures
    failures += bool(troubles)
    print(f"not ok {name}" if troubles else f"ok {name}")
    for trouble in troubles[:12]:
        print(f"  {trouble}")


def run(*arguments):
    done = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(f"not ok {' '.join(map(str, arguments))}: exit {done.returncode}\n{done.stderr}")
    return list(csv.DictReader(io.StringIO(done.stdout)))


class Formula:
    """A formula over steps: + - × /, round, ceiling, step, max, min, share."""

    def __init__(self, text, value_of, mode):
        self.text, self.value_of, self.mode = text, value_of, mode
        self.tokens, at = [], 0
        text = text.rstrip()
        while at < len(text):
            match = TOKEN.match(text, at)
            if match is None:
                raise ValueError(f"{text!r} is no formula from {text[at:]!r} on")
            self.tokens.append(match.groups())
            at = match.end()
        self.at = 0

    def value(self):
        result = self.sum()
        if self.at != len(self.tokens):
            raise ValueError(f"{self.text!r} goes on after its end")
        return result

    def peek(self):
        return self.tokens[self.at][3] if self.at < len(self.tokens) else None

    def take(self, sign=None):
        token = self.tokens[self.at]
        if sign is not None and token[3] != sign:
            raise ValueError(f"{sign!r} is missing in {self.text!r}")
        self.at += 1
        return token

    def sum(self):
        result = self.product()
        while self.peek() in ("+", "-"):
            result = result + self.product() if self.take()[3] == "+" else result - self.product()
        return result

    def product(self):
        result = self.single()
        while self.peek() in ("×", "/"):
            result = result * self.single() if self.take()[3] == "×" else result / self.single()
        return result

    def single(self):
        digits, step, name, sign = self.take()
        if digits:
            return Fraction(digits)
        if step:
            return self.value_of(int(step))
        if name:
            return self.function(name)
        if sign == "-":
            return -self.single()
        if sign == "(":
            result = self.sum()
            self.take(")")
            return result
        raise ValueError(f"{sign!r} is out of place in {self.text!r}")

    def listed(self):
        values = [self.sum()]
        while self.peek() == ",":
            self.take()
            values.append(self.sum())
        return values

    def function(self, name):
        self.take("(")
        values = self.listed()
        if name == "share":
            self.take(":")
            weights = self.listed()
            self.take(":")
            which, places = self.listed()
            self.take(")")
            return shares(values[0], weights, int(places))[int(which) - 1]
        self.take(")")
        if name == "round":
            return rounded(values[0], int(values[1]), self.mode)
        if name == "step":
            return ceiling(values[0] / values[1]) * values[1]
        if name in ("ceiling", "max", "min"):
            return {"ceiling": lambda v: Fraction(ceiling(v[0])), "max": max, "min": min}[name](values)
        raise ValueError(f"{name} is no function of a formula")


class Leaves:
    """Where figures stand that no formula gives: the books, the sheet, the quantities."""

    def __init__(self, sheet, option, books, quantities):
        self.sheet = sheet
        self.parts = Sheet(sheet).parts(option)
        self.part_at = {value.line: part for part in self.parts.values() for value in part.values()}
        self.measured = {Fraction(row["value"]) for row in quantities if is_number(row["value"])}
        self.books = {path.name: {row.line: row for row in rows_of(path)} for path in books.glob("*.csv")}

    def trouble(self, step):
        """Why the leaf is not what it says, or nothing."""
        origin, value = step["origin"], Fraction(step["value"])
        book = re.fullmatch(r"([a-z]+\.csv):(\d+) ([a-z -]+)", origin)
        if book and book[1] in self.books:
            compared["book leaves"] += 1
            row = self.books[book[1]].get(int(book[2]))
            if row is None or book[3] not in row:
                return f"{origin}: no such row or column"
            cell = row[book[3]].strip() or "0"
            return "" if Fraction(cell) == value else f"{origin} holds {cell}, the chain says {step['value']}"
        compared["other leaves"] += 1
        if value in self.measured or self.in_sheet(origin, value) or self.summed(origin, value):
            return ""
        return f"{step['what']} = {step['value']} ({origin}) is neither measured nor in the sheet"

    def in_sheet(self, origin, value):
        """In the row that the leaf names, or at least in another row of the same part."""
        stated = re.match(re.escape(str(self.sheet)) + r":(\d+)", origin)
        part = self.part_at.get(int(stated[1])) if stated else None
        lines = [cell.line for measure, cell in part.items() if reads(part, measure, value)] if part else []
        if lines and int(stated[1]) not in lines:
            compared["of them in another row of the part they name"] += 1
        if part and part.kind == "trade-in" and not lines:  # what the piece doesn't use of it
            return part.word("use") == "in the piece" and value < part.grams("weight")
        return bool(lines)

    def summed(self, origin, value):
        """Stones of several parts: `halo top 22 + halo pair 28`, each of them measured."""
        terms = [Fraction(term) for term in re.findall(r" (\d+)(?= \+|$)", origin)]
        return sum(terms) == value and all(term in self.measured for term in terms)


def reads(part, measure, value):
    """Does the cell say so, in its own unit or in grams?"""
    cell = part[measure]
    if not is_number(cell.text):
        return False
    return value in (Fraction(cell.text), part.grams(measure) if measure == "weight" else None)


def is_number(text):
    return re.fullmatch(r"-?\d+(\.\d+)?", text.strip()) is not None


def chains_of(rows):
    """The steps of each chain by number; a chain begins where the steps begin anew."""
    chains = []
    for row in rows:
        if row["step"] == "1":
            chains.append({})
        chains[-1][int(row["step"])] = row
    return chains


TRIED = "tried in place of "


def recompute(chain, leaves, mode, roots=(1,)):
    """The first root's exact value, and what does not agree on the way."""
    troubles, values, open_steps = [], {}, set()

    def value_of(number):
        if number in values:
            return values[number]
        if number in open_steps or number not in chain:
            raise ValueError(f"step {number} is missing or rests on itself")
        open_steps.add(number)
        step = chain[number]
        compared["steps"] += 1
        if step["formula"]:
            values[number] = Formula(step["formula"], value_of, mode).value()
            if rounded(values[number], 6) != Fraction(step["value"]):
                troubles.append(f"#{number} {step['what']}: {step['formula']} gives "
                                f"{plain(values[number])}, the chain says {step['value']}")
        else:
            values[number] = Fraction(step["value"])
            if step["origin"].startswith(TRIED):
                trouble = "" if step["value"] == chain[1]["value"] else f"{step['what']} is another price"
            else:
                trouble = leaves.trouble(step)
            if trouble:
                troubles.append(f"#{number} {trouble}")
        return values[number]

    try:
        for root in roots:
            value_of(root)
    except (ValueError, ZeroDivisionError) as why:
        troubles.append(str(why))
    idle = sorted(set(chain) - set(values) - ({1} if 1 not in roots else set()))
    if idle and not troubles:
        troubles.append(f"steps {idle} lead to nothing")
    return values.get(roots[0]), troubles


def amounts(rows):
    """What `price` prints, in order, with its amount; what is taken off is positive in its chain."""
    for row in rows:
        if row["section"] == "difference" or row["section"] == "total" and row["item"] == "margin":
            continue
        amount = Fraction(row["price"] or row["cost"])
        off = row["section"] == "trade-in" or row["section"] == "total" and row["item"] in ("trade-in", "discount")
        yield row, -amount if off else amount


def heads(chain, row):
    """Is it the chain of that amount? One that is another figure as it stands bears its name: with
    nothing traded in, what is to pay is the total; a last stage beside amounts is the rest."""
    names = [row["item"]]
    if row["section"] == "total" and row["item"] == "to pay":
        names.append("total")
    if row["section"] == "total" and row["item"] == "minimum":
        names.append("raised to the minimum")
    if row["section"] == "payment":
        names.append("the rest")
    return chain[1]["what"] in names


def check(name, sheet, option, books):
    name = f"{name} {option}"
    day = datetime.date.fromisoformat(Sheet(sheet).parts(option)[("commission", "")]["date"].text)
    mode = Books(books, day).mode
    said = ("--books", books, "--csv")
    leaves = Leaves(sheet, option, books, run("quantities", sheet, *said, "--option", option))
    priced = [row for row in run("price", sheet, *said) if fold(row["option"]) == option]
    left = chains_of(run("why", sheet, *said, "--option", option))
    steps, roots, figures = [], [], []
    for row, amount in amounts(priced):
        chain = next((one for one in left if heads(one, row)), None)
        if chain is None:
            if amount:
                roots.append(f"{row['section']} {row['item']} {plain(amount)} has no chain")
            continue
        left.remove(chain)
        compared["chains"] += 1
        value, troubles = recompute(chain, leaves, mode)
        steps += [f"{row['item']}: {trouble}" for trouble in troubles]
        if value != amount:
            gives = plain(value) if value is not None else "nothing"
            roots.append(f"{row['section']} {row['item']}: printed {plain(amount)}, its chain gives {gives}")
        seen = {Fraction(step["value"]) for step in chain.values()}
        figures += [f"{row['section']} {row['item']}: its {word} {row[word]} is not in its chain"
                    for word in ("unit cost", "cost")
                    if row[word] and Fraction(row[word]) and Fraction(row[word]) not in seen]
    roots += [f"the chain of {chain[1]['what']} is of no printed amount" for chain in left]
    for row in priced:
        if row["section"] == "total" and row["item"] == "margin" and row["price"]:
            chain = chains_of(run("why", sheet, "margin", *said, "--option", option))[0]
            value, troubles = recompute(chain, leaves, mode)
            compared["chains"] += 1
            steps += [f"margin: {trouble}" for trouble in troubles]
            if value != Fraction(row["price"]):
                roots.append(f"the margin: printed {row['price']}, its chain gives {value and plain(value)}")
    verdict(f"{name}: every step is what its formula gives and every leaf stands where it says", steps)
    verdict(f"{name}: every printed amount is the root of its chain", roots)
    verdict(f"{name}: unit cost and cost of each line stand in its chain", figures)


class Smooth(Formula):
    """A formula on the straight line on which it lies: nothing is rounded, steps stay what they were."""

    def function(self, name):
        if name == "step":
            raise ValueError("a step stands inside another formula")
        if name not in ("round", "share"):
            return super().function(name)
        self.take("(")
        values = self.listed()
        if name == "share":
            self.take(":")
            weights = self.listed()
            self.take(":")
            which, _ = self.listed()
            values = [values[0] * weights[int(which) - 1] / sum(weights)]
        self.take(")")
        return values[0]


def moved(chain, number, by):
    """Step `number` with the price that is tried so much higher, on the straight line there."""
    values = {}

    def value_of(at):
        if at not in values:
            step = chain[at]
            if step["origin"].startswith(TRIED):
                values[at] = Fraction(step["value"]) + by
            elif step["formula"] and not step["formula"].startswith("step("):
                values[at] = Smooth(step["formula"], value_of, None).value()
            else:
                values[at] = Fraction(step["value"])
        return values[at]

    return value_of(number)


def books_with(folder, books, name, line, column, value):
    """A copy of the books with one cell changed."""
    target = pathlib.Path(tempfile.mkdtemp(dir=folder)) / "books"
    shutil.copytree(books, target)
    with open(target / name, encoding="utf-8", newline="") as stream:
        lines = stream.read().splitlines()
    header, row = next(csv.reader([lines[0]])), next(csv.reader([lines[line - 1]]))
    row[header.index(column)] = value
    out = io.StringIO()
    csv.writer(out, lineterminator="").writerow(row)
    lines[line - 1] = out.getvalue()
    (target / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return target


def margin_of(sheet, option, books):
    for row in run("price", sheet, "--books", books, "--csv"):
        if fold(row["option"]) == option and (row["section"], row["item"]) == ("total", "margin"):
            return Fraction(row["price"]) if row["price"] else None
    return None


def keeps(margin, floor):
    return margin is not None and margin >= floor


HEAD = re.compile(r"(last|first)\(#2, #3: #4, #5, (-?[0-9.]+)(: #6)?\)")
MORE = re.compile(r"what ([0-9.]+) [A-Z]{3} a [a-z ]+ more adds to (net|the cost)")


def slope_troubles(chain):
    """What more of price adds to net and to cost, by moving the price in the chain itself. Of either
    the chain rounds what it adds to a line to six decimals."""
    income = int(re.search(r"/ #(\d+)", chain[2]["formula"])[1])
    cost = int(re.fullmatch(r"#\d+ - #(\d+)", chain[int(chain[2]["formula"][7:].split(" ")[0])]["formula"])[1])
    told, troubles = set(), []
    for step in chain.values():
        match = MORE.fullmatch(step["what"])
        if match is None:
            continue
        told.add(match[2])
        small = Fraction(match[1]) / 10 ** 8
        at = income if match[2] == "net" else cost
        adds = (moved(chain, at, small) - moved(chain, at, 0)) * 10 ** 8
        if abs(adds - Fraction(step["value"])) > Fraction(2, 10 ** 5) * max(1, abs(adds)):
            troubles.append(f"{step['what']}: {step['value']}, moved by hand {float(adds):.9f}")
    if told != {"net", "the cost"}:
        troubles.append(f"only {told} are told")
    return troubles


def check_break_even(chain, sheet, option, books, folder, leaves, mode):
    """What is wrong with the chain of one metal."""
    head, floor = chain[1], next(Fraction(row["value"]) for row in rows_of(books / "policy.csv")
                                 if row["rule"].strip() == "floor")
    today = margin_of(sheet, option, books)
    if not head["formula"]:
        metal = head["what"].split()[-1]
        row = max((row for row in rows_of(books / "metals.csv") if row["metal"].strip() == metal
                   and row["from"] <= leaves.day.isoformat()), key=lambda row: row["from"])
        compared["without a break-even"] += 1
        return [f"{metal} times {factor} makes another answer, and none is told" for factor in (0.2, 0.6, 1.7, 5, 40)
                if keeps(margin_of(sheet, option, books_with(folder, books, "metals.csv", row.line, "price",
                                                             f"{float(row['price']) * factor:.2f}")), floor)
                != keeps(today, floor)]
    match = HEAD.fullmatch(head["formula"])
    if match is None:
        return [f"{head['formula']} is no formula of a break-even"]
    roots = (2, 3, 4, 5, 6) if match[3] else (2, 3, 4, 5)
    margin, troubles = recompute(chain, leaves, mode, roots)
    price = Fraction(head["value"])
    if not chain[4]["origin"] == TRIED + chain[5]["origin"]:
        troubles.append(f"{chain[4]['origin']} is tried, and today's is {chain[5]['origin']}")
    name, line, column = re.fullmatch(r"(metals\.csv):(\d+) (price)", chain[5]["origin"]).groups()
    beyond = price + Fraction(match[2]) * (1 if match[1] == "last" else -1)
    at, past = (margin_of(sheet, option, books_with(folder, books, name, int(line), column, plain(value)))
                for value in (price, beyond))
    if at != margin or not keeps(at, floor) or keeps(past, floor):
        troubles.append(f"{head['what']} {plain(price)}: margin {at}, by its chain {margin}; at {plain(beyond)} {past}; "
                        f"floor {floor}")
    if keeps(today, floor) != (match[1] == "last") or (price > Fraction(chain[5]["value"])) != (Fraction(match[2]) > 0):
        troubles.append(f"{head['formula']} with a margin of {today} today")
    compared["break-even prices"] += 1
    compared["of them where lines meet"] += bool(match[3])
    return troubles + (slope_troubles(chain) if match[3] else [])


def check_break_evens(name, sheet, option, books, folder):
    """With a floor a little under today's margin, and one a little over it."""
    day = datetime.date.fromisoformat(Sheet(sheet).parts(option)[("commission", "")]["date"].text)
    mode, troubles = Books(books, day).mode, []
    line = next(row.line for row in rows_of(books / "policy.csv") if row["rule"].strip() == "floor")
    margin = margin_of(sheet, option, books)
    for off in (Fraction(-37, 100), Fraction(21, 100)):
        if margin is None or margin + off <= 0:
            continue
        floored = books_with(folder, books, "policy.csv", line, "value", plain(margin + off))
        said = ("--books", floored, "--csv", "--option", option)
        leaves = Leaves(sheet, option, floored, run("quantities", sheet, *said))
        leaves.day = day
        rows = [row for row in run("price", sheet, "--books", floored, "--csv") if fold(row["option"]) == option]
        bought = any(row["section"] == "metal" and row["unit"] == "g" for row in rows)
        if not bought and not ({"trade-in"} <= {row["section"] for row in rows}
                               and any(row["item"] == "surcharge" and Fraction(row["price"]) for row in rows)):
            continue  # no market price comes into cost or net
        for chain in chains_of(run("why", sheet, "break-even", *said)):
            troubles += check_break_even(chain, sheet, option, floored, folder, leaves, mode)
    verdict(f"{name} {option}: at each break-even price the floor is met, beside it missed, and its chain gives both",
            troubles)


def option_blocks(lines, count):
    """Rows of the sheet Lines, option by option: a row's number starts again at 1."""
    blocks = []
    for row in lines.iter_rows(min_row=5):
        if row[0].value == 1:
            blocks.append([])
        if isinstance(row[0].value, (int, float)):
            blocks[-1].append(row)
    return blocks if len(blocks) == count else None


def check_links(sheet, folder):
    """The numbers of the owner's sheet Lines are those that `why` takes: its amount is the root of
    that chain. Each leads to a named cell whose value is a step of it; underlined names lead back."""
    options = list(Sheet(sheet).options)
    subprocess.run([PROGRAM, "price", sheet, "--out", folder], capture_output=True, check=True)
    path = next((pathlib.Path(folder) / "studio").glob("*.xlsx"))
    book = openpyxl.load_workbook(path, data_only=True)
    blocks = option_blocks(book["Lines"], len(options)) or [[]] * len(options)
    numbers, leads, count = [], [], 0
    for option, rows in zip(options, blocks):
        chains = chains_of(run("why", sheet, "--csv", "--option", option))
        if sorted(row[0].value for row in rows) != list(range(1, len(chains) + 1)):
            numbers.append(f"{option}: numbers are not those of {len(chains)} chains")
            continue
        for row in rows:
            chain = chains[int(row[0].value) - 1]
            shown = row[6].value if row[2].value == "cost" else row[8].value
            if abs(abs(shown) - abs(float(Fraction(chain[1]["value"])))) > 1e-9:
                numbers.append(f"{option} {row[0].value} {row[2].value}: {shown}, why {chain[1]['value']}")
            if row[0].hyperlink is None:
                continue
            count += 1
            name, cell = row[0].hyperlink.location.split("!")
            value = book[name][cell].offset(0, 1).value
            if all(abs(float(Fraction(step["value"])) - value) > 1e-9 for step in chain.values()):
                leads.append(f"{option} {row[0].value} leads to {name}!{cell}, {value}: no step of its chain")
    for name in ("Workings", "Rates", "Quantities"):
        for row in book[name].iter_rows(min_row=5):
            if row[0].hyperlink is not None:
                back = row[0].hyperlink.location.split("!")
                if back[0] != "Lines" or not book["Lines"][back[1]].value:
                    leads.append(f"{name}!{row[0].coordinate} leads to {'!'.join(back)}")
    verdict(f"{sheet}: each number on Lines is the one that why takes", numbers)
    verdict(f"{sheet}: each of {count} numbers leads to a step of its chain, and back", leads if count else ["none"])


def main():
    for sheet in sorted(pathlib.Path("demo").glob("*.csv")):
        with tempfile.TemporaryDirectory() as folder:
            check_links(sheet, folder)
    for sheet in sorted(pathlib.Path("demo").glob("*.csv")):
        for option in Sheet(sheet).options:
            check(sheet, sheet, option, SHIPPED)
        with tempfile.TemporaryDirectory() as folder:
            check_break_evens(sheet, sheet, "base", SHIPPED, folder)
    with tempfile.TemporaryDirectory() as folder:
        for title, change, regions, currencies in made.SETS[1:]:
            books = made.copy_books(SHIPPED, pathlib.Path(folder) / title, change)
            for index in range(len(cases.KINDS)):
                drawn = random.Random(f"chains {title} {index}")
                draft = cases.draft_of(drawn, title, index, regions, currencies)
                sheet = draft.write(folder)
                check(draft.name, sheet, "base", books)
                check_break_evens(draft.name, sheet, "base", books, folder)
    print("# " + ", ".join(f"{count} {word}" for word, count in compared.items()))
    return 1 if failures or not compared["book leaves"] or compared["of them where lines meet"] < 40 else 0


if __name__ == "__main__":
    sys.exit(main())
