#!/usr/bin/python3
"""Plays a whole year of two invented studios and works every figure out again.

One studio is in a state whose sales tax falls due on delivery, the other in a country whose value
added tax falls due with each payment. Thirty commissions each lead the lives of year_lives.py
through the real commands, each on its day; what may not follow is tried, too. What the register, the
nights' repricing and the bookkeeper's files say is then compared with figures of our own, from the
specification alone (year_sheets.py prices, year_life.py keeps the states, year_ledger.py the tax and
the accounts). Run from the top folder with TALLYSTONE naming the program; SEED draws another year.
"""
import concurrent.futures
import datetime
import os
import pathlib
import random
import sys
import tempfile

sys.dont_write_bytecode = True
import year_bookkeeper as bookkeeper  # noqa: E402
import year_reading as reading  # noqa: E402
import year_register as register  # noqa: E402
from year_books import STUDIOS, YEAR, accounts_of, make  # noqa: E402
from year_files import Period  # noqa: E402
from year_ledger import Ledger  # noqa: E402
from year_lives import LIVES  # noqa: E402
from year_play import Commission, Studio  # noqa: E402
from year_sheets import draft_of  # noqa: E402

NIGHTS = (datetime.date(YEAR, 7, 9), datetime.date(YEAR, 10, 20))


def build(name, change, sorts, folder, seed):
    """A studio with its books, and thirty commissions that will begin in the course of the year."""
    root = pathlib.Path(folder) / name
    books = make(change, root / "pricebooks")
    drawn = random.Random(f"{seed} {name}")
    studio = Studio(name, root, books, drawn)
    for index, life in enumerate(LIVES):
        day = datetime.date(YEAR, 1, 6) + datetime.timedelta(days=index * 11 + drawn.randrange(5))
        region, currency = sorts[index % len(sorts)]
        reference = f"{name.upper()} {index + 1:02d}" if index % 7 == 3 else f"{name.upper()}-{index + 1:02d}"
        draft = draft_of(random.Random(f"{seed} {name} {index}"), reference, index, day, region, currency,
                         index % 5 in (0, 4))
        commission = Commission(studio, reference, draft)
        studio.begin(day, commission, life(commission))
    return studio


def played(name, change, sorts, folder, seed):
    """Plays one studio's year, each month exported as it ends: (what is said, troubles) of each case."""
    studio = build(name, change, sorts, folder, seed)
    cases = []
    for days in bookkeeper.MONTHS:
        for night in NIGHTS:
            if days[0] <= night <= days[1]:
                studio.play(night)
                cases.append((f"repriced on {night}", register.repriced(studio, night)))
        studio.play(days[1])
        bookkeeper.export(studio, days, "exports")
        if days[1] == bookkeeper.QUARTER[1]:
            bookkeeper.close(studio)
    bookkeeper.export(studio, bookkeeper.WHOLE, "exports")
    cases.append(("the register lists every quote as it was played", register.listed(studio)))
    cases += exported(studio)
    studio.expect(0, "register", "--verify")
    cases.append((f"{len(studio.events)} events, {studio.refusals} refusals that change nothing",
                  studio.troubles))
    return [(f"{name}: {what}", troubles) for what, troubles in cases]


def exported(studio):
    """The bookkeeper's files of the months and of the year, each figure worked out again."""

    def make_ledger():
        return Ledger(studio.events, studio.quotes, str(studio.books), accounts_of(studio.books))

    ledger = make_ledger()
    for days in bookkeeper.MONTHS:
        period = Period(studio, ledger, *days)
        yield f"export of {period.name()}", bookkeeper.looked_at(period, studio.folder / "exports" / period.name())
    year = Period(studio, ledger, *bookkeeper.WHOLE)
    folder = studio.folder / "exports" / year.name()
    yield "export of the year: every row, sum and hash", bookkeeper.looked_at(year, folder)
    yield "its journal, by hledger and ledger", bookkeeper.of_journal(year, folder)
    yield "its quotations add up and say what was quoted", bookkeeper.quotations(year, folder)
    if reading.schema():
        yield "its quotations by the OASIS schema", reading.validate(sorted((folder / "quotes").iterdir()))
    yield "nothing private in any file", bookkeeper.private(studio, folder)
    yield "the months together are the year", bookkeeper.put_together(studio)
    yield "one cent is found in each file", bookkeeper.falsified(year, folder)
    yield "the same again after the year, byte for byte", bookkeeper.same_again(studio)
    yield "what is written later, and --replace", bookkeeper.swapped(studio, make_ledger)


def main():
    seed = os.environ.get("SEED", str(YEAR))
    failures = 0
    if not reading.schema():
        print("# UBL_SCHEMAS names no folder: the quotations are not held against the OASIS schema")
    with tempfile.TemporaryDirectory() as folder, concurrent.futures.ThreadPoolExecutor(2) as pool:
        years = [pool.submit(played, *studio, folder, seed) for studio in STUDIOS]
        for what, troubles in (case for year in years for case in year.result()):
            print(f"not ok {what}" if troubles else f"ok {what}")
            failures += bool(troubles)
            for trouble in troubles[:12]:
                print(f"  {trouble}")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
