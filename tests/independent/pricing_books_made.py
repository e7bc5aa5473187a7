"""The sets of books that pricing.py prices with: the shipped ones, and two derived from them.

The derived ones have another currency, another way of rounding and another policy. Every figure
is invented.
"""
import csv
import pathlib
import shutil


def edit(folder, name, change, more=()):
    """Each row of a book through `change` (a dict in, a dict or None out), then rows more."""
    path = pathlib.Path(folder) / f"{name}.csv"
    with open(path, encoding="utf-8", newline="") as stream:
        reader = csv.DictReader(stream)
        columns = reader.fieldnames
        rows = [row for row in map(change, reader) if row is not None]
    with open(path, "w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows + list(more))


def same(row):
    return row


def times(column, factor, places):
    """The cell of a column, where filled, times a factor."""

    def change(row):
        if row[column]:
            row[column] = f"{float(row[column]) * factor:.{places}f}"
        return row

    return change


def table(columns, text):
    """Rows of a book: the columns, then a line each, cut at the commas."""
    names = columns.split(",")
    return [dict(zip(names, (cell.strip() for cell in line.split(","))))
            for line in text.strip().splitlines()]


def policy(text):
    return table("rule,subject,above,value,unit", text)


def taxes(text):
    return table("region,category,rate,name,due,trade-in", text)


def studio(currency):
    """Counts in that currency; its clients see a price by sections."""
    cells = {"currency": currency, "quote detail": "sections"}

    def change(row):
        if row["field"] in cells:
            row["value"] = cells[row["field"]]
        return row

    return change


SERVICES = table("service,applies,basis,price,minimum,currency", """
appraisal,asked,percent of price,0.35,12,USD
workshop insurance,always,percent of price,0.275
vault,client stone,percent of value,0.15,9.5,EUR
loupe clean,always,each,1.25,3,USD
""")

MINUTES = "operation,craft,applies,per,set-up minutes,minutes each,from mm,to mm,metal,stone"
PIECES = "operation,craft,applies,per,price each,minimum,currency"
LABOUR = table(MINUTES, """
tidy claws,polisher,always,claw,2,0.75
set cut-down,setter,asked,stone,6,7.25,1.2,1.5,,sapphire
set claw,setter,asked,stone,8,9.125,2.5,4,750 white palladium,pear
polish,polisher,always,piece,5,52.5,,,375 white,
""") + table(PIECES, """
steam joints,caster,always,joint,3.5,10,EUR
light table,engraver,always,stone,0.355,5,USD
""")

YEN_POLICY = """
markup,metal,,37.5,%
markup,metal,60000,31.25,%
markup,metal,150000,22,%
tiers,metal,,marginal,
markup,silver 925,,62,%
markup,melee,,110,%
markup,melee,30000,85.5,%
markup,melee,120000,60,%
tiers,melee,,whole,
markup,stones,,70,%
markup,stones,150000,48.25,%
markup,stones,400000,33,%
tiers,stones,,whole,
margin,natural oval f-vs2,,27.5,%
markup,labour,,85,%
markup,labour,20000,71,%
markup,caster,,33.5,%
at cost,engraver,,,
at cost,overhead,,,
markup,contingency,,5,%
markup,services,,12.5,%
at cost,assay and hallmark,,,
spares,melee,,7,%
overhead,labour,,11.75,%
overhead,metal,,3.3,%
contingency,metal,,1.5,%
contingency,cost,,0.85,%
floor,margin,,28,%
minimum,net,,180000,JPY
round up,total,,100,JPY
surcharge,card,,3.25,%
surcharge,voucher,,1.1,%
payment,deposit,,50000,JPY
payment,model,,12.5,%
payment,casting,,33.3,%
payment,delivery,,,
valid,quote,,14,days
tolerance,reprice,,2,%
plausible,metal,,90,%
weight adjusts,metal,,5,%
rounding,half,,to even,
"""

YEN_TAXES = """
one,all,10,consumption tax,delivery,
one,metal,8,consumption tax,delivery,
one,services,10,consumption tax,delivery,
two,all,10,consumption tax,delivery,reduces
two,labour,10,consumption tax,delivery,reduces
two,labour,1.5,craft levy,delivery,
two,stones,0,consumption tax,delivery,
two,insured carriage,0,consumption tax,delivery,
export,all,0,tax on export,delivery,
"""

DINAR_POLICY = """
margin,metal,,28.5,%
margin,platinum 950,,33.3,%
margin,melee,,52,%
margin,melee,40,46.25,%
margin,melee,150,37,%
tiers,melee,,marginal,
margin,stones,,41,%
margin,stones,500,33,%
margin,stones,1800,25.75,%
markup,blue sapphire round,,91,%
margin,labour,,47.5,%
margin,caster,,26,%
markup,overhead,,8,%
at cost,contingency,,,
margin,services,,23,%
at cost,insured carriage,,,
at cost,laboratory report,,,
spares,melee,,4.5,%
spares,natural melee h-si,,9,%
overhead,hour,,5.375,KWD
overhead,stones,,1.25,%
contingency,labour,,3.5,%
floor,margin,,30,%
minimum,net,,145.5,KWD
round up,net,,0.25,KWD
surcharge,card,,2.35,%
payment,deposit,,33.33,%
payment,model,,33.33,%
payment,delivery,,,
valid,quote,,30,days
tolerance,reprice,,2,%
plausible,metal,,90,%
rounding,half,,away from zero,
"""

DINAR_TAXES = """
harbour,all,5,value added tax,payment,reduces
harbour,all,0.75,municipal fee,payment,reduces
harbour,all,0.333,lighthouse due,delivery,
harbour,stones,5,value added tax,payment,reduces
harbour,laboratory report,0,value added tax,payment,
inland,all,7.125,value added tax,delivery,reduces
inland,labour,3.5,value added tax,delivery,reduces
inland,rhodium plating,12,value added tax,delivery,
export,all,0,tax on export,delivery,
"""


def yen_books(folder):
    """Yen, no minor unit; whole tiers; half to even; a step of the total; amounts as stages."""
    edit(folder, "studio", studio("JPY"))
    edit(folder, "alloys", times("premium", 151.7, 1))
    edit(folder, "crafts", times("rate per hour", 148, 0))
    edit(folder, "services", same, SERVICES)
    edit(folder, "labour", same, LABOUR)
    rates = [{"currency": "EUR", "in": "JPY", "rate": "163.275", "from": "2026-01-01"},
             {"currency": "EUR", "in": "JPY", "rate": "160.455", "from": "2026-09-01"}]
    edit(folder, "rates", same, rates)
    edit(folder, "policy", lambda row: None, policy(YEN_POLICY))
    edit(folder, "taxes", lambda row: None, taxes(YEN_TAXES))


def dinar_books(folder):
    """Dinars with three decimals; margins; taxes of several names; metal by gram and kilogram."""
    edit(folder, "studio", studio("KWD"))
    edit(folder, "alloys", times("premium", 0.3077, 6))
    edit(folder, "crafts", times("rate per hour", 0.3077, 3))
    edit(folder, "services", same, SERVICES)
    edit(folder, "labour", same, LABOUR)
    rates = [{"currency": "EUR", "in": "KWD", "rate": "0.333917", "from": "2026-01-01"},
             {"currency": "GBP", "in": "KWD", "rate": "0.3891", "from": "2026-01-01"}]
    edit(folder, "rates", same, rates)
    edit(folder, "metals", dinar_metal)
    edit(folder, "policy", lambda row: None, policy(DINAR_POLICY))
    edit(folder, "taxes", lambda row: None, taxes(DINAR_TAXES))


def dinar_metal(row):
    if row["metal"] == "silver":
        price = float(row["price"]) / 31.1034768 * 1000 * 0.92
        row.update(price=f"{price:.2f}", per="kilogram", currency="EUR")
    elif row["metal"] == "palladium":
        row.update(price=f"{float(row['price']) / 31.1034768:.4f}", per="gram", currency="GBP")
    return row


TIE_POLICY = """
markup,metal,,12.5,%
markup,melee,,50,%
markup,stones,,12.5,%
markup,labour,,50,%
markup,overhead,,12.5,%
markup,contingency,,50,%
markup,services,,12.5,%
spares,melee,,5,%
overhead,labour,,12.5,%
overhead,hour,,7.5,USD
contingency,cost,,2.5,%
floor,margin,,10,%
minimum,net,,4000.125,USD
round up,net,,10,CHF
surcharge,card,,2.5,%
surcharge,voucher,,1,%
payment,deposit,,50.125,USD
payment,casting,,50,%
payment,delivery,,,
valid,quote,,30,days
tolerance,reprice,,2,%
plausible,metal,,90,%
rounding,half,,to even,
"""

TIE_TAXES = """
state,all,12.5,sales tax,delivery,
vat country,all,7.5,value added tax,delivery,reduces
vat country,labour,2.5,value added tax,delivery,
"""


def tie_books(folder):
    """Half to even, and figures whose products often lie half-way between two: 10 francs are 11.385 dollars."""
    edit(folder, "studio", studio("USD"))
    cells = {"finishing loss": "50", "sprue": "62.5", "recovery": "37.5", "scrap payout": "62.5"}
    edit(folder, "alloys", lambda row: {**row, **cells})
    edit(folder, "metals", lambda row: {**row, "price": "60.0001", "per": "gram"})
    edit(folder, "melee", lambda row: {**row, "price per ct": "1104.0005" if float(row["from mm"]) < 3 else "1104.5"})
    edit(folder, "stones", lambda row: {**row, "price per ct": row["price per ct"] and "1210.5"})
    hours = {"setter": "15", "goldsmith": "60.00003", "caster": "18.00003"}
    edit(folder, "crafts", lambda row: {**row, "rate per hour": hours.get(row["craft"], "15.6")})
    edit(folder, "services", same, SERVICES)
    minutes = {"final check": "15.00003"}
    edit(folder, "labour", lambda row: {**row, "minutes each": minutes.get(row["operation"], row["minutes each"])},
         LABOUR)
    euros = {"2026-01-05": "1.090001"}  # ties of a sheet's 142.50, else of a book's 9.50
    edit(folder, "rates", lambda row: row if row["currency"] != "EUR" else
         {**row, "rate": euros.get(row["from"], "1.090003")})
    edit(folder, "policy", lambda row: None, policy(TIE_POLICY))
    edit(folder, "taxes", lambda row: None, taxes(TIE_TAXES))


def copy_books(shipped, folder, change=None):
    """The shipped books, and an account for a way of paying that some of them have no fee for."""
    shutil.copytree(shipped, folder)
    edit(folder, "accounts", same, [{"what": "voucher", "account": "Assets:Vouchers"}])
    if change is not None:
        change(folder)
    return folder


# name, what is changed, regions, currencies of commissions
SETS = (
    ("dollar", None, ("state", "state and county", "vat country", "export"), ("USD", "USD", "EUR")),
    ("yen", yen_books, ("one", "two", "two", "export"), ("JPY", "JPY", "USD", "EUR")),
    ("dinar", dinar_books, ("harbour", "harbour", "inland", "export"), ("KWD", "KWD", "USD")),
    ("ties", tie_books, ("state", "vat country"), ("USD",)),
)
