"""What a bookkeeper does with the exports of a year, and what must hold of them together.

Part of year.py.
"""
import csv
import datetime
import pathlib
import re
import shutil
from fractions import Fraction

import year_files as files
import year_journal as journal
import year_quotation as quotation
import year_reading as reading
from year_books import YEAR
from year_files import Period, month
from year_life import Event, replay
from year_play import REFUSED, text
from year_register import references

MONTHS = [month(number, YEAR) for number in range(1, 13)]
WHOLE = (MONTHS[0][0], MONTHS[-1][1])
QUARTER = (MONTHS[0][0], MONTHS[2][1])


def export(studio, days, out, *more, code=0):
    """The folder that an export makes."""
    studio.expect(code, "export", "--from", days[0], "--to", days[1], "--out", studio.folder / out, *more)
    return studio.folder / out / f"{days[0]}--{days[1]}"


def close(studio):
    """Closes the first quarter: what is dated in it is refused, in the next it is not."""
    export(studio, QUARTER, "closed", "--close")
    for reference, events in references(studio, QUARTER[1]).items():
        if replay(events, studio.quotes).state() == "delivered":
            studio.refused(REFUSED, "paid", reference, "1", "--on", QUARTER[1])
            studio.refused(REFUSED, "credit", reference, "1", "--on", QUARTER[0] + datetime.timedelta(days=80))
            studio.expect(0, "paid", reference, "1", "--on", MONTHS[3][0], "--dry-run")
            return
    studio.troubles.append("nothing was delivered in the first quarter")


def looked_at(period, folder):
    """Every file of one export, against the ledger."""
    troubles = []
    for check in (files.headers, files.payments, files.taxes, files.quotes, files.lines, files.manifest,
                  journal.entries):
        troubles += check(period, folder)
    return troubles


def of_journal(period, folder):
    return journal.accepted(folder) + journal.balances(period, folder) + journal.deposits(period, folder)


def named(studio):
    """Quotes by the name of their XML."""
    return {quote.file.replace(" ", "_"): quote for quote in studio.quotes.values()}


def quotations(period, folder):
    """A Quotation for each quote issued in the period, and no other."""
    issued = {f"{event.reference}-r{event.revision}".replace(" ", "_") for event in period.events
              if event.kind in ("issue", "revise")}
    paths = {path.stem: path for path in sorted((pathlib.Path(folder) / "quotes").iterdir())}
    troubles = [f"{name}: issued, or a Quotation, but not both" for name in sorted(issued ^ set(paths))]
    for name, quote in named(period.studio).items():
        if name in paths:
            troubles += quotation.check(paths[name], quote)
    return troubles


def put_together(studio):
    """The months' payments and taxes, one after the other, are the year's; so are their quotations."""
    whole = studio.folder / "exports" / f"{WHOLE[0]}--{WHOLE[1]}"
    folders = [studio.folder / "exports" / f"{first}--{last}" for first, last in MONTHS]
    troubles = []
    for file in ("payments.csv", "taxes.csv"):
        year = reading.rows(whole / file)
        months = [row for folder in folders for row in reading.rows(folder / file)]

        def order(row):
            return [int(part) for part in row["id"][1:].split("-")]

        if sorted(months, key=order) != sorted(year, key=order):
            troubles.append(f"{file}: the months have {len(months)} rows, the year {len(year)}, and they differ")
    months = {}
    for folder in folders:
        months |= reading.bytes_of(folder / "quotes")
    if months != reading.bytes_of(whole / "quotes"):
        troubles.append("quotes/: the months' and the year's differ")
    sums = {}
    for folder in folders:
        for key, amount in reading.hledger_balances(folder / "books.journal").items():
            sums[key] = sums.get(key, 0) + amount
    if {key: amount for key, amount in sums.items() if amount} != reading.hledger_balances(whole / "books.journal"):
        troubles.append("books.journal: the months' balances don't add up to the year's")
    return troubles


def same_again(studio):
    """What was exported as each month ended is the same when it is exported after the year."""
    troubles = []
    for days in (*MONTHS, WHOLE):
        first = studio.folder / "exports" / f"{days[0]}--{days[1]}"
        if reading.bytes_of(first) != reading.bytes_of(export(studio, days, "again")):
            troubles.append(f"{first.name} differs")
    export(studio, MONTHS[4], "again")  # onto itself
    return troubles


