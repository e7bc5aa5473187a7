"""What a commission asks of the bench, from its sheet and from what geometry counted.

Part of the independent model (see pricing_model.py).
"""
import csv
import io
from fractions import Fraction

from pricing_books import Refused, fold, plain


class Facts:
    """The program's `quantities --csv` of one option: part, measure, value, unit."""

    def __init__(self, text):
        self.rows = []
        for row in csv.DictReader(io.StringIO(text)):
            self.rows.append((fold(row["part"]), fold(row["measure"]), row["value"], row["unit"]))

    def all(self, measure):
        return [(part, Fraction(value)) for part, m, value, _ in self.rows if m == measure]

    def values(self, part, measure):
        return [Fraction(value) for p, m, value, _ in self.rows if (p, m) == (part, measure)]

    def value(self, part, measure):
        found = self.values(part, measure)
        if len(found) != 1:
            raise Refused(f"{len(found)} figures for {part},{measure}")
        return found[0]

    def stones_of(self, part):
        """(size, count) of a halo's or row's stones, all copies."""
        name = f"{part.kind} {part.name}".strip()
        sizes, counts = self.values(name, "stone diameter"), self.values(name, "stones")
        if len(sizes) != len(counts):
            raise Refused(f"{len(sizes)} sizes and {len(counts)} counts of {name}")
        return [(size, int(count)) for size, count in zip(sizes, counts)]

    def width(self, part):
        """The size of a stone for its setter: a round's diameter, of other shapes the width."""
        name = f"stone {part.name}".strip()
        if part.word("shape") != "round":
            return self.value(name, "width")
        return (self.value(name, "length") + self.value(name, "width")) / 2


class Need:
    """Work to be done: what a row of labour.csv is looked up by, and how often."""

    def __init__(self, operation, count, alloy="", size=None, stone=None, minutes=None):
        self.operation, self.count, self.alloy = operation, count, alloy
        self.size, self.minutes = size, minutes
        self.shape, self.species, self.client = stone or (None, None, False)
        self.row = None
        self.per_alloy = False

    def key(self):
        """What the line's item must name."""
        return self.operation

    def fact(self):
        """The part under which `quantities` says the same."""
        if self.operation.startswith("set "):
            return f"operation {self.operation} {plain(self.size)} mm"
        return f"operation {self.operation} {self.alloy}" if self.operation == "cast" else f"operation {self.operation}"

    def __repr__(self):
        return f"{self.count} x {self.operation} {self.alloy} {self.size} {self.shape} {self.species}"


def main_alloy(parts):
    ring = parts.get(("ring", ""))
    return ring.word("alloy") if ring else ""


def alloy_of(part, parts):
    return part.word("alloy") or main_alloy(parts)


def holder_of(stone, parts):
    for (kind, _), part in parts.items():
        if kind in ("head", "bezel") and part.word("holds") == (stone.name or "stone"):
            return part
    return parts.get(("shank", ""))


def copies(part, parts):
    """What holds or goes around a stone is made once for each of its count."""
    word = part.word("holds") or part.word("around")
    if not word:
        return part.count("count", 1)
    if word.startswith("halo"):
        return copies(parts[("halo", word.partition(" ")[2])], parts)
    stone = parts.get(("stone", word)) or parts[("stone", "")]
    return stone.count("count", 1)


def settings(books, parts, facts):
    for (kind, _), part in parts.items():
        style = part.word("setting")
        if kind == "stone":
            holder = holder_of(part, parts)
            alloy = alloy_of(holder, parts) if holder is not None else main_alloy(parts)
            stone = (part.word("shape"), part.word("species"), part.word("supplied by") == "client")
            yield Need(f"set {style}", part.count("count", 1), alloy, facts.width(part), stone)
        if kind in ("halo", "row"):
            for size, count in facts.stones_of(part):
                row = books.step("melee", part.word("lot"), size)
                stone = (row.word("shape") or "round", row.word("species"),
                         part.word("supplied by") == "client")
                alloy = alloy_of(part if kind == "halo" else parts[("shank", "")], parts)
                yield Need(f"set {style}", count, alloy, size, stone)


