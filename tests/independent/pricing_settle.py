"""From lines to what is to pay: discount, surcharge, net, tax, trade-in, stages, margin.

Part of the independent model (see pricing_model.py).
"""
from fractions import Fraction

from pricing_books import FINE, Refused, ceiling, number, rounded, shares


def settle(pricing):
    """Totals by item, taxes by (name, rate), trade-in lines, payment stages in order."""
    return Settling(pricing).all()


class Settling:
    def __init__(self, pricing):
        self.pricing, self.books = pricing, pricing.books
        self.lines, self.places = pricing.lines, pricing.places
        self.groups = self.grouped()
        self.rounding_of_total = Fraction(0)

    def money(self, value):
        return self.pricing.money(value)

    # --- tax -------------------------------------------------------------------------------

    def rows_for(self, line):
        """The line's service or section in the commission's region, else the region's `all`."""
        region = self.pricing.commission["region"].text
        for category in (line.category, line.section, "all"):
            rows = self.books.find("taxes", region=region, category=category)
            if rows:
                return rows
        raise Refused(f"no tax for {line} in {region}")

    def grouped(self):
        """Line prices by the rates that they bear, in the order of their first line, whose own
        rows say which of the taxes a trade-in reduces."""
        groups = {}
        for line in self.lines:
            rows = self.rows_for(line)
            key = tuple(sorted((row["name"].strip(), number(row["rate"])) for row in rows))
            lessens = {(row["name"].strip(), number(row["rate"])) for row in rows
                       if row.word("trade-in") == "reduces"}
            old = groups.get(key, (Fraction(0), lessens))
            groups[key] = (old[0] + line.price, old[1])
        return groups

    def taxed(self, adjustment, credit):
        """Tax once on each rate's sum, after the adjustments' shares and what lessens it."""
        prices = [price for price, _ in self.groups.values()]
        parts = shares(adjustment, prices, self.places)
        bases = [price + part for price, part in zip(prices, parts)]
        lessened = [base if group[1] else Fraction(0) for base, group in zip(bases, self.groups.values())]
        off = min(credit, sum(lessened, Fraction(0)))
        less = [base - part for base, part in zip(bases, shares(off, lessened, self.places))]
        sums = {}
        for (key, group), base, left in zip(self.groups.items(), bases, less):
            for rate in key:
                sums[rate] = sums.get(rate, Fraction(0)) + (left if rate in group[1] else base)
        return {rate: self.money(base * rate[1] / 100) for rate, base in sums.items()}

    # --- what old metal is worth -----------------------------------------------------------

    def trade_ins(self):
        found = []
        for name, grams in self.pricing.credit_grams:
            alloy = self.books.one("alloys", alloy=name)
            for metal in FINE:
                fineness = number(alloy[metal], 0)
                if not fineness:
                    continue
                fine = self.books.round6(grams * fineness / 1000)
                payout = number(alloy["scrap payout"], 0) / 100
                each = self.books.round6(self.books.per_gram(metal, self.pricing.currency) * payout)
                found.append((metal, fine, each, self.money(fine * each)))
        return found

    # --- net, and again with the surcharge -------------------------------------------------

    def policy_money(self, rule, subject, own=""):
        """An amount of the policy, in the studio's currency where it names none (`own`)."""
        rows = self.books.policy(rule, subject)
        return self.pricing.turned(number(rows[0]["value"]), rows[0]["unit"] or own) if rows else None

    def step(self, subject):
        """A step without a unit is in the quote's own currency."""
        return self.policy_money("round up", subject, self.pricing.currency)

    def discount(self):
        value = self.pricing.commission.get("discount")
        if value is None:
            return Fraction(0)
        if value.unit in ("%", "percent"):
            open_lines = sum((line.price for line in self.lines if not line.at_cost), Fraction(0))
            return self.money(open_lines * Fraction(value.text) / 100)
        return self.money(self.pricing.amount(value))

    def net(self, lines, discount, surcharge, credit):
        """Minimum, rounding, net, taxes and total for a given surcharge."""
        net = lines - discount + surcharge
        least, step = self.policy_money("minimum", "net"), self.step("net")
        minimum = max(Fraction(0), self.money(least) - net) if least is not None else Fraction(0)
        net += minimum
        rounding = self.up(net, step)
        net += rounding
        taxes = self.taxed(minimum + rounding + surcharge - discount, credit)
        total = net + sum(taxes.values(), Fraction(0))
        of_total = self.up(total, self.step("total"))
        return minimum, rounding, net, taxes, of_total, total + of_total

    def up(self, amount, step):
        if step is None:
            return Fraction(0)
        step = self.money(step)
        return ceiling(amount / step) * step - amount

    def surcharge(self, lines, discount, credit):
        way = self.pricing.commission.word("pays by")
        rows = self.books.policy("surcharge", way) if way else []
        if not rows:
            return Fraction(0)
        part = number(rows[0]["value"]) / 100
        _, _, net, taxes, _, total = self.net(lines, discount, Fraction(0), credit)
        tax_part = sum(taxes.values(), Fraction(0)) / net if net else Fraction(0)
        due = max(Fraction(0), total - credit)  # who has nothing to pay doesn't pay so
        kept = 1 - part * (1 + tax_part)
        if kept <= 0 and due > 0:
            raise Refused(f"a surcharge of which the fee leaves {kept}")
        return self.money(part * due / kept) if due else Fraction(0)

    # --- stages ----------------------------------------------------------------------------

    def stages(self, to_pay):
        """Percentages by largest remainder; the last takes the rest, amounts come out of it.

        The specification does not say what an amount is where less than it is left: here it is
        what is left, and nothing where nothing is.
        """
        rows = self.books.policy("payment")
        percent = {i: number(row["value"]) for i, row in enumerate(rows)
                   if row.has("value") and row["unit"].strip() == "%"}
        weights = [percent.get(i, Fraction(0)) for i in range(len(rows))]
        weights[-1] = 100 - sum(weights[:-1])
        parts = shares(to_pay, weights, self.places)
        for i, row in enumerate(rows):
            if i not in percent and row.has("value"):
                amount = self.money(self.pricing.turned(number(row["value"]), row["unit"]))
                parts[i] = max(Fraction(0), min(amount, parts[-1]))
                parts[-1] -= parts[i]
        return [(row.word("subject"), part) for row, part in zip(rows, parts)]

    def all(self):
        trade_ins = self.trade_ins()
        credit = sum((entry[3] for entry in trade_ins), Fraction(0))
        cost = sum((line.cost for line in self.lines), Fraction(0))
        lines = sum((line.price for line in self.lines), Fraction(0))
        discount = self.discount()
        surcharge = self.surcharge(lines, discount, credit)
        minimum, rounding, net, taxes, of_total, total = self.net(lines, discount, surcharge, credit)
        earned = net - surcharge
        margin = rounded((earned - cost) / earned * 100, 2) if net > 0 else None
        totals = {
            "cost": cost, "lines": lines, "discount": -discount, "surcharge": surcharge,
            "minimum": minimum, "rounding": rounding, "net": net,
            "tax": sum(taxes.values(), Fraction(0)), "rounding of total": of_total, "total": total,
            "trade-in": -credit, "to pay": total - credit, "margin": margin,
        }
        return totals, taxes, trade_ins, self.stages(total - credit)
