"""A year of a studio, played through the real commands.

A commission's life is a generator: it acts, and yields how many days pass until it acts again; the
studio wakes them in the order of their days. What was done is kept as events of our own. Now and
then something is tried that may not follow: it must end with 77 and leave the register as it was.
"""
import datetime
import hashlib
import heapq
import pathlib
import subprocess
from fractions import Fraction

from year_books import YEAR
from year_life import Event, MAY_FOLLOW, replay
from year_sheets import PROGRAM, books_on, quoted, set_cell

LAST = datetime.date(YEAR, 12, 31)
REFUSED, FAULTY = 77, 65
NEEDS_AMOUNT = ("paid", "refund", "credit")
TRIED = ("decline", "paid", "refund", "credit", "bought", "deliver", "cancel", "accept")


def text(amount, places):
    units = abs(amount) * 10**places
    assert units.denominator == 1, amount
    digits = str(units.numerator).rjust(places + 1, "0")
    whole = digits if places == 0 else f"{digits[:-places]}.{digits[-places:]}"
    return "-" + whole if amount < 0 else whole


class Studio:
    """One studio's folder, register, events and troubles."""

    def __init__(self, name, folder, books, random):
        self.name, self.folder, self.books, self.random = name, pathlib.Path(folder), books, random
        self.register = self.folder / "tallystone.db"
        self.out = self.folder / "papers"
        self.sheets = self.folder / "sheets"
        self.sheets.mkdir(parents=True)
        self.events, self.quotes, self.troubles = [], {}, []
        self.refusals = self.commands = 0
        self.waiting, self.woken = [], 0

    def run(self, *arguments):
        self.commands += 1
        done = subprocess.run([PROGRAM, *map(str, arguments), "--books", self.books, "--register",
                               self.register], capture_output=True, text=True, check=False)
        return done.returncode, done.stdout, done.stderr

    def expect(self, code, *arguments):
        got, out, err = self.run(*arguments)
        if got != code:
            words = " ".join(map(str, arguments))
            self.troubles.append(f"{words}: exit {got}, expected {code}: {err.strip()[:300]}")
        return out

    def digest(self):
        return hashlib.sha256(self.register.read_bytes()).hexdigest()

    def refused(self, code, *arguments):
        """What must be refused, and must change nothing."""
        before = self.digest()
        self.expect(code, *arguments)
        self.refusals += 1
        if self.digest() != before:
            self.troubles.append(f"{' '.join(map(str, arguments))}: refused, but the register changed")

    def happened(self, event, out):
        """Keeps an event; the program says its number where it says one."""
        self.events.append(event)
        said = out.strip().rpartition("event ")[2] if "event " in out else str(event.id)
        if said != str(event.id):
            self.troubles.append(f"{event}: the program calls it event {said}")
        return event

    def next_id(self):
        return len(self.events) + 1

    def of(self, reference):
        return [event for event in self.events if event.reference == reference]

    def begin(self, day, commission, life):
        self.woken += 1
        heapq.heappush(self.waiting, (day, self.woken, commission, life))

    def play(self, until=LAST):
        """Wakes each life in turn up to a day; those that go on stay waiting."""
        while self.waiting and self.waiting[0][0] <= until:
            day, _, commission, life = heapq.heappop(self.waiting)
            commission.day = day
            gap = next(life, None)
            if gap is not None:
                self.begin(day + datetime.timedelta(days=gap), commission, life)


