"""The costing of one commission, written from the specification alone.

Reads a folder of price books, a design sheet, and from the program only what geometry measured
(`quantities --csv`: weights, counts, sizes). Works out every line and total as exact fractions,
rounded where the specification rounds. It never reads the program's prices: pricing.py compares.
"""
from fractions import Fraction

from pricing_books import FINE, Refused, ceiling, exponent, fold, number, plain, rounded
from pricing_needs import labour_needs, main_alloy
from pricing_settle import settle

SECTIONS = ("metal", "melee", "stones", "labour", "overhead", "contingency", "services")
MADE = SECTIONS[:5]
RULES = ("markup", "margin", "at cost")


class Line:
    """One priced line. `key` is what its item must name; `subjects` may have rules of their own."""

    def __init__(self, section, key, quantity, unit_cost, subjects=(), percent=False):
        self.section, self.key = section, key
        self.quantity, self.unit_cost = Fraction(quantity), Fraction(unit_cost)
        self.subjects, self.percent = subjects, percent
        self.category = key if section == "services" else section
        self.cost = self.price = Fraction(0)
        self.at_cost = False
        self.raised = False
        self.own = False  # an hour of the studio's own crafts

    def __repr__(self):
        figures = (self.quantity, self.unit_cost, self.cost, self.price)
        return f"{self.section} {self.key!r}: " + " ".join(plain(f) for f in figures)


