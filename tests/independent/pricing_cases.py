"""Commissions and books made up for pricing.py: varied, but the same for the same seed.

The shipped books are one set; two more are derived from them with another currency, another way
of rounding and another policy. Every figure is invented.
"""
import csv
import pathlib
import shutil

HEADER = ("part", "measure", "value", "unit", "note")
DATES = ("2026-02-10", "2026-03-02", "2026-06-30", "2026-07-01", "2026-10-04", "2026-11-23", "2026-12-01")


# --- books -------------------------------------------------------------------------------------


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


def policy(text):
    """Rows of policy.csv: rule, subject, above, value, unit; a line each, cut at the commas."""
    columns = ("rule", "subject", "above", "value", "unit")
    return [dict(zip(columns, (cell.strip() for cell in line.split(","))))
            for line in text.strip().splitlines()]


def taxes(text):
    columns = ("region", "category", "rate", "name", "due", "trade-in")
    return [dict(zip(columns, (cell.strip() for cell in line.split(","))))
            for line in text.strip().splitlines()]


def studio(currency):
    def change(row):
        if row["field"] == "currency":
            row["value"] = currency
        return row

    return change


SERVICES = [
    {"service": "appraisal", "applies": "asked", "basis": "percent of price", "price": "0.35", "minimum": "12", "currency": "USD"},
    {"service": "workshop insurance", "applies": "always", "basis": "percent of price", "price": "0.275"},
    {"service": "vault", "applies": "client stone", "basis": "percent of value", "price": "0.15", "minimum": "9.5", "currency": "EUR"},
    {"service": "loupe clean", "applies": "always", "basis": "each", "price": "1.25", "minimum": "3", "currency": "USD"},
]

LABOUR = [
    {"operation": "tidy claws", "craft": "polisher", "applies": "always", "per": "claw", "set-up minutes": "2", "minutes each": "0.75"},
    {"operation": "steam joints", "craft": "caster", "applies": "always", "per": "joint", "price each": "3.5", "minimum": "10", "currency": "EUR"},
    {"operation": "light table", "craft": "engraver", "applies": "always", "per": "stone", "price each": "0.355", "minimum": "5", "currency": "USD"},
    {"operation": "set cut-down", "craft": "setter", "applies": "asked", "per": "stone", "set-up minutes": "6", "minutes each": "7.25",
     "from mm": "1.2", "to mm": "1.5", "stone": "sapphire"},
    {"operation": "set claw", "craft": "setter", "applies": "asked", "per": "stone", "set-up minutes": "8", "minutes each": "9.125",
     "from mm": "2.5", "to mm": "4", "metal": "750 white palladium", "stone": "pear"},
    {"operation": "polish", "craft": "polisher", "applies": "always", "per": "piece", "set-up minutes": "5", "minutes each": "52.5",
     "metal": "375 white"},
]

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
        row.update(price=f"{float(row['price']) / 31.1034768 * 1000 * 0.92:.2f}", per="kilogram", currency="EUR")
    elif row["metal"] == "palladium":
        row.update(price=f"{float(row['price']) / 31.1034768:.4f}", per="gram", currency="GBP")
    return row


def copy_books(shipped, folder, change=None):
    shutil.copytree(shipped, folder)
    if change is not None:
        change(folder)
    return folder


# name, what is changed, regions, currencies of commissions
SETS = (
    ("dollar", None, ("state", "state and county", "vat country", "export"), ("USD", "USD", "EUR")),
    ("yen", yen_books, ("one", "two", "two", "export"), ("JPY", "JPY", "USD", "EUR")),
    ("dinar", dinar_books, ("harbour", "harbour", "inland", "export"), ("KWD", "KWD", "USD")),
)

# --- sheets ------------------------------------------------------------------------------------

YELLOW = ("750 yellow", "585 yellow", "585 rose", "916 yellow", "417 yellow")
WHITE = ("585 white palladium", "750 white palladium", "platinum 950", "platinum 900 iridium",
         "palladium 950", "silver 925", "585 white nickel", "417 white", "375 white")
LOTS = ("natural melee G-VS", "natural melee H-SI", "natural melee D-F VVS", "laboratory-grown melee E-VS",
        "blue sapphire melee")


