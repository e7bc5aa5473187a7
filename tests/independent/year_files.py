"""The four CSV files and the manifest of an export, row by row against what was worked out.

Part of year.py. Each check takes a folder and answers troubles, so that a copy with one figure
changed can be put before it, too.
"""
import datetime
import pathlib
from fractions import Fraction

import year_reading as reading
from pricing_books import plain
from year_ledger import home
from year_life import replay
from year_play import text
from year_register import references, shown

COLUMNS = {
    "quotes.csv": "id,reference,revision,option,state,replaces,client,region,currency,issued,accepted,delivered,"
                  "net,tax,total,trade-in,to pay,paid,balance",
    "lines.csv": "id,reference,revision,option,line,section,item,quantity,unit,price,tax category",
    "taxes.csv": "id,date,reference,revision,event,region,category,name,rate,base,tax,currency,home rate,home tax",
    "payments.csv": "id,date,written,reference,stage,by,receipt,amount,currency,voids",
}


class Period:
    """A studio's ledger and the days that an export is of."""

    def __init__(self, studio, ledger, first, last):
        self.studio, self.ledger, self.first, self.last = studio, ledger, first, last
        self.events = ledger.between(first, last)

    def name(self):
        return f"{self.first}--{self.last}"

    def places(self, event):
        return self.studio.quotes[(event.reference, event.revision)].places

    def currency(self, event):
        return self.studio.quotes[(event.reference, event.revision)].currency


def compared(file, wanted, found):
    """Rows in their order; every wanted cell is looked at."""
    troubles = []
    if len(wanted) != len(found):
        troubles.append(f"{file}: {len(found)} rows, worked out {len(wanted)}")
    for number, (ours, row) in enumerate(zip(wanted, found), 2):
        troubles += [f"{file}:{number}: {word} is {row.get(word)!r}, worked out {value!r}; {ours}"
                     for word, value in ours.items() if row.get(word) != value]
    return troubles[:12]


def headers(period, folder):
    troubles = []
    for file, columns in COLUMNS.items():
        first = (pathlib.Path(folder) / file).read_text(encoding="utf-8").partition("\n")[0]
        if not (first + ",").startswith(columns + ","):
            troubles.append(f"{file}: the columns are {first}, promised are {columns}")
    return troubles


def paid_by(ledger, event):
    """Money that came in, or went out, with an event; of a credit what was given back from bank."""
    if event.kind == "credit":
        return ledger.entries[event.id].postings.get(ledger.account("bank"), 0)
    return {"paid": event.amount, "refund": -(event.amount or 0)}.get(event.kind)


def payments(period, folder):
    wanted = []
    for event in period.events:
        origin = event
        if event.kind == "void":
            origin = next(old for old in period.ledger.events if old.id == event.voids)
        amount = paid_by(period.ledger, origin)
        if not amount:
            continue
        amount = amount if origin is event else -amount
        wanted.append({
            "id": f"e{event.id}", "date": event.day.isoformat(), "reference": shown(event.reference),
            "stage": event.stage, "by": origin.way or "bank", "receipt": shown(event.receipt),
            "amount": text(amount, period.places(event)), "currency": period.currency(event),
            "voids": f"e{event.voids}" if event.voids else "",
        })
    return compared("payments.csv", wanted, reading.rows(pathlib.Path(folder) / "payments.csv"))


def by_rate(row):
    return int(row["id"][1:].partition("-")[0]), row["name"], Fraction(row["rate"]), row["category"]


def taxes(period, folder):
    """Each rate's part of each event, whatever the order within one event."""
    wanted = []
    for event in period.events:
        for row in period.ledger.taxes[event.id]:
            places = row.quote.places
            rate, amount = home(row.tax, row.quote, period.studio.books, row.day)
            wanted.append({
                "id": f"e{event.id}", "date": event.day.isoformat(), "reference": row.quote.reference,
                "revision": str(row.quote.revision), "event": row.event, "region": row.of.region,
                "category": row.of.category, "name": row.of.name, "rate": plain(row.of.rate),
                "base": text(row.base, places), "tax": text(row.tax, places), "currency": row.quote.currency,
                "home rate": plain(rate), "home tax": text(amount, 2),
            })
    found = reading.rows(pathlib.Path(folder) / "taxes.csv")
    ids = [row["id"] for row in found]
    troubles = [] if len(set(ids)) == len(ids) else ["taxes.csv: an id twice"]
    found.sort(key=by_rate)
    for row in found:
        row["id"] = row["id"].partition("-")[0]
    return troubles + compared("taxes.csv", sorted(wanted, key=by_rate), found)


def numbers(period):
    """Quotes by the order of their issue."""
    issued = [event for event in period.ledger.events if event.kind in ("issue", "revise")]
    return {(event.reference, event.revision): number for number, event in enumerate(issued, 1)}