class Commission:
    """One reference: what its life may do, in terms of the commands."""

    def __init__(self, studio, reference, draft):
        self.studio, self.reference, self.draft = studio, reference, draft
        self.day = None
        self.revisions = {}
        self.receipts = 0

    # --- what is known -------------------------------------------------------------------------

    def life(self):
        return replay(self.studio.of(self.reference), self.studio.quotes)

    def quote(self):
        life = self.life()
        return self.revisions[life.binding or life.newest]

    def priced(self):
        life = self.life()
        return life.priced(life.binding or life.newest)

    def stage(self, name):
        return dict(self.priced().stages)[name]

    def traded(self):
        return -self.priced().totals["trade-in"]

    def owed(self):
        """What is still to come in of the total, old metal included."""
        life = self.life()
        return self.priced().totals["total"] - life.reduced - (life.paid - life.refunded)

    def part(self, amount, share):
        """A share of an amount, at an odd cent."""
        units = 10 ** self.quote().places
        return Fraction(int(amount * units * share), units)

    # --- doing ---------------------------------------------------------------------------------

    def on(self):
        return ("--on", self.day.isoformat())

    def happened(self, kind, out, revision, **more):
        event = Event(self.studio.next_id(), kind, self.reference, revision, self.day, **more)
        return self.studio.happened(event, out)

    def issue(self, revise=False):
        studio = self.studio
        revision = self.life().newest + 1 if revise else 1
        quote = quoted(self.draft, revision, self.day, studio.sheets, studio.books)
        studio.quotes[(self.reference, revision)] = quote
        what = ("revise", self.reference, quote.sheet) if revise else ("issue", quote.sheet)
        out = studio.expect(0, *what, "--out", studio.out, "--reason", "agreed with the bench", *self.on())
        self.revisions[revision] = quote
        self.happened("revise" if revise else "issue", out, revision)

    def revise(self, *cells):
        for part, measure, value, unit in cells:
            set_cell(self.draft, part, measure, value, unit)
        self.issue(revise=True)

    def accept(self, *more):
        newest = self.life().newest
        quote = self.revisions[newest]
        option = self.studio.random.choice(quote.names)
        if len(quote.names) > 1:
            self.studio.refused(REFUSED, "accept", self.reference, *more, *self.on())
            more = ("--option", option, *more)
        out = self.studio.expect(0, "accept", self.reference, *more, *self.on())
        self.happened("accept", out, newest, option=option)

    def simple(self, kind, *more):
        life = self.life()
        revision = life.newest if kind == "decline" else life.binding
        out = self.studio.expect(0, kind, self.reference, *more, *self.on())
        return self.happened(kind, out, revision)

    def money(self, kind, amount, *more, **known):
        shown = text(amount, self.quote().places)
        revision = self.life().binding
        out = self.studio.expect(0, kind, self.reference, shown, *more, *self.on())
        return self.happened(kind, out, revision, amount=amount, **known)

    def pay(self, amount, by="bank", stage="", receipt=None, *more):
        if receipt is None:
            self.receipts += 1
            receipt = f"{self.reference}/{self.receipts}"
        said = ("--by", by, *(("--stage", stage) if stage else ()), *(("--receipt", receipt) if receipt else ()))
        return self.money("paid", amount, *said, *more, way=by, stage=stage, receipt=receipt)

    def refund(self, amount, by="bank"):
        return self.money("refund", amount, "--by", by, way=by)

    def credit(self, amount):
        return self.money("credit", amount, "--reason", "a scratch")

    def cancel(self, keep=None):
        revision = self.life().binding
        more = () if keep is None else ("--keep", text(keep, self.quote().places))
        out = self.studio.expect(0, "cancel", self.reference, *more, *self.on())
        return self.happened("cancel", out, revision, amount=keep or Fraction(0))

    def void(self, event):
        out = self.studio.expect(0, "void", event.id, "--reason", "mistyped", *self.on())
        return self.happened("void", out, event.revision, voids=event.id)

    def tax_moved(self):
        """Whether a rate of the region is no longer the one that the quote was taxed at."""
        rows = books_on(self.studio.books, self.day).find("taxes", region=self.quote().region)
        now = {(row["name"].strip(), Fraction(row["rate"])) for row in rows}
        return any(tax.key not in now for tax in self.priced().tax_rows)

    def deliver(self):
        """Hands the piece over; where the tax rate has changed only after a revision."""
        if self.tax_moved():
            self.studio.refused(REFUSED, "deliver", self.reference, *self.on())
            self.revise()
            yield 1
            self.accept()
            yield 2
        self.simple("deliver")

    # --- what may not follow -------------------------------------------------------------------

    def try_wrong(self):
        """Something that the table of states does not let follow."""
        life = self.life()
        if life.binding and life.binding != life.newest:
            return
        allowed = MAY_FOLLOW[life.state()]
        kind = self.studio.random.choice([word for word in TRIED if word not in allowed])
        amount = (text(Fraction(10), self.quote().places),) if kind in NEEDS_AMOUNT else ()
        option = ("--option", self.quote().names[0]) if kind == "accept" else ()
        self.studio.refused(REFUSED, kind, self.reference, *amount, *option, *self.on())