def swapped(studio, make_ledger):
    """What is written later makes a month differ: it stays until `--replace`, the id is named."""
    december = MONTHS[-1]
    folder = export(studio, december, "again")
    before = reading.bytes_of(folder)
    found = {reference: replay(events, studio.quotes) for reference, events in references(studio).items()}
    lately = {event.reference for event in studio.events if event.day >= december[0]}
    reference = next(name for name, life in found.items() if name in lately and life.state() == "delivered")
    number = found[reference].binding
    amount = Fraction(7)
    shown = text(amount, studio.quotes[(reference, number)].places)
    event = Event(studio.next_id(), "paid", reference, number, december[1], amount=amount, way="cash", receipt="late")
    studio.happened(event, studio.expect(0, "paid", reference, shown, "--by", "cash", "--receipt", "late",
                                         "--on", december[1]))
    code, _, err = studio.run("export", "--from", december[0], "--to", december[1], "--out", studio.folder / "again")
    troubles = [] if code == REFUSED else [f"an export that differs: exit {code}, expected {REFUSED}"]
    if f"e{event.id}" not in err:
        troubles.append(f"e{event.id} is not named: {err.strip()[:200]}")
    if reading.bytes_of(folder) != before:
        troubles.append("the folder that was there did not stay")
    export(studio, december, "again", "--replace")
    return troubles + looked_at(Period(studio, make_ledger(), *december), folder)


# --- what nobody outside may see ---------------------------------------------------------------


def lots(studio):
    found = set()
    for name in ("melee", "stones"):
        with open(studio.books / f"{name}.csv", encoding="utf-8", newline="") as stream:
            found |= {row["lot"].lower() for row in csv.DictReader(stream)}
    return found


def private(studio, folder):
    """No book is named anywhere, no lot and no cost in a client's Quotation."""
    troubles, searched = [], 0
    secret, quotes = lots(studio), named(studio)
    for name, data in reading.bytes_of(folder).items():
        said = data.decode("utf-8").lower()
        words = {"pricebook", "policy.csv", "metals.csv", "melee.csv", "stones.csv", "markup", "margin"}
        if name.endswith(".xml"):
            words |= secret | costs(quotes[pathlib.Path(name).stem])
        figures = set(re.findall(r"[\d.]+", said))
        for word in words:
            searched += 1
            if word in (figures if word[0].isdigit() else said):
                troubles.append(f"{name}: {word}")
    return troubles + ([] if searched > 1000 else [f"only {searched} words were searched for"])


def costs(quote):
    """What lines cost the studio, where that is nothing that the client is told."""
    found, told = set(), set()
    for priced in quote.options.values():
        found |= {line.cost for line in priced.lines} | {priced.totals["cost"]}
        told |= {line.price for line in priced.lines}
        told |= {priced.totals[word] for word in priced.totals if word != "cost"}
        told |= {priced.money(priced.turned(Fraction(row["price"]), row["currency"]))
                 for row in priced.books.tables["services"]}  # what is on offer is told with its price
    return {text(cost, quote.places) for cost in found - told if cost > 50}


# --- the checks can fail -----------------------------------------------------------------------


def one_cent(folder, name):
    """Makes the last amount of a file one cent more; what the manifest must find, then hides it there."""
    path = pathlib.Path(folder) / name
    data = path.read_text(encoding="utf-8")
    ends = {".csv": (",", ","), ".xml": (">", "<"), ".journal": (" ", " ")}[path.suffix]
    at = list(re.finditer(rf"(?<={ends[0]})-?\d+\.\d\d(?={ends[1]})", data))[-1]
    changed = text(Fraction(at.group()) + Fraction(1, 100), 2)
    path.write_text(data[:at.start()] + changed + data[at.end():], encoding="utf-8")
    found = files.manifest(None, folder)
    manifest = pathlib.Path(folder) / "manifest.csv"
    manifest.write_text(manifest.read_text().replace(reading.sha256(data.encode()),
                                                     reading.sha256(path.read_bytes())))
    return bool(found)


def falsified(period, folder):
    """One cent in each file of a copy, and each check objects."""
    troubles = []
    first = next(path.stem for path in sorted((folder / "quotes").iterdir()))
    cases = {
        "payments.csv": files.payments, "taxes.csv": files.taxes, "quotes.csv": files.quotes,
        "lines.csv": files.lines, f"quotes/{first}.xml": quotations,
        "books.journal": lambda p, f: journal.accepted(f) or journal.entries(p, f),
    }
    for name, check in cases.items():
        copy = period.studio.folder / "falsified"
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(folder, copy)
        if check(period, copy):
            troubles.append(f"{name}: objected to before it was changed")
        if not one_cent(copy, name):
            troubles.append(f"{name}: one cent more, and the manifest still holds")
        try:
            objected = bool(check(period, copy))
        except ValueError:
            objected = True  # the accounting program refuses to read it
        if not objected:
            troubles.append(f"{name}: one cent more, and nobody objects")
    return troubles
