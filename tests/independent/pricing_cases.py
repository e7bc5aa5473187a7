"""Commissions made up for pricing.py: varied, but the same for the same seed.

Every figure is invented.
"""
import csv
import pathlib
import random as randomness
import shutil
from collections import namedtuple

from pricing_books_made import edit

HEADER = ("part", "measure", "value", "unit", "note")
DATES = ("2026-02-10", "2026-03-02", "2026-06-30", "2026-07-01", "2026-10-04", "2026-11-23", "2026-12-01")

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
        self.needs = self.as_of = None
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
    size = pick.choice((("6", "US"), ("54", "EU"), ("L 1/2", "UK"), ("7.25", "US"),
                        ("17.1", "mm diameter")))
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
    if draft.maybe(0.2):
        draft.as_of = random.choice(DATES)
    commission(draft)
    ring(draft)
    kind(draft)
    extras(draft)
    return draft


# --- what nobody may price ---------------------------------------------------------------------

# `books` changes the shipped books, `rows` the sheet; `counting`: `quantities` refuses it too
Refusal = namedtuple("Refusal", "name books rows counting")


def without(name, column, word):
    def change(folder):
        edit(folder, name, lambda row: None if row[column] == word else row)

    return change


def tie(folder):
    """Two rows for an oval that is the client's, each narrowed as much as the other."""
    row = {"operation": "set claw", "craft": "setter", "applies": "asked", "per": "stone", "minutes each": "20",
           "from mm": "4", "to mm": "6", "stone": "oval"}
    edit(folder, "labour", lambda row: row, [row])


def no_base(row):
    return None if (row["rule"], row["subject"], row["above"]) == ("markup", "stones", "") else row


def dear(rule, subject, value, unit):
    """One rule of the policy with another value."""
    cells = {"value": value, "unit": unit}
    return lambda f: edit(f, "policy", lambda row: {**row, **cells}
                          if (row["rule"], row["subject"]) == (rule, subject) else row)


def priced_at(name, word, **cells):
    """A book's rows of one key with other cells, and a rate at which dinars are dear."""
    cells = {column.replace("_", " "): value for column, value in cells.items()}
    return lambda f: (edit(f, "rates", lambda row: row, [DEAR]),
                      edit(f, name, lambda row: {**row, **cells} if word in row.values() else row))


DEAR = {"currency": "KWD", "in": "USD", "rate": "950000", "from": "2026-11-22"}
MOST = "10000000"  # as much as a price may be; dinars at that rate are past what is exact in dollars
DINARS = priced_at("services", "nobody")
CLIENTS = (("stone centre", "supplied by", "client", "", ""), ("stone centre", "declared value", "3000", "USD", ""))
STUDIO = (("stone centre", "price", "3000", "USD each", ""),)
REFUSALS = (
    Refusal("a section without a rule", without("policy", "subject", "labour"), CLIENTS, False),
    Refusal("tiers without their first", lambda f: edit(f, "policy", no_base), STUDIO, False),
    Refusal("a metal without a price", without("metals", "metal", "silver"), CLIENTS, False),
    Refusal("a region without a tax", without("taxes", "region", "state"), CLIENTS, True),
    Refusal("a currency without a rate", None, (*CLIENTS, ("commission", "currency", "NOK", "", "")), False),
    Refusal("a client's stone without its value", None, CLIENTS[:1], False),
    Refusal("two prices that fit alike", tie, CLIENTS, True),
    Refusal("a fee that takes all of its surcharge", dear("surcharge", "card", "95", "%"),
            (*CLIENTS, ("commission", "pays by", "card", "", "")), False),
    # an amount past 64 bits of millionths is an error, never a line or a rule left out
    Refusal("a discount too large", DINARS, (*CLIENTS, ("commission", "discount", MOST, "KWD", "")), False),
    Refusal("a stone too dear", DINARS, (("stone centre", "price", MOST, "KWD each", ""),), False),
    Refusal("a minimum too large", lambda f: (DINARS(f), dear("minimum", "net", MOST, "KWD")(f)), CLIENTS, False),
    Refusal("a step too large", lambda f: (DINARS(f), dear("round up", "net", MOST, "KWD")(f)), CLIENTS, False),
    Refusal("a service too dear", priced_at("services", "design rounds", price=MOST, currency="KWD"), CLIENTS, False),
    Refusal("work too dear", priced_at("labour", "print model", price_each=MOST, currency="KWD",
                                       minimum=""), CLIENTS, False),
)


def refused(refusal, yes=True):
    """A client's oval in a head; with `yes` so that it must be refused."""
    draft = Draft(randomness.Random(1), f"refused-{'yes' if yes else 'no'}", "ring", ("state",), ("USD",))
    draft.add("commission", reference=draft.name, title="a ring", client="client", currency="USD",
              date="2026-11-23", region="state")
    ring(draft)
    draft.add("stone centre", shape="oval", length=("7.1", "mm"), width=("5.2", "mm"), depth=("3.3", "mm"),
              species="diamond", origin="natural", setting="claw")
    draft.shape = "oval"
    head(draft)
    for row in refusal.rows if yes else CLIENTS:
        draft.rows = [old for old in draft.rows if old[:2] != row[:2]] + [row]
    return draft
