"""The journal of an export, read by hledger and ledger, against our own entries.

Part of year.py.
"""
import pathlib
from fractions import Fraction

import year_reading as reading
from year_life import replay
from year_register import references


def path_of(folder):
    return pathlib.Path(folder) / "books.journal"


def accepted(folder):
    """Both programs take it, strictly: balanced, accounts and commodities declared."""
    troubles = []
    for command in (("hledger", "-f", path_of(folder), "check", "--strict"),
                    ("ledger", "-f", path_of(folder), "--pedantic", "bal")):
        code, _, err = reading.told(*command)
        troubles += [f"{command[0]}: exit {code}: {err.strip()[:300]}"] if code else []
    return troubles


def entries(period, folder):
    """Each event's entry, account by account."""
    found = {}
    for date, code, words, postings in reading.hledger_entries(path_of(folder)):
        if code in found:
            return [f"books.journal: {code} twice"]
        found[code] = (date, {key: amount for key, amount in postings.items() if amount})
    troubles = []
    for event in period.events:
        entry = period.ledger.entries[event.id]
        wanted = {(account, entry.currency): amount for account, amount in entry.postings.items()}
        date, have = found.pop(f"e{event.id}", ("", {}))
        if wanted != have or (wanted and date != event.day.isoformat()):
            troubles.append(f"e{event.id} {event.kind} {event.reference} {date}: "
                            f"{plainly(have)}; worked out {plainly(wanted)}")
    return troubles + [f"books.journal: {code} is no event that moves money in the period" for code in found]


def plainly(postings):
    return ", ".join(f"{account} {float(amount)} {code}" for (account, code), amount in sorted(postings.items()))


def balances(period, folder):
    """What both programs find in each account."""
    wanted = {}
    for event in period.events:
        entry = period.ledger.entries[event.id]
        for account, amount in entry.postings.items():
            key = (account, entry.currency)
            wanted[key] = wanted.get(key, Fraction(0)) + amount
    wanted = {key: amount for key, amount in wanted.items() if amount}
    troubles = []
    for name, read in (("hledger", reading.hledger_balances), ("ledger", reading.ledger_balances)):
        have = read(path_of(folder))
        for key in sorted(wanted.keys() | have.keys()):
            if wanted.get(key, 0) != have.get(key, 0):
                troubles.append(f"{name}: {key} holds {have.get(key, 0)}, worked out {wanted.get(key, 0)}")
    return troubles


def deposits(period, folder):
    """As the journal has it: of what is delivered, or cancelled and settled, no deposit is held; of
    what is delivered, the receivable is the balance."""
    held, due = {}, {}
    accounts = {period.ledger.account("deposits"): held, period.ledger.account("receivable"): due}
    by_id = {f"e{event.id}": event for event in period.events}
    for _, code, _, postings in reading.hledger_entries(path_of(folder)):
        for (account, _), amount in postings.items():
            if account in accounts and code in by_id:
                sums, reference = accounts[account], by_id[code].reference
                sums[reference] = sums.get(reference, Fraction(0)) + amount
    troubles, settled = [], 0
    for reference, events in references(period.studio, period.last).items():
        life = replay(events, period.studio.quotes)
        state = life.state()
        if state == "delivered" or (state == "cancelled" and life.held == 0):
            settled += 1
            if held.get(reference, 0):
                troubles.append(f"{reference} is {state}, and {held[reference]} is held as deposit")
        if state == "delivered" and due.get(reference, 0) != life.balance():
            troubles.append(f"{reference}: {due.get(reference, 0)} is receivable, the balance is {life.balance()}")
    return troubles + ([] if settled > 15 else [f"only {settled} commissions are settled"])