def listed(period):
    """What a period is about: every revision of the references that something happened to in it;
    (number, quote, option, its place, standing, life); the first option until one is accepted."""
    touched = {event.reference for event in period.events}
    known = references(period.studio, period.last)
    found = []
    for (reference, revision), number in numbers(period).items():
        if reference not in touched or reference not in known:
            continue
        life = replay(known[reference], period.studio.quotes)
        if revision not in life.revisions:
            continue
        quote, one = period.studio.quotes[(reference, revision)], life.revisions[revision]
        for place, option in enumerate(quote.names, 1):
            if option == (one.option or quote.names[0]):
                found.append((number, quote, option, place, one, life))
    order = list(dict.fromkeys(entry[1].reference for entry in found))
    return sorted(found, key=lambda entry: (order.index(entry[1].reference), entry[1].revision))


def quotes(period, folder):
    wanted = []
    for number, quote, option, _, one, life in listed(period):
        totals, binds = quote.options[option].totals, quote.revision == life.binding
        state = "expired" if one.state == "open" and quote.valid_until < period.last else one.state
        figures = {word: totals[word] for word in ("net", "tax", "total", "to pay")}
        figures |= {"trade-in": -totals["trade-in"],
                    "paid": life.paid - life.refunded if binds else Fraction(0),
                    "balance": life.balance() if binds else Fraction(0)}
        wanted.append({
            "id": f"q{number}", "reference": shown(quote.reference), "revision": str(quote.revision),
            "option": option, "state": state,
            "replaces": f"{quote.reference}-r{quote.revision - 1}" if quote.revision > 1 else "",
            "client": shown(quote.client), "region": quote.region, "currency": quote.currency,
            "issued": one.issued.isoformat(), "accepted": one.accepted.isoformat() if one.accepted else "",
            "delivered": one.delivered.isoformat() if one.delivered else "",
        } | {word: text(value, quote.places) for word, value in figures.items()})
    return compared("quotes.csv", wanted, reading.rows(pathlib.Path(folder) / "quotes.csv"))


def line_key(row):
    return row["section"], row["price"], row["tax category"]


def lines(period, folder):
    """Every line of the options listed, by section, price and tax category; they add up to `lines`."""
    found = {}
    for row in reading.rows(pathlib.Path(folder) / "lines.csv"):
        found.setdefault(row["id"].rpartition("-")[0], []).append(row)
    troubles = []
    for number, quote, option, place, _, _ in listed(period):
        rows = found.pop(f"q{number}-{place}", [])
        priced = quote.options[option]
        wanted = sorted((line.section, text(line.price, quote.places), priced.category_of(line))
                        for line in priced.lines if line.quantity or line.price)
        have = sorted(line_key(row) for row in rows if row["quantity"] not in ("0",) or Fraction(row["price"]))
        if wanted != have:
            odd = [key for key in wanted if key not in have][:2] + [key for key in have if key not in wanted][:2]
            troubles.append(f"lines.csv {quote.file} {option}: {len(have)} lines, worked out {len(wanted)}: {odd}")
        for count, row in enumerate(rows, 1):
            if (row["id"], row["line"], row["option"]) != (f"q{number}-{place}-{count}", str(count), option):
                troubles.append(f"lines.csv {row['id']}: line {row['line']} of {row['option']}")
    return troubles + [f"lines.csv {key}: of no quote of the period" for key in found]


def manifest(_, folder):
    """Rows, sum and SHA-256 of every file, and that no other is there."""
    files = reading.bytes_of(folder)
    files.pop("manifest.csv")
    troubles, heads = [], set()
    for row in reading.rows(pathlib.Path(folder) / "manifest.csv"):
        name = row["file"]
        data = files.pop(name, None)
        if data is None or reading.sha256(data) != row["sha256"]:
            troubles.append(f"manifest.csv: {name} is not what was hashed")
            continue
        heads.add(row["register head"])
        count, total = tally(pathlib.Path(folder) / name)
        if (row["rows"], Fraction(row["sum"])) != (str(count), total):
            troubles.append(f"manifest.csv: {name}: {row['rows']} rows, {row['sum']}; counted {count}, {total}")
    troubles += [f"manifest.csv: {name} is not named" for name in files]
    return troubles + ([] if len(heads) == 1 else [f"manifest.csv: {len(heads)} register heads"])


SUMS = {"quotes.csv": "total", "lines.csv": "price", "taxes.csv": "tax", "payments.csv": "amount"}


def tally(path):
    """How many rows, entries or documents a file has, and what they add up to."""
    if path.suffix == ".xml":
        return 1, reading.money(reading.quotation(path), "QuotedMonetaryTotal", "PayableAmount")
    if path.suffix == ".journal":
        entries = reading.hledger_entries(path)
        return len(entries), sum((amount for entry in entries for amount in entry[3].values() if amount > 0),
                                 Fraction(0))
    rows = reading.rows(path)
    return len(rows), sum((Fraction(row[SUMS[path.name]]) for row in rows), Fraction(0))


def month(number, year):
    first = datetime.date(year, number, 1)
    after = datetime.date(year + number // 12, number % 12 + 1, 1)
    return first, after - datetime.timedelta(days=1)