class Draft:
    """Rows of a sheet in the making."""

    def __init__(self, random, name, kind, regions, currencies):
        self.random, self.name, self.kind = random, name, kind
        self.rows, self.options = [], []
        self.needs = None
        self.currency = random.choice(currencies)
        self.region = random.choice(regions)

    def add(self, part, **measures):
        """`width_top=(2.4, "mm")` is the measure `width top`."""
        for measure, value in measures.items():
            cell, unit = value if isinstance(value, tuple) else (value, "")
            self.rows.append((part, measure.replace("_", " "), str(cell), unit, ""))

    def option(self, name, *changes):
        self.options.append(name)
        self.rows.append((f"option {name}", "label", f"with {name}", "", ""))
        for measure, value, unit in changes:
            self.rows.append((f"option {name}", measure, value, unit, ""))

    def mm(self, least, most):
        return (f"{self.random.uniform(least, most):.2f}", "mm")

    def maybe(self, part):
        return self.random.random() < part

    def write(self, folder):
        if self.needs:
            shutil.copy(self.needs, pathlib.Path(folder) / "ring.stl")
        path = pathlib.Path(folder) / f"{self.name}.csv"
        with open(path, "w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream, lineterminator="\n")
            writer.writerow(HEADER)
            writer.writerows(self.rows)
        return path


def commission(draft):
    pick = draft.random
    draft.add("commission", reference=draft.name, title=f"a {draft.kind}", client="client",
              currency=draft.currency, date=pick.choice(DATES), region=draft.region)
    amount = {"JPY": "4321", "KWD": "7.125"}.get(draft.currency, "37.77")
    chosen = pick.choice(("none", "percent", "amount", "none", "dollars"))
    if chosen == "percent":
        draft.add("commission", discount=(pick.choice(("5", "7.5", "12.25", "0.333")), "%"))
    elif chosen == "amount":
        draft.add("commission", discount=(amount, pick.choice(("", draft.currency))))
    elif chosen == "dollars":
        draft.add("commission", discount=("55.55", "USD"))
    if draft.maybe(0.55):
        draft.add("commission", pays_by=pick.choice(("card", "card", "bank", "voucher")))


def ring(draft):
    pick = draft.random
    draft.alloy = pick.choice(YELLOW + WHITE)
    size = pick.choice((("6", "US"), ("54", "EU"), ("L 1/2", "UK"), ("7.25", "US"), ("17.1", "mm diameter")))
    draft.add("ring", size=size, alloy=draft.alloy)
    draft.add("shank", profile_top=pick.choice(("half round", "flat", "court")), profile_base="half round",
              width_top=draft.mm(2.2, 3.2), width_base=draft.mm(2.2, 2.8),
              thickness_top=draft.mm(1.7, 2.1), thickness_base=draft.mm(1.5, 1.9))


def stone_price(draft, name, lots, value):
    """Whose the stone is and what it costs: the client's, a lot's, or the sheet's price."""
    pick = draft.random
    how = pick.choice(("client", "lot", "lot", "each", "per ct"))
    origin = "natural"
    unit = pick.choice(("", "USD", "EUR"))
    draft.client = how == "client"
    if how == "client":
        draft.add(name, supplied_by="client", declared_value=(value * 3, "USD"))
        if draft.maybe(0.5):
            draft.add(name, out_of="old piece")
    elif how == "lot":
        lot = pick.choice(lots)
        draft.add(name, lot=lot)
        origin = "natural" if lot.startswith("natural") else "laboratory-grown"
    elif how == "each":
        draft.add(name, price=(f"{value}.45", f"{unit} each".strip()))
    else:
        draft.add(name, price=(f"{value}.15", f"{unit} per ct".strip()))
    draft.add(name, origin=origin)


def centre(draft, setting="claw"):
    pick = draft.random
    shape = pick.choice(("round", "round", "oval"))
    draft.shape = shape
    draft.add("stone centre", shape=shape, setting=setting)
    if shape == "round":
        length = pick.uniform(5.4, 7.4)
        draft.add("stone centre", length=(f"{length:.2f}", "mm"), depth=(f"{length * 0.605:.2f}", "mm"))
        lots = ("natural round F-VS2", "laboratory-grown round E-VS1")
    else:
        width = pick.uniform(4.8, 6.2)
        draft.add("stone centre", length=(f"{width * 1.35:.2f}", "mm"), width=(f"{width:.2f}", "mm"),
                  depth=(f"{width * 0.63:.2f}", "mm"))
        lots = ("natural oval F-VS2", "laboratory-grown oval E-VS1")
    draft.add("stone centre", species="diamond")
    if draft.maybe(0.5):
        draft.add("stone centre", weight=(f"{pick.uniform(0.8, 1.3):.3f}", "ct"))
    stone_price(draft, "stone centre", lots, 1210)


def head(draft, stone="centre", clearance=2.4, alloy=None):
    pick = draft.random
    claws = 6 if draft.shape == "round" else 4
    draft.add(f"head {stone}", holds=stone, claws=claws,
              claw_style=pick.choice(("round", "pointed", "flat", "double")),
              claw_diameter=("1.0", "mm"), tip_diameter=("0.8", "mm"), rails=2, rail_diameter=("0.9", "mm"),
              inset=("0.6", "mm"), culet_clearance=(clearance, "mm"))
    if alloy:
        draft.add(f"head {stone}", alloy=alloy)
    elif draft.maybe(0.25):
        draft.add(f"head {stone}", made="apart")


def solitaire(draft):
    centre(draft)
    head(draft, alloy=draft.random.choice((None, None, "platinum 950", "585 white palladium")))


def halo(draft):
    pick = draft.random
    solitaire(draft)
    lot = pick.choice(LOTS)
    draft.add("halo top", around="centre", faces="up", gap=draft.mm(0.4, 0.7),
              stone_diameter=(pick.choice(("1.2", "1.3", "1.45", "1.6")), "mm"), spacing=("0.1", "mm"),
              lot=lot, setting=pick.choice(("cut-down", "bead", "shared claw")), thickness=("1.4", "mm"),
              rim=("0.35", "mm"), inner_rim=("0.25", "mm"), drop=("0.3", "mm"))
    if draft.maybe(0.2):
        draft.add("halo top", supplied_by="client")
    draft.option("other stones", ("halo top/lot", pick.choice(LOTS), ""))


def double_halo(draft):
    pick = draft.random
    halo(draft)
    draft.add("halo wall", around="centre", faces="out", under="halo top", stone_diameter=("1", "mm"),
              spacing=("0.1", "mm"), lot=pick.choice(LOTS), setting="bead", thickness=("1.1", "mm"),
              rim=("0.3", "mm"), drop=("2.4", "mm"))
    draft.option("lower", ("halo wall", "none", ""))


def three_stone(draft):
    pick = draft.random
    solitaire(draft)
    draft.add("stone side", shape="pear", length=("4.6", "mm"), width=("3", "mm"), depth=("1.85", "mm"),
              species="diamond", setting="claw", count=2, beside="centre",
              gap=("0.2", "mm"), tip="out", turn=("0", "deg"), drop=("0.7", "mm"))
    if draft.maybe(0.5):
        draft.add("stone side", weight=("0.155", "ct"))
    stone_price(draft, "stone side", ("natural pear F-VS2", "laboratory-grown pear E-VS1"), 160)
    draft.add("head side", holds="side", claws=3, claw_style="round", claw_diameter=("0.8", "mm"),
              tip_diameter=("0.65", "mm"), first_claw=("0", "deg"), rails=1, rail_diameter=("0.8", "mm"),
              inset=("0.4", "mm"), culet_clearance=("2.2", "mm"), alloy=pick.choice(("750 white palladium", draft.alloy)))


def eternity(draft):
    pick = draft.random
    diameter = pick.choice(("1.3", "1.6", "2.05"))
    draft.add("row band", stone_diameter=(diameter, "mm"), spacing=("0.12", "mm"), lot=pick.choice(LOTS),
              setting=pick.choice(("shared claw", "channel", "flush", "cut-down")))
    draft.add("row band", **{"from": ("1", "deg"), "to": (pick.choice(("60", "83.5", "179")), "deg")})
    if draft.maybe(0.4):
        draft.add("row band", shoulders=pick.choice((1, 2)))
    if draft.maybe(0.15):
        draft.add("row band", supplied_by="client")
    draft.option("half", ("row band/to", "45", "deg"), ("row band/lot", pick.choice(LOTS), ""))


def bezel_ring(draft):
    centre(draft, "bezel")
    draft.add("bezel", holds="centre", wall=("0.6", "mm"), height=("2.6", "mm"))
    if draft.maybe(0.4):
        draft.add("bezel", alloy="750 yellow")


def ready_made(draft):
    """A ring with parts bought ready-made and parts by weight."""
    solitaire(draft)
    pick = draft.random
    draft.add("metal shoulder", weight=("0.412", "g"), count=2, price=("18.35", pick.choice(("USD", "USD each"))))
    draft.add("metal tag", volume=("12.5", "mm3"), made="apart", joints=3)
    draft.add("metal wire", weight=("1.1", "dwt"), alloy="585 yellow")


def graduated(draft):
    """A row that grows smaller by size steps; a small centre of a lot of melee, by weight alone."""
    pick = draft.random
    draft.shape = "round"
    draft.add("stone centre", shape="round", weight=("0.25", "ct"), species="diamond", origin="natural",
              setting="claw", lot="natural melee G-VS")
    head(draft)
    draft.add("row side", stone_diameter=("1.9", "mm"), end_diameter=("1.3", "mm"), spacing=("0.12", "mm"),
              lot=pick.choice(LOTS), setting="flush", **{"from": ("12", "deg"), "to": ("75", "deg")})
    draft.option("card", ("commission/pays by", "card", ""), ("commission/discount", "3.3", "%"))


def wreathed(draft):
    """Halos round both side stones; one of the client's own melee in the size of the studio's."""
    pick = draft.random
    three_stone(draft)
    lot, size = pick.choice(LOTS), pick.choice(("1", "1.1"))
    for name, stone in (("top", "centre"), ("pair", "side")):
        draft.add(f"halo {name}", around=stone, faces="up", gap=("0.3", "mm"), stone_diameter=(size, "mm"),
                  spacing=("0.1", "mm"), lot=lot, setting="cut-down", thickness=("1.2", "mm"), rim=("0.3", "mm"))
    if draft.maybe(0.5):
        draft.add("halo pair", supplied_by="client")
    else:
        draft.add("halo top", alloy="750 yellow")
    draft.option("no wreath", ("halo pair", "none", ""), ("halo top", "none", ""))


def modelled(draft):
    """The casting model instead of estimates: the weight comes from its volume."""
    pick = draft.random
    solitaire(draft)
    draft.rows = [row for row in draft.rows if row[:2] not in (("head centre", "alloy"), ("head centre", "made"))]
    draft.add("mesh band", file="ring.stl", unit=("mm"), replaces="all", **{"is": pick.choice(("model", "finished"))})
    draft.needs = "tests/reference/stl/ring_halfround.stl"
    draft.option("estimated", ("mesh band", "none", ""))


def pendant(draft):
    """No ring: parts in metal alone, old metal twice of one alloy."""
    draft.rows = [row for row in draft.rows if row[0] not in ("shank",) and row[:2] != ("ring", "size")]
    draft.add("metal plate", volume=("187.35", "mm3"))
    draft.add("metal bail", weight=("0.61", "g"), count=2, made="apart", joints=0)
    draft.add("metal chain", weight=("3.2", "g"), price=("142.5", "EUR"))
    draft.add("trade-in first", alloy=draft.alloy, weight=("1.305", "g"))
    draft.add("trade-in second", alloy=draft.alloy, weight=("0.9", "dwt"))


KINDS = (solitaire, halo, double_halo, three_stone, eternity, bezel_ring, ready_made, graduated, wreathed,
         modelled, pendant)


def extras(draft):
    """Work, services, old metal and options that any ring may have."""
    pick = draft.random
    if draft.maybe(0.5):
        draft.add("work finishing", operation="hand finishing", minutes=pick.choice((("35", "min"), ("1.25", "h"))))
    if draft.maybe(0.5):
        draft.add("work letters", operation="engrave inscription", count=pick.choice((1, 2)))
    if draft.maybe(0.3):
        draft.add("work scroll", operation="engrave by hand", count=2)
    if draft.maybe(0.3):
        draft.add("work edge", operation="milgrain edge", count=2)
    if draft.maybe(0.5):
        draft.add("service report", service="laboratory report", count=pick.choice((1, 2)))
    if draft.maybe(0.4):
        draft.add("service hallmark", service="assay and hallmark")
    if draft.books != "dollar" and draft.maybe(0.5):
        draft.add("service appraisal", service="appraisal")
        if draft.maybe(0.5):
            draft.add("service appraisal", amount=("1875.40", "USD"))
    if draft.maybe(0.35):
        draft.add("trade-in old", alloy=pick.choice(("585 yellow", "916 yellow", "platinum 950", "375 white")),
                  weight=(pick.choice(("4.2", "2.137", "11.05")), "g"))
        draft.option("without old metal", ("trade-in old", "none", ""))
    other = [("ring/alloy", pick.choice(YELLOW + WHITE), "")]
    if draft.maybe(0.35):
        draft.add("trade-in melted", alloy=draft.alloy, weight=(pick.choice(("1.9", "0.777", "40")), "g"),
                  use="in the piece")
        other.append(("trade-in melted", "none", ""))
    draft.option("other metal", *other)


def draft_of(random, books, index, regions, currencies):
    """The commission of a number: its kind goes round, all else is drawn."""
    kind = KINDS[index % len(KINDS)]
    draft = Draft(random, f"{books}-{index:02d}-{kind.__name__.replace('_', '-')}", kind.__name__, regions, currencies)
    draft.books = books
    commission(draft)
    ring(draft)
    kind(draft)
    extras(draft)
    return draft
