"""The life of a quote as the specification's table of states has it, replayed from events.

Part of year.py: what year_play.py did is known here as events of its own, never as what the
register says.
"""
from dataclasses import dataclass, field
from fractions import Fraction

MAY_FOLLOW = {
    "open": ("accept", "decline", "revise"),
    "accepted": ("paid", "bought", "refund", "revise", "cancel", "deliver"),
    "delivered": ("paid", "credit"),
    "cancelled": ("refund",),
    "declined": (),
    "replaced": (),
}
BINDING = ("accepted", "delivered", "cancelled")


@dataclass
class Event:
    """One thing that happened; `amount` of a cancel is what is kept."""

    id: int
    kind: str
    reference: str
    revision: int
    day: object
    option: str = ""
    amount: Fraction = None
    way: str = ""
    stage: str = ""
    receipt: str = ""
    voids: int = 0


@dataclass
class Standing:
    """One revision at the end of a day."""

    state: str
    issued: object
    option: str = ""
    accepted: object = None
    delivered: object = None
    bought: bool = False


@dataclass
class Life:
    revisions: dict = field(default_factory=dict)  # number -> Standing
    paid: Fraction = Fraction(0)
    refunded: Fraction = Fraction(0)
    credited: Fraction = Fraction(0)
    kept: Fraction = Fraction(0)
    metal: Fraction = Fraction(0)  # of what was paid: old metal
    reduced: Fraction = Fraction(0)  # of what was credited: what came off what was still due
    quotes: dict = field(default_factory=dict)  # number -> Quoted

    @property
    def newest(self):
        return max(self.revisions)

    @property
    def binding(self):
        found = [number for number, one in self.revisions.items() if one.state in BINDING]
        return found[-1] if found else None

    @property
    def held(self):
        return self.paid - self.refunded - self.kept

    def state(self):
        return self.revisions[self.binding or self.newest].state

    def priced(self, number):
        """The option that counts of a revision: the accepted one, else the first."""
        quote = self.quotes[number]
        return quote.options[self.revisions[number].option or quote.names[0]]

    def balance(self):
        """What is still to come in on the quote that binds; negative: owed to the client. Old metal
        counts as agreed until it comes in, then as received."""
        if self.binding is None:
            return Fraction(0)
        if self.state() == "cancelled":
            return -self.held
        owed = self.priced(self.binding).totals["total" if self.metal else "to pay"]
        return owed - self.reduced - (self.paid - self.refunded)

    def play(self, event):
        one = self.revisions.get(event.revision)
        if event.kind in ("issue", "revise"):
            for other in self.revisions.values():
                if other.state == "open":
                    other.state = "replaced"
            self.revisions[event.revision] = Standing("open", event.day)
        elif event.kind == "accept":
            for other in self.revisions.values():
                if other.state == "accepted":
                    other.state = "replaced"
            one.state, one.option, one.accepted = "accepted", event.option, event.day
        elif event.kind == "decline":
            one.state = "declined"
        elif event.kind == "bought":
            one.bought = True
        elif event.kind == "deliver":
            one.state, one.delivered = "delivered", event.day
        elif event.kind == "cancel":
            one.state, self.kept = "cancelled", self.kept + (event.amount or 0)
        elif event.kind == "paid":
            self.paid += event.amount
            self.metal += event.amount if event.way == "trade-in" else 0
        elif event.kind == "refund":
            self.refunded += event.amount
            self.metal -= event.amount if event.way == "trade-in" else 0
        elif event.kind == "credit":
            self.reduced += min(event.amount, max(self.balance(), Fraction(0)))
            self.credited += event.amount


def replay(events, quotes):
    """Events of one reference, in their order; voided ones and voids are passed over. `quotes` are
    the studio's, by reference and revision."""
    voided = {event.voids for event in events if event.kind == "void"}
    life = Life()
    for event in events:
        life.quotes[event.revision] = quotes[(event.reference, event.revision)]
        if event.kind != "void" and event.id not in voided:
            life.play(event)
    return life
