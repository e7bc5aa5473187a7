"""The bookkeeper's figures of a year, worked out from events by the specification alone.

Each event is worked out once, in the order of the events' numbers: what tax is declared on it, what
it moves between accounts. Debits are positive, credits negative. A void turns what the voided event
did, on its own day. Part of year.py.
"""
from dataclasses import dataclass, field
from fractions import Fraction

from pricing_books import number, rounded, shares
from year_life import Life, replay
from year_sheets import Tax, books_on


@dataclass
class TaxRow:
    """A row of taxes.csv; `day` is that of its home rate: of a void, the voided event's."""

    id: int
    day: object
    quote: object
    event: str
    of: Tax
    base: Fraction
    tax: Fraction


@dataclass
class Entry:
    """What one event does to the accounts: account -> amount."""

    event: object
    currency: str
    postings: dict = field(default_factory=dict)

    def post(self, account, amount):
        if amount:
            self.postings[account] = self.postings.get(account, Fraction(0)) + amount
            if not self.postings[account]:
                del self.postings[account]


class Ledger:
    """Entries, tax rows and payments of all events of a studio."""

    def __init__(self, events, quotes, books, accounts):
        self.events, self.quotes, self.books, self.accounts = events, quotes, books, accounts
        self.entries, self.taxes = {}, {}  # by event id
        for reference in dict.fromkeys(event.reference for event in events):
            Account(self, [event for event in events if event.reference == reference]).work()

    def account(self, *words):
        """The account of the first word that accounts.csv knows."""
        for word in words:
            if word in self.accounts:
                return self.accounts[word]
        raise KeyError(words)

    def between(self, first, last):
        return [event for event in self.events if first <= event.day <= last]