def formed(parts, facts):
    """Claws by style and alloy; their number at tips and corners is geometry's to count."""
    heads = [part for (kind, _), part in parts.items() if kind == "head"]
    totals = {id(head): facts.value(f"head {head.name}".strip(), "claws") for head in heads}
    for head in heads:
        style, tip = head.word("claw style"), head.word("tip style")
        tips = Fraction(0)
        if tip and tip != style:
            others = [one for one in heads if one is not head]
            if any(one.word("tip style") == tip for one in others):
                raise Refused(f"tips of the style {tip} on two heads")
            tips = sum(facts.values(f"operation form {tip} claw", "count"), Fraction(0))
            tips -= sum(totals[id(one)] for one in others if one.word("claw style") == tip)
        for word, count in ((style, totals[id(head)] - tips), (tip, tips)):
            if count:
                yield Need(f"form {word} claw", int(count), alloy_of(head, parts))


def castings(facts):
    for part, count in facts.all("count"):
        if part.startswith("operation cast "):
            yield part[len("operation cast "):], int(count)


def joints(parts):
    for (kind, _), part in parts.items():
        if kind not in ("head", "bezel", "halo", "metal"):
            continue
        apart = part.word("made") == "apart" or "price" in part  # bought is made apart
        if apart or alloy_of(part, parts) != main_alloy(parts):
            places = part.count("joints", 2 if kind == "head" else 1)
            if places:
                yield Need("join", places * copies(part, parts), alloy_of(part, parts))


def unset(parts):
    for (kind, _), part in parts.items():
        if kind == "stone" and "out of" in part and part.word("supplied by") == "client":
            stone = (part.word("shape"), part.word("species"), True)
            yield Need("unset", part.count("count", 1), main_alloy(parts), None, stone)


def counted(books, parts, facts):
    """What geometry counts: setting, forming, casting, joining, unsetting."""
    yield from settings(books, parts, facts)
    yield from formed(parts, facts)
    for alloy, count in castings(facts):
        need = Need("cast", count, alloy)
        need.per_alloy = True
        yield need
    yield from joints(parts)
    yield from unset(parts)


def always(books, parts, facts, needs):
    """Rows that apply always, by what they are counted per."""
    main = main_alloy(parts)
    stones = sum(need.count for need in needs if need.operation.startswith("set "))
    claws = sum(need.count for need in needs if need.operation.startswith("form "))
    joined = sum(need.count for need in needs if need.operation == "join")
    counts = {"piece": 1, "stone": stones, "claw": claws, "joint": joined}
    seen = set()
    for row in books.find("labour", applies="always"):
        operation, per = row.word("operation"), row.word("per")
        if operation in seen:
            continue
        seen.add(operation)
        if per == "casting":
            for alloy, count in castings(facts):
                need = Need(operation, count, alloy)
                need.per_alloy = True
                yield need
        elif counts[per]:
            yield Need(operation, counts[per], main)


def asked(parts):
    for (kind, _), part in parts.items():
        if kind != "work":
            continue
        need = Need(part.word("operation"), part.count("count", 1), main_alloy(parts))
        if "minutes" in part:
            need.minutes = minutes_of(part["minutes"])
        yield need


def minutes_of(value):
    return Fraction(value.text) * (60 if value.unit in ("h", "hours") else 1)


def labour_needs(books, parts, facts):
    """One an operation, in setting one a size, in casting one an alloy, each with its row."""
    needs = list(counted(books, parts, facts))
    needs += list(always(books, parts, facts, needs))
    needs += list(asked(parts))
    merged = {}
    for need in needs:
        need.row = books.labour(need)
        size = need.size if need.operation.startswith("set ") else None
        key = (need.operation, size, need.alloy if need.per_alloy else "", need.row.line)
        if key in merged:
            merged[key].count += need.count
        else:
            merged[key] = need
    return list(merged.values())
