"""The lives that the commissions of year.py lead. Each yields the days until it goes on."""
from year_play import FAULTY, REFUSED, text


def metal(c):
    """The old metal that the quote takes in, where it does."""
    if c.traded():
        c.pay(c.traded(), "trade-in")


def asked(c):
    """Issued, and looked at for a while; something wrong is tried."""
    c.issue()
    yield 3
    c.try_wrong()


def begun(c, by="bank"):
    """Accepted, the deposit paid."""
    yield from asked(c)
    c.accept()
    yield 2
    metal(c)
    c.pay(c.stage("deposit"), by, "deposit")
    yield 9


def cast(c, by="card"):
    """Metal and stones bought, the casting paid for."""
    c.simple("bought")
    yield 7
    c.pay(c.stage("casting"), by, "casting")
    c.try_wrong()
    yield 12


def plain(c):
    yield from begun(c)
    yield from cast(c)
    yield from c.deliver()
    yield 8
    c.pay(c.owed(), "bank", "delivery")
    c.try_wrong()


def paid_before(c):
    """All is paid when it is handed over."""
    yield from begun(c, "card")
    yield from cast(c, "cheque")
    c.pay(c.owed(), "cash", "delivery")
    yield 1
    yield from c.deliver()
    c.try_wrong()


def declined(c):
    yield from asked(c)
    c.simple("decline")
    yield 4
    c.try_wrong()


def left_open(c):
    yield from asked(c)


def revised_open(c):
    yield from asked(c)
    c.revise(("ring", "size", "7", "US"))
    yield 4
    c.revise(("commission", "discount", "3", "%"))
    c.studio.refused(REFUSED, "accept", f"{c.reference}-r1", "--option", c.quote().names[0], *c.on())
    yield 3
    c.accept()
    yield 2
    metal(c)
    c.pay(c.stage("deposit"), "bank", "deposit")
    yield 11
    yield from cast(c)
    yield from c.deliver()
    yield 5
    c.pay(c.owed())


def revised_accepted(c):
    """The accepted one binds, and takes money, until its revision is accepted."""
    yield from begun(c)
    c.revise(("shank", "width top", "3.1", "mm"))
    yield 2
    c.pay(c.part(c.owed(), 0.137), "cash")
    yield 2
    c.accept()
    yield 5
    yield from cast(c)
    yield from c.deliver()
    yield 14
    c.pay(c.part(c.owed(), 0.5))
    yield 14
    c.pay(c.owed())


def revision_declined(c):
    yield from begun(c)
    c.revise(("ring", "alloy", "916 yellow", ""))
    yield 3
    c.simple("decline")
    yield 5
    yield from cast(c)
    yield from c.deliver()
    yield 3
    c.pay(c.owed())


def cancelled_kept(c):
    """A part is kept, the rest given back at once."""
    yield from begun(c)
    held = c.life().held
    c.studio.refused(REFUSED, "cancel", c.reference, "--keep", text(held + 1, c.quote().places), *c.on())
    c.cancel(c.part(held, 0.3))
    yield 5
    c.studio.refused(REFUSED, "refund", c.reference, text(c.life().held + 1, c.quote().places), *c.on())
    c.refund(c.life().held)
    c.try_wrong()


def cancelled_nothing_kept(c):
    """All is given back, in two parts, the second in another month."""
    yield from begun(c, "card")
    c.cancel()
    yield 6
    c.refund(c.part(c.life().held, 0.331), "card")
    yield 33
    c.refund(c.life().held, "card")


def cancelled_all_kept(c):
    yield from begun(c, "cash")
    c.simple("bought")
    yield 4
    c.cancel(c.life().held)
    c.try_wrong()


def cancelled_owed(c):
    """What is owed back is not yet given back at the end of the year."""
    yield from begun(c)
    yield from cast(c)
    c.cancel(c.part(c.life().held, 0.6))


def cancelled_revised(c):
    """Revised after the deposit; in a country where the rate rose meanwhile, at another rate. Part
    of the deposit goes back, part is kept, the rest goes back."""
    yield from begun(c)
    yield 24
    c.revise(("ring", "size", "8", "US"))
    yield 1
    c.accept()
    yield 2
    c.pay(c.part(c.owed(), 0.113), "cash")
    yield 1
    c.refund(c.part(c.life().held, 0.371))
    yield 2
    c.cancel(c.part(c.life().held, 0.419))
    yield 1
    c.refund(c.life().held)


def cancelled_unpaid(c):
    yield from asked(c)
    c.accept()
    yield 20
    c.cancel()


def late(c):
    """Accepted after it was valid, with a reason; a reduction when all is paid."""
    yield from asked(c)
    yield 30
    option = ("--option", c.quote().names[0])
    c.studio.refused(REFUSED, "accept", c.reference, *option, *c.on())
    c.accept("--reason", "was on a journey")
    yield 1
    metal(c)
    c.pay(c.stage("deposit"))
    yield 15
    yield from c.deliver()
    yield 10
    c.pay(c.owed())
    yield 20
    c.credit(c.part(c.priced().totals["total"], 0.0517))


def credit_before_balance(c):
    yield from begun(c)
    yield from c.deliver()
    yield 6
    c.credit(c.part(c.owed(), 0.211))
    yield 9
    c.pay(c.owed())


def credit_across(c):
    """A reduction that is more than what is still owed."""
    yield from begun(c)
    yield from cast(c)
    c.pay(c.part(c.owed(), 0.9))
    yield 2
    yield from c.deliver()
    yield 6
    c.credit(c.owed() + c.part(c.priced().totals["total"], 0.04))


