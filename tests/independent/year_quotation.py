"""Each UBL Quotation of an export: valid, its sums by hand, its figures as worked out.

No schema checks sums, so this does. Part of year.py.
"""
from fractions import Fraction

import year_reading as reading
from year_play import text
from year_reading import child, children, money, words


def adjusted(element):
    """What the allowances and charges of a document or line come to."""
    total = Fraction(0)
    for one in children(element, "AllowanceCharge"):
        sign = 1 if words(one, "ChargeIndicator") == "true" else -1
        total += sign * money(one, "Amount")
    return total


def taxes_of(element):
    """(rates with base and tax in order, troubles) of a TaxTotal that adds up."""
    total = child(element, "TaxTotal")
    rows = [(words(part, "TaxCategory", "TaxScheme", "Name"), Fraction(words(part, "TaxCategory", "Percent")),
             money(part, "TaxableAmount"), money(part, "TaxAmount")) for part in children(total, "TaxSubtotal")]
    return rows, money(total, "TaxAmount")


def said(what, found, wanted):
    return [] if found == wanted else [f"{what} is {found}, worked out {wanted}"]


def taxed(what, element, priced):
    rows, total = taxes_of(element)
    wanted = sorted((tax.name, tax.rate, tax.base, tax.tax) for tax in priced.tax_rows)
    return (said(f"{what}: taxes", sorted(rows), wanted) + said(f"{what}: tax", total, priced.totals["tax"])
            + said(f"{what}: the rates' taxes add up to", sum((row[3] for row in rows), Fraction(0)), total))


def item(what, line, priced):
    """One line item: its sub-lines add up to what all lines cost."""
    parts = [money(part, "LineExtensionAmount") for part in children(line, "SubLineItem")]
    lines = priced.totals["lines"]
    troubles = said(f"{what}: sub-lines add up to", sum(parts, Fraction(0)), lines) if parts else []
    return troubles + said(f"{what}: price", money(line, "Price", "PriceAmount"), lines)


def totals(root, priced):
    total, own = child(root, "QuotedMonetaryTotal"), priced.totals
    wanted = {
        "LineExtensionAmount": own["lines"], "TaxExclusiveAmount": own["net"],
        "TaxInclusiveAmount": own["net"] + own["tax"], "PayableAmount": own["to pay"],
        "PrepaidAmount": -own["trade-in"], "PayableRoundingAmount": own["rounding of total"],
        "AllowanceTotalAmount": None, "ChargeTotalAmount": None,
    }
    troubles, sums = [], {}
    for word, value in wanted.items():
        sums[word] = money(total, word) or Fraction(0)
        if value is not None:
            troubles += said(word, sums[word], value)
    net = sums["LineExtensionAmount"] - sums["AllowanceTotalAmount"] + sums["ChargeTotalAmount"]
    troubles += said("lines less allowances and charges", net, sums["TaxExclusiveAmount"])
    troubles += said("allowances and charges", adjusted(root),
                     sums["ChargeTotalAmount"] - sums["AllowanceTotalAmount"])
    payable = sums["TaxInclusiveAmount"] - sums["PrepaidAmount"] + sums["PayableRoundingAmount"]
    return troubles + said("with tax, less what is prepaid", payable, sums["PayableAmount"])


def written(root, quote):
    """Every amount is in the quote's currency, with its decimals."""
    troubles = []
    for element in root.iter():
        currency = element.get("currencyID")
        if currency and (currency != quote.currency or text(Fraction(element.text), quote.places) != element.text):
            troubles.append(f"{element.tag.rpartition('}')[2]} is {element.text} {currency}")
    return troubles


def check(path, quote):
    """One file against the quote that it is of."""
    root = reading.quotation(path)
    first, *others = quote.names
    line = child(root, "QuotationLine", "LineItem")
    troubles = written(root, quote) + totals(root, quote.options[first])
    troubles += taxed("document", root, quote.options[first]) + item("line", line, quote.options[first])
    troubles += said("IssueDate", words(root, "IssueDate"), quote.day.isoformat())
    troubles += said("ValidityPeriod", words(root, "ValidityPeriod", "EndDate"), quote.valid_until.isoformat())
    troubles += said("client", words(root, "BuyerCustomerParty", "Party", "PartyName", "Name"),
                     " ".join(quote.client.split()))
    found = children(child(root, "QuotationLine"), "AlternativeLineItem")
    troubles += said("alternatives", len(found), len(others))
    for alternative, name in zip(found, others):
        priced = quote.options[name]
        troubles += item(name, alternative, priced) + taxed(name, alternative, priced)
        troubles += said(f"{name}: net", priced.totals["lines"] + adjusted(alternative), priced.totals["net"])
        troubles += said(f"{name}: amount", money(alternative, "LineExtensionAmount"), priced.totals["net"])
    return [f"{path.name}: {trouble}" for trouble in troubles]