class Pricing:
    """Lines and totals of one option of one sheet."""

    def __init__(self, books, parts, facts):
        self.books, self.parts, self.facts = books, parts, facts
        self.commission = parts[("commission", "")]
        self.currency = self.commission["currency"].text.upper()
        self.places = exponent(self.currency)
        self.lines = []
        self.own_minutes = Fraction(0)
        self.credit_grams = []
        self.metal_lines()
        self.melee_lines()
        self.stone_lines()
        self.labour_lines()
        self.overhead_lines()
        self.contingency_lines()
        self.service_lines()
        self.settle()

    # --- helpers ---------------------------------------------------------------------------

    def money(self, value):
        return rounded(value, self.places, self.books.mode)

    def turned(self, value, source):
        return self.books.turned(value, source, self.currency)

    def kind(self, kind):
        return [part for (k, _), part in self.parts.items() if k == kind]

    def amount(self, value):
        """An amount of the sheet: the unit may name a currency, else it is the commission's."""
        word = value.unit.split(" ")[0].upper()
        code = word if len(word) == 3 and word.isalpha() and word != "PER" else self.currency
        return self.turned(Fraction(value.text), code)

    def add(self, section, key, quantity, unit_cost, subjects=(), percent=False, least=0, free=False):
        line = Line(section, key, quantity, unit_cost, subjects, percent)
        exact = line.quantity * line.unit_cost / (100 if percent else 1)
        line.cost = Fraction(0) if free else self.money(exact)
        least = self.money(least)
        if line.cost < least and not free:
            line.cost, line.raised = least, True
        line.price = self.price_of(line)
        self.lines.append(line)
        return line

    def cost_of(self, *sections):
        return sum((line.cost for line in self.lines if line.section in sections), Fraction(0))

    # --- the rule for a line ---------------------------------------------------------------

    def bands(self, line):
        """The rows that price a line, the narrower subject first, by the cost they begin above."""
        for subject in (*line.subjects, line.section):
            rows = [row for rule in RULES for row in self.books.policy(rule, subject)]
            if rows:
                bands = [(self.turned(number(row["above"], 0), ""), row) for row in rows]
                return sorted(bands, key=lambda band: band[0])
        raise Refused(f"no rule for {line}")

    def price_of(self, line):
        bands = self.bands(line)
        line.at_cost = bands[0][1].word("rule") == "at cost"
        if bands[0][0] > 0:
            raise Refused(f"no rule for the first of {line}")
        mode = [row.word("value") for row in self.books.policy("tiers", line.section)]
        if mode == ["whole"]:
            row = [row for above, row in bands if line.cost > above or above == 0][-1]
            return self.money(self.grown(line.cost, row))
        price = Fraction(0)
        for i, (above, row) in enumerate(bands):
            until = bands[i + 1][0] if i + 1 < len(bands) else line.cost
            part = min(line.cost, until) - above
            if part > 0:
                price += self.grown(part, row)
        return self.money(price)

    @staticmethod
    def grown(cost, row):
        if row.word("rule") == "at cost":
            return cost
        value = number(row["value"]) / 100
        return cost * (1 + value) if row.word("rule") == "markup" else cost / (1 - value)

    # --- metal -----------------------------------------------------------------------------

    def fine_value(self, alloy):
        exact = sum(
            (number(alloy[metal], 0) / 1000 * self.books.per_gram(metal, self.currency)
             for metal in FINE if number(alloy[metal], 0)),
            Fraction(0),
        )
        return self.books.round6(exact)

    def ready_made(self):
        """The metal parts that are bought, with grams each."""
        for part in self.kind("metal"):
            if "price" not in part:
                continue
            alloy = part.word("alloy") or main_alloy(self.parts)
            if "weight" in part:
                grams = part.grams("weight")
            else:
                density = number(self.books.one("alloys", alloy=alloy)["density"])
                grams = rounded(Fraction(part["volume"].text) * density / 1000, 6)
            yield part, alloy, grams

    def metal_lines(self):
        needs = {fold(part.partition(" ")[2]): value
                 for part, value in self.facts.all("finished weight") if part.startswith("metal ")}
        for part, alloy, grams in self.ready_made():
            needs[alloy] -= grams * part.count("count", 1)
        for part in self.kind("trade-in"):
            self.use_old_metal(part, needs)
        for name, grams in needs.items():
            self.metal_of(name, grams)
        for part, alloy, _ in self.ready_made():
            price = self.amount(part["price"])
            self.add("metal", part.name, part.count("count", 1), price, (alloy,))

    def use_old_metal(self, part, needs):
        alloy, grams = part.word("alloy"), part.grams("weight")
        if part.word("use") == "in the piece":
            used = min(grams, needs.get(alloy, Fraction(0)))
            if used:
                needs[alloy] -= used
            grams -= used
        if grams:
            self.credit_grams.append((alloy, grams))

    def metal_of(self, name, grams):
        alloy = self.books.one("alloys", alloy=name)
        percent = {word: number(alloy[word], 0) / 100 for word in ("finishing loss", "sprue", "recovery")}
        fine = self.fine_value(alloy)
        rate = fine + self.turned(number(alloy["premium"], 0), "")
        quantity = self.books.round6(grams * (1 + percent["finishing loss"]))
        self.add("metal", fold(alloy["name"]), quantity, rate, (name,))
        sprue = self.books.round6(quantity * percent["sprue"])
        lost = self.books.round6(rate - fine * percent["recovery"])
        self.add("metal", fold(alloy["name"]) + ", sprue", sprue, lost, (name,))

    # --- stones ----------------------------------------------------------------------------

    def melee_lines(self):
        needs = {}
        for kind in ("halo", "row"):
            for part in self.kind(kind):
                client = part.word("supplied by") == "client"
                for size, count in self.facts.stones_of(part):
                    row = self.books.step("melee", part.word("lot"), size)
                    key = (part.word("lot"), row.line, client)
                    needs[key] = (row, needs.get(key, (row, 0))[1] + count)
        for (lot, _, client), (row, count) in needs.items():
            rule = self.books.policy("spares", lot) or self.books.policy("spares", "melee")
            spares = ceiling(count * number(rule[0]["value"]) / 100) if rule else 0
            carat = number(row["carat each"], 0)
            if not carat:
                size = (number(row["from mm"]) + number(row["to mm"])) / 2
                carat = self.books.round6(Fraction("0.0036905") * size**3)
            price = self.turned(number(row["price per ct"]), row["currency"])
            each = self.books.round6(carat * price)
            if client:
                spares, each = 0, Fraction(0)
            self.add("melee", lot, count + spares, each, (lot,), free=client)

    def stone_lines(self):
        for part in self.kind("stone"):
            client = part.word("supplied by") == "client"
            lot = part.word("lot")
            each = Fraction(0) if client else self.stone_price(part, lot)
            subjects = (lot,) if lot and not client else ()
            self.add("stones", part.name, part.count("count", 1), each, subjects, free=client)

    def stone_price(self, part, lot):
        carats = self.facts.value(f"stone {part.name}".strip(), "weight")
        if "price" in part:
            price = self.amount(part["price"])
            return self.money(price * carats) if part["price"].unit.endswith("per ct") else price
        if self.books.find("stones", lot=lot):
            row = self.books.step("stones", lot, carats)
            if row.has("price each"):
                return self.turned(number(row["price each"]), row["currency"])
        else:
            width = self.facts.width(part)
            row = self.books.step("melee", lot, width)
        return self.money(carats * self.turned(number(row["price per ct"]), row["currency"]))

    # --- labour ----------------------------------------------------------------------------

    def labour_lines(self):
        self.needs = labour_needs(self.books, self.parts, self.facts)
        for need in self.needs:
            row = need.row
            craft = self.books.one("crafts", craft=row["craft"])
            key, subjects = need.key(), (fold(row["craft"]),)
            if row.has("price each"):
                price = self.turned(number(row["price each"]), row["currency"])
                least = self.turned(number(row["minimum"], 0), row["currency"])
                self.add("labour", key, need.count, price, subjects, least=least)
                continue
            minutes = need.minutes
            if minutes is None:
                minutes = number(row["set-up minutes"], 0) + number(row["minutes each"]) * need.count
            hour = self.turned(number(craft["rate per hour"]), "")
            line = self.add("labour", key, minutes, self.books.round6(hour / 60), subjects)
            if craft.word("outside") != "yes":
                line.own = True
                self.own_minutes += minutes

    def overhead_lines(self):
        for row in self.books.policy("overhead"):
            subject, value = row.word("subject"), number(row["value"])
            if subject == "hour":
                hours = self.books.round6(self.own_minutes / 60)
                self.add("overhead", "", hours, self.turned(value, row["unit"]))
            else:
                self.add("overhead", subject, self.cost_of(subject), value, percent=True)

    def contingency_lines(self):
        for row in self.books.policy("contingency"):
            subject = row.word("subject")
            amount = self.cost_of(*MADE) if subject == "cost" else self.cost_of(subject)
            self.add("contingency", "", amount, number(row["value"]), percent=True)

    # --- services --------------------------------------------------------------------------

    def service_lines(self):
        stones = self.kind("stone")
        clients = [part for part in stones if part.word("supplied by") == "client"]
        counts = {
            "always": 1,
            "client stone": sum(part.count("count", 1) for part in clients),
            "studio stone": sum(part.count("count", 1) for part in stones if part not in clients),
        }
        alloys = [fold(part.partition(" ")[2]) for part, _ in self.facts.all("finished weight")]
        asked = {part.word("service"): part for part in self.kind("service")}
        above = sum((line.price for line in self.lines), Fraction(0))
        for row in self.books.tables["services"]:
            applies, name = row.word("applies"), row.word("service")
            count = 1 if applies in alloys else counts.get(applies, 0)
            amount = None
            if applies == "asked" and name in asked:
                count = asked[name].count("count", 1)
                amount = self.amount(asked[name]["amount"]) if "amount" in asked[name] else None
            if count:
                self.service(row, name, count, amount, above, clients)

    def service(self, row, name, count, amount, above, clients):
        least = self.turned(number(row["minimum"], 0), row["currency"])
        basis, value = row.word("basis"), number(row["price"])
        if basis == "each":
            price = self.turned(value, row["currency"])
            self.add("services", name, count, price, (name,), least=least)
            return
        if amount is None:
            amount = Fraction(0)
            if basis in ("percent of price", "percent of value"):
                amount += above
            if basis in ("percent of client stones", "percent of value"):
                amount += self.declared(clients)
        self.add("services", name, self.money(amount), value, (name,), percent=True, least=least)

    def declared(self, clients):
        total = Fraction(0)
        for part in clients:
            if "declared value" not in part:
                raise Refused(f"stone {part.name} has no declared value")
            total += self.money(part.count("count", 1) * self.amount(part["declared value"]))
        return total

    # --- the price -------------------------------------------------------------------------

    def settle(self):
        self.totals, self.taxes, self.trade_ins, self.stages = settle(self)