def taken_back(c):
    """Reduced by all that is left, in two steps."""
    yield from begun(c)
    yield from c.deliver()
    yield 4
    c.pay(c.owed())
    yield 12
    total = c.priced().totals["total"]
    c.studio.refused(REFUSED, "credit", c.reference, text(total + 1, c.quote().places), *c.on())
    first = c.part(total, 0.347)
    c.credit(first)
    yield 21
    c.credit(total - first)


def mistyped(c):
    """A payment voided in the next month and written anew, with its own day."""
    yield from asked(c)
    c.accept()
    yield 1
    wrong = c.pay(c.part(c.stage("deposit"), 0.1), "card", "deposit")
    yield 29
    c.void(wrong)
    c.studio.refused(REFUSED, "void", wrong.id, *c.on())
    c.pay(c.stage("deposit"), "card", "deposit")
    metal(c)
    yield 10
    yield from cast(c)
    yield from c.deliver()
    yield 2
    wrong = c.pay(c.owed(), "cash")
    yield 2
    c.void(wrong)
    c.pay(c.owed(), "bank", "delivery")


def delivery_voided(c):
    yield from begun(c)
    yield from c.deliver()
    yield 25
    c.void(c.studio.of(c.reference)[-1])
    c.pay(c.stage("casting"), "bank", "casting")
    yield 9
    yield from c.deliver()
    yield 2
    c.pay(c.owed())


def voided_since(c):
    """A deposit is voided after the delivery, a delivery after money came in for it."""
    yield from asked(c)
    c.accept()
    yield 2
    metal(c)
    wrong = c.pay(c.stage("deposit"), "cheque", "deposit")
    yield 9
    yield from c.deliver()
    delivery = c.studio.of(c.reference)[-1]
    yield 6
    c.void(wrong)
    c.pay(c.stage("deposit"), "bank", "deposit")
    yield 1
    c.void(delivery)
    yield 3
    yield from c.deliver()
    yield 2
    c.pay(c.owed())


def refunded_part(c):
    """Smaller stones: part of the deposit goes back before delivery."""
    yield from begun(c)
    c.studio.refused(REFUSED, "refund", c.reference, text(c.life().held + 1, c.quote().places), *c.on())
    c.refund(c.part(c.life().held, 0.2), "bank")
    yield 4
    yield from cast(c)
    yield from c.deliver()
    yield 7
    c.pay(c.owed())


def refund_voided(c):
    yield from begun(c)
    wrong = c.refund(c.part(c.life().held, 0.5), "cash")
    yield 1
    c.void(wrong)
    yield 3
    yield from cast(c)
    yield from c.deliver()
    yield 1
    wrong = c.credit(c.part(c.owed(), 0.2))
    yield 1
    c.void(wrong)
    c.pay(c.owed())


def cancel_voided(c):
    yield from begun(c)
    wrong = c.cancel(c.part(c.life().held, 0.25))
    yield 12
    c.void(wrong)
    yield 2
    yield from c.deliver()
    yield 3
    c.pay(c.owed())


def accept_voided(c):
    """The wrong one was marked as accepted; and once more after money came in: that rests on it."""
    yield from asked(c)
    c.accept()
    wrong = c.studio.of(c.reference)[-1]
    paid = c.pay(c.part(c.owed(), 0.1))
    yield 1
    c.studio.refused(REFUSED, "void", wrong.id, *c.on())
    c.void(paid)
    c.void(wrong)
    yield 1
    c.simple("decline")


def twice(c):
    """The same receipt, then the same payment, is refused; meant, it is another payment."""
    yield from asked(c)
    c.accept()
    yield 2
    metal(c)
    first = c.part(c.stage("deposit"), 0.5)
    c.pay(first, "cash", "deposit", receipt="")
    shown = text(first, c.quote().places)
    again = ("paid", c.reference, shown, "--by", "cash", *c.on())
    c.studio.refused(REFUSED, *again)
    c.pay(first, "cash", "deposit", "", "--again")
    third = c.pay(c.part(first, 0.01), "card")
    c.studio.refused(REFUSED, "paid", c.reference, text(first * 2, c.quote().places), "--receipt", third.receipt,
                     *c.on())
    for amount in ("0", "-5", "1e3", "12.3456"):
        c.studio.refused(64 if amount[0] == "-" else FAULTY, "paid", c.reference, amount, *c.on())
    c.studio.refused(FAULTY, "paid", c.reference, shown, "--by", "deposits", *c.on())
    c.studio.refused(FAULTY, "paid", c.reference, shown, "--on", "2199-01-01")
    yield 14
    yield from c.deliver()
    yield 2
    c.pay(c.owed())


def in_work(c):
    yield from begun(c)
    yield from cast(c)


def written_late(c):
    """A payment of an earlier day, written when others have been."""
    yield from begun(c)
    yield from cast(c)
    today = c.day
    c.day = today.replace(day=1)
    c.pay(c.part(c.owed(), 0.1), "cheque")
    c.day = today
    yield 1
    yield from c.deliver()
    yield 30
    c.pay(c.owed(), "cheque")


LIVES = (plain, paid_before, revised_open, declined, revised_accepted, cancelled_kept, credit_before_balance,
         late, revision_declined, twice, mistyped, cancelled_nothing_kept, delivery_voided, refunded_part,
         cancelled_revised, credit_across, left_open, taken_back, cancelled_all_kept, refund_voided, accept_voided,
         voided_since, written_late, cancelled_unpaid, paid_before, left_open, cancelled_owed, in_work,
         revised_open, cancel_voided)