class Account:
    """The money of one reference."""

    def __init__(self, ledger, events):
        self.ledger, self.events = ledger, events
        self.life = Life()
        self.quote = self.priced = None
        self.declared = {}  # rate's key -> [Tax, base, tax]
        self.balances = {}  # account -> amount
        self.places = 2

    def work(self):
        for index, event in enumerate(self.events):
            self.life = replay(self.events[:index], self.ledger.quotes)
            revision = self.life.binding if self.life.revisions else None
            self.quote = self.ledger.quotes[(event.reference, revision or event.revision)]
            self.places = self.quote.places
            option = self.life.revisions[revision].option if revision else self.quote.names[0]
            self.priced = self.quote.options[option]
            entry, rows = Entry(event, self.quote.currency), []
            act = getattr(self, f"on_{event.kind}", None)
            if act is not None:
                act(event, entry, rows)
            self.keep(event, entry, rows)

    def keep(self, event, entry, rows):
        for row in rows:
            if row.of.category == "retained":
                continue
            old = self.declared.setdefault(row.of.key, [row.of, Fraction(0), Fraction(0)])
            old[1] += row.base
            old[2] += row.tax
        for account, amount in entry.postings.items():
            self.balances[account] = self.balances.get(account, Fraction(0)) + amount
        assert sum(entry.postings.values(), Fraction(0)) == 0, (event, entry)
        self.ledger.entries[event.id] = entry
        self.ledger.taxes[event.id] = [row for row in rows if row.base or row.tax]

    # --- helpers -------------------------------------------------------------------------------

    def money(self, value):
        return rounded(value, self.places)

    def total(self):
        return self.priced.totals["total"]

    def state(self):
        return self.life.revisions[self.life.binding].state

    def named(self, *words):
        return self.ledger.account(*words)

    def balance(self, *words):
        return self.balances.get(self.named(*words), Fraction(0))

    def tax_row(self, event, tax, base, amount):
        return TaxRow(event.id, event.day, self.quote, event.kind, tax, base, amount)

    def post_taxes(self, entry, rows):
        for row in rows:
            entry.post(self.named(row.of.name), -row.tax)
        return sum((row.tax for row in rows), Fraction(0))

    def way(self, event):
        return self.named("trade-in metal") if event.way == "trade-in" else self.named(event.way or "bank")

    # --- events --------------------------------------------------------------------------------

    def on_paid(self, event, entry, rows):
        entry.post(self.way(event), event.amount)
        if self.state() == "delivered":
            entry.post(self.named("receivable"), -event.amount)
            return
        reached = self.life.held + event.amount >= self.total()
        for tax in self.priced.tax_rows:
            if tax.due == "payment":
                rows.append(self.left(event, tax) if reached else self.share(event, tax, event.amount))
        taxed = self.post_taxes(entry, rows)
        entry.post(self.named("deposits"), -(event.amount - taxed))

    def left(self, event, tax):
        """What is not yet declared of a rate of the quote."""
        _, base, amount = self.declared.get(tax.key, (tax, Fraction(0), Fraction(0)))
        return self.tax_row(event, tax, tax.base - base, tax.tax - amount)

    def share(self, event, tax, amount):
        """What a rate's tax is of an amount of money, never more than what is left of it."""
        row = self.left(event, tax)
        row.base = min(max(row.base, 0), self.money(amount * tax.base / self.total()))
        row.tax = min(max(row.tax, 0), self.money(amount * tax.tax / self.total()))
        return row

    def on_deliver(self, event, entry, rows):
        """The quote's tax less what was declared; deposits and what is still due become sales."""
        now = {tax.key: tax for tax in self.priced.tax_rows}
        for key, (tax, base, amount) in list(self.declared.items()):
            if key not in now and (base or amount):
                rows.append(self.tax_row(event, tax, -base, -amount))
        rows += [self.left(event, tax) for tax in now.values()]
        self.post_taxes(entry, rows)
        entry.post(self.named("deposits"), -self.balance("deposits"))
        entry.post(self.named("receivable"), self.total() - self.life.held)
        for account, amount in self.sales().items():
            entry.post(account, -amount)

    def sales(self):
        """Net by account: each service and each section, and its share of what was added or
        taken off."""
        groups = {}
        for line in self.priced.lines:
            key = (line.section, line.category)
            groups[key] = groups.get(key, Fraction(0)) + line.price
        off = self.priced.totals["net"] - self.priced.totals["lines"]
        found = {}
        for (section, category), price, part in zip(groups, groups.values(),
                                                    shares(off, list(groups.values()), self.places)):
            account = self.named(f"sales {category}", f"sales {section}", "sales")
            found[account] = found.get(account, Fraction(0)) + price + part
        return found

    def on_cancel(self, event, entry, rows):
        """What is kept: its declared tax is turned back, that of `retained` is declared."""
        kept = event.amount
        if not kept:
            return
        rows += self.turned(event, kept, self.life.held)
        books = books_on(self.ledger.books, event.day)
        retained = [row for row in books.find("taxes", region=self.quote.region, category="retained")]
        every = sum((number(row["rate"]) for row in retained), Fraction(0))
        for row in retained:
            tax = Tax(row, Fraction(0), Fraction(0))
            amount = self.money(kept * tax.rate / (100 + every))
            rows.append(self.tax_row(event, tax, kept, amount))
        taxed = self.post_taxes(entry, rows)
        net = sum((row.tax for row in rows if row.of.category == "retained"), Fraction(0))
        for row in rows:
            row.base -= net if row.of.category == "retained" else 0
        entry.post(self.named("retained"), -(kept - net))
        entry.post(self.named("deposits"), kept - net + taxed)

    def turned(self, event, amount, whole):
        """What was declared on an amount that goes back: all that is left with the last of it; by the
        quote's rates as it came in; in proportion where some was declared at rates of another."""
        quoted = {tax.key: tax for tax in self.priced.tax_rows}
        held = [(tax, base, part) for tax, base, part in self.declared.values()
                if base or part]
        rows = []
        for tax, base, part in held:
            if amount == whole:
                row = self.tax_row(event, tax, base, part)
            elif all(other.key in quoted for other, _, _ in held):
                now = quoted[tax.key]
                row = self.tax_row(event, tax, min(base, self.money(amount * now.base / self.total())),
                                   min(part, self.money(amount * now.tax / self.total())))
            else:
                row = self.tax_row(event, tax, self.money(base * amount / whole), self.money(part * amount / whole))
            row.base, row.tax = -row.base, -row.tax
            rows.append(row)
        return rows

    def on_refund(self, event, entry, rows):
        rows += self.turned(event, event.amount, self.life.held)
        entry.post(self.way(event), -event.amount)
        taxed = self.post_taxes(entry, rows)
        entry.post(self.named("deposits"), event.amount + taxed)

    def on_credit(self, event, entry, rows):
        """Off the receivable as far as there is one; the rest is given back."""
        rows += self.turned(event, event.amount, self.total() - self.life.credited)
        taxed = self.post_taxes(entry, rows)
        entry.post(self.named("sales"), event.amount + taxed)
        due = max(Fraction(0), min(self.balance("receivable"), event.amount))
        entry.post(self.named("receivable"), -due)
        entry.post(self.named("bank"), -(event.amount - due))

    def on_void(self, event, entry, rows):
        """Sides turned. Money that meanwhile became part of a sale, or a deposit again, is taken from
        where it is now, and no tax moves; what came in since a voided delivery is a deposit."""
        target = self.ledger.entries[event.voids]
        delivered = self.life.binding is not None and self.state() == "delivered"
        now = self.named("receivable" if delivered else "deposits")
        money = target.event.kind in ("paid", "refund")
        if money and not target.postings.get(now):
            way = self.way(target.event)
            entry.post(way, -target.postings[way])
            entry.post(now, target.postings[way])
            return
        for account, amount in target.postings.items():
            entry.post(account, -amount)
        if target.event.kind == "deliver":
            receivable = self.named("receivable")
            left = self.balance("receivable") + entry.postings.get(receivable, Fraction(0))
            entry.post(receivable, -left)
            entry.post(self.named("deposits"), left)
        for row in self.ledger.taxes[event.voids]:
            turned = self.tax_row(event, row.of, -row.base, -row.tax)
            turned.quote, turned.day = row.quote, row.day
            rows.append(turned)


def home(amount, quote, books, day):
    """An amount in the studio's own currency, and the rate of the day."""
    books = books_on(books, day)
    rate = books.round6(books.rate(quote.currency, books.currency))
    return rate, rounded(amount * rate, 2)

