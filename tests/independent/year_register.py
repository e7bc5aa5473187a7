"""What the register itself says, against what was played: its list, and the nights' repricing.

Part of year.py. Each check answers a list of troubles, empty where all is as worked out.
"""
import csv
import io
from fractions import Fraction

from year_life import replay
from year_play import text
from year_sheets import priced

MOVES = ("metal", "stones", "labour", "services", "rates")


def references(studio, until=None):
    """Each reference with its events, up to the end of a day."""
    found = {}
    for event in studio.events:
        if until is None or event.day <= until:
            found.setdefault(event.reference, []).append(event)
    return found


def differs(what, wanted, row):
    return [f"{what}: {word} is {row.get(word)!r}, worked out {value!r}"
            for word, value in wanted.items() if row.get(word) != value]


def shown(value):
    """A text column: one more ' before what a spreadsheet could take for a formula."""
    value = " ".join(value.split())
    return "'" + value if value.lstrip(" '")[:1] in ("=", "+", "-", "@") else value


def listed(studio):
    """`register --csv`: one row a quote."""
    out = studio.expect(0, "register", "--csv")
    rows = {(row["reference"], row["revision"]): row for row in csv.DictReader(io.StringIO(out))}
    troubles = []
    for reference, events in references(studio).items():
        life = replay(events, studio.quotes)
        for number, one in life.revisions.items():
            quote = studio.quotes[(reference, number)]
            option = one.option or quote.names[0]
            totals = quote.options[option].totals
            binds = number == life.binding
            state = "expired" if one.state == "open" else one.state
            wanted = {
                "option": option, "state": state, "client": shown(quote.client), "currency": quote.currency,
                "total": text(totals["total"], quote.places), "issued": one.issued.isoformat(),
                "valid until": quote.valid_until.isoformat(),
                "accepted": one.accepted.isoformat() if one.accepted else "",
                "delivered": one.delivered.isoformat() if one.delivered else "",
                "bought": "yes" if one.bought else "no", "to pay": text(totals["to pay"], quote.places),
                "received": text(life.paid - life.refunded if binds else Fraction(0), quote.places),
                "balance": text(life.balance() if binds else Fraction(0), quote.places),
            }
            row = rows.pop((reference, str(number)), {})
            troubles += differs(quote.file, wanted, row)
    return troubles + [f"{key}: nothing of ours" for key in rows]


def repriced(studio, day):
    """`reprice --as-of`: each open quote costed again by the model, on the books of that day."""
    before = len(studio.events)
    out = studio.expect(0, "reprice", "--csv", "--as-of", day)
    rows = {(row["reference"], row["revision"], row["option"]): row
            for row in csv.DictReader(io.StringIO(out))}
    troubles, seen = [], 0
    for reference, events in references(studio).items():
        life = replay(events, studio.quotes)
        number = life.newest
        if life.revisions[number].state != "open":
            continue
        quote = studio.quotes[(reference, number)]
        for option in quote.names:
            seen += 1
            row = rows.pop((reference, str(number), option), {})
            was = quote.options[option].totals["total"]
            wanted = {"was": text(was, quote.places), "currency": quote.currency}
            if quote.valid_until < day:
                wanted["class"] = "expired"
            else:
                now = priced(quote.sheet, studio.books, option, day).totals["total"]
                wanted |= {"now": text(now, quote.places), "difference": text(now - was, quote.places)}
                if abs(now - was) * 100 > 2 * was:
                    wanted["class"] = "beyond"
            troubles += differs(f"{quote.file} {option}", wanted, row)
            if row.get("difference") and sum(Fraction(row[word]) for word in MOVES) != Fraction(row["difference"]):
                troubles.append(f"{quote.file} {option}: the moves don't add up to the difference: {row}")
    if len(studio.events) != before or not seen:
        troubles.append(f"{seen} open quotes were looked at")
    return troubles + [f"{key}: not open" for key in rows]
