"""The price books of the two invented studios that year.py plays a year through.

Both are the shipped (invented) books, a year earlier, with what differs between a studio in a
state with sales tax and one in a country with value added tax. Every figure is invented.
"""
import csv
import pathlib
import re

from pricing_books_made import copy_books, edit, policy, table, taxes

YEAR = 2025
SHIPPED = pathlib.Path("pricebooks")
WAYS = ("bank", "card", "cash", "cheque")

# `sales tax` falls due on delivery; the second region has two taxes on the same amount and a
# service that is free of one of them; what is kept of a cancelled order is no sale in the first,
# and taxed in the second.
STATE_TAXES = taxes("""
state,all,7.25,sales tax,delivery,reduces
state,retained,0,sales tax,delivery,
state and county,all,6,state sales tax,delivery,reduces
state and county,all,1.25,county sales tax,delivery,reduces
state and county,insured carriage,0,state sales tax,delivery,
state and county,retained,6,state sales tax,delivery,
export,all,0,tax on export,delivery,
export,retained,0,tax on export,delivery,
""")

# VAT falls due with each payment. It rises in July; what is kept is damages in one region and a
# taxed supply in the other; `border` also has a levy that falls due on delivery, and a lower rate
# on one service.
VAT_TAXES = table("region,category,rate,name,due,trade-in,from,until", f"""
vat country,all,19,VAT,payment,,{YEAR}-01-01,{YEAR}-06-30
vat country,all,20,VAT,payment,,{YEAR}-07-01,
vat country,retained,0,VAT,payment,,,
border,all,21,VAT,payment,,,
border,all,0.4,border levy,delivery,,,
border,laboratory report,9,lower VAT,payment,,,
border,retained,21,VAT,payment,,,
export,all,0,tax on export,delivery,,,
export,retained,0,tax on export,delivery,,,
""")

ACCOUNTS = table("what,account", """
bank,Assets:Bank
card,Assets:Card Clearing
cash,Assets:Cash
cheque,Assets:Cheques
trade-in,Assets:Old Metal
trade-in metal,Assets:Old Metal
deposits,Liabilities:Deposits
receivable,Assets:Receivable
sales,Income:Sales
sales services,Income:Services
sales melee,Income:Stones
sales stones,Income:Stones
retained,Income:Retained
tax on export,Liabilities:Export
""")
STATE_ACCOUNTS = table("what,account", """
sales tax,Liabilities:Sales Tax
state sales tax,Liabilities:Sales Tax:State
county sales tax,Liabilities:Sales Tax:County
""")
VAT_ACCOUNTS = table("what,account", """
VAT,Liabilities:VAT
lower VAT,Liabilities:VAT:Lower
border levy,Liabilities:Border Levy
""")

# What one unit is in the studio's own currency, as the year goes on.
VAT_RATES = table("currency,in,rate,from", f"""
GBP,EUR,1.1755,{YEAR}-01-05
GBP,EUR,1.1682,{YEAR}-04-01
GBP,EUR,1.1903,{YEAR}-08-15
CHF,EUR,1.0480,{YEAR}-01-05
CHF,EUR,1.0611,{YEAR}-09-01
""")
STATE_RATES = table("currency,in,rate,from", f"""
EUR,USD,1.0987,{YEAR}-05-12
JPY,USD,0.006541,{YEAR}-04-01
JPY,USD,0.006702,{YEAR}-09-01
EUR,JPY,162.35,{YEAR}-01-05
""")

QUIET = policy("""
stale,metals,,90,days
stale,rates,,400,days
stale,melee,,400,days
floor,margin,,5,%
""")


def a_year_earlier(folder):
    """Every `from` and `until` of the shipped books moves into the year that is played."""
    for path in pathlib.Path(folder).glob("*.csv"):
        text = path.read_text(encoding="utf-8")
        path.write_text(re.sub(r"(?<=,)2026-(?=\d\d-\d\d[,\n])", f"{YEAR}-", text), encoding="utf-8")


def replaced(folder, name, rows):
    """All rows of a book replaced; the columns stay."""
    edit(folder, name, lambda row: None, rows)


def named(name, currency, detail):
    words = {"name": name, "currency": currency, "place": "Nowhere-on-Sea (invented)", "quote detail": detail}

    def change(row):
        row["value"] = words.get(row["field"], row["value"])
        return row

    return change


def quiet(row):
    """Rules of ours in place of the shipped ones."""
    ours = {(rule["rule"], rule["subject"]) for rule in QUIET}
    return None if (row["rule"], row["subject"]) in ours else row


def few_sizes(name, column, least, most):
    """Only the size steps that the commissions use: what is read by each command stays short."""

    def change(row):
        size = float(row[column])
        return row if least <= size < most or 4 <= size < 4.2 else None

    return name, change


def common(folder):
    a_year_earlier(folder)
    for name, change in (few_sizes("melee", "from mm", 0.9, 2.4), few_sizes("stones", "from ct", 0.1, 2)):
        edit(folder, name, change)


def state_books(folder):
    common(folder)
    edit(folder, "studio", named("Invented State Studio", "USD", "lines"))
    edit(folder, "policy", quiet, QUIET)
    edit(folder, "rates", lambda row: row, STATE_RATES)
    replaced(folder, "taxes", STATE_TAXES)
    replaced(folder, "accounts", ACCOUNTS + STATE_ACCOUNTS)


def vat_books(folder):
    common(folder)
    edit(folder, "studio", named("Erfundene Werkstatt", "EUR", "sections"))
    edit(folder, "policy", quiet, QUIET)
    edit(folder, "rates", lambda row: row, VAT_RATES)
    replaced(folder, "taxes", VAT_TAXES)
    replaced(folder, "accounts", ACCOUNTS + VAT_ACCOUNTS)


# name, change, (region, currency) of commissions in turn
STUDIOS = (
    ("state", state_books, (("state", "USD"), ("state and county", "USD"), ("state", "USD"),
                            ("export", "EUR"), ("state and county", "USD"), ("state", "JPY"))),
    ("vat", vat_books, (("vat country", "EUR"), ("border", "EUR"), ("vat country", "EUR"),
                        ("export", "GBP"), ("vat country", "EUR"), ("border", "CHF"))),
)


def make(change, folder):
    return copy_books(SHIPPED, pathlib.Path(folder), change)


def accounts_of(books):
    with open(pathlib.Path(books) / "accounts.csv", encoding="utf-8", newline="") as stream:
        return {row["what"]: row["account"] for row in csv.DictReader(stream)}
