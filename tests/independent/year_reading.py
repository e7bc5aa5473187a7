"""What an export holds, read by others: csv, ElementTree, hledger, ledger, xmllint.

Part of year.py.
"""
import csv
import hashlib
import io
import os
import pathlib
import subprocess
import xml.etree.ElementTree as tree
from fractions import Fraction

CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
SCHEMA = "xsdrt/maindoc/UBL-Quotation-2.1.xsd"


def rows(path):
    with open(path, encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def bytes_of(folder):
    """Every file of a folder by its relative name."""
    folder = pathlib.Path(folder)
    return {str(path.relative_to(folder)): path.read_bytes()
            for path in sorted(folder.rglob("*")) if path.is_file()}


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def told(*command):
    """Exit code, standard output, standard error of another program."""
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


# --- journal -----------------------------------------------------------------------------------


def amount_of(words):
    """Commodity and amount of "-1,234.50 USD"; nothing is no commodity."""
    number, _, commodity = words.replace(",", "").strip().partition(" ")
    return commodity.strip('"'), Fraction(number)


def hledger_balances(journal):
    """What hledger finds in each account itself, by (account, commodity)."""
    code, out, err = told("hledger", "-f", journal, "bal", "--flat", "--no-total", "-O", "csv")
    if code:
        raise ValueError(err)
    found = {}
    for row in csv.DictReader(io.StringIO(out)):
        for part in row["balance"].split(", "):
            if part != "0":
                commodity, amount = amount_of(part)
                found[(row["account"], commodity)] = amount
    return {key: amount for key, amount in found.items() if amount}


def ledger_balances(journal):
    """The same by ledger: one line an account and commodity."""
    code, out, err = told("ledger", "-f", journal, "--pedantic", "bal", "--flat", "--no-total", "--format",
                          "%(account)\t%(quoted(scrub(display_amount)))\n")
    if code:
        raise ValueError(err)
    found, account = {}, ""
    for line in out.replace('"', "").splitlines():
        name, tab, value = line.partition("\t")
        account = name if tab else account
        value = value if tab else line
        if value.strip() not in ("", "0"):
            commodity, amount = amount_of(value)
            found[(account, commodity)] = amount
    return {key: amount for key, amount in found.items() if amount}


def hledger_entries(journal):
    """Every entry: (date, code, description, {(account, commodity): amount})."""
    code, out, err = told("hledger", "-f", journal, "print", "-x", "-O", "csv")
    if code:
        raise ValueError(err)
    found = {}
    for row in csv.DictReader(io.StringIO(out)):
        entry = found.setdefault(row["txnidx"], (row["date"], row["code"], row["description"], {}))
        key = (row["account"], row["commodity"].strip('"'))
        entry[3][key] = entry[3].get(key, Fraction(0)) + Fraction(row["amount"].replace(",", ""))
    return list(found.values())


# --- quotations --------------------------------------------------------------------------------


def schema():
    """The OASIS schema, where UBL_SCHEMAS names its folder."""
    folder = os.environ.get("UBL_SCHEMAS")
    return pathlib.Path(folder) / SCHEMA if folder else None


def validate(files):
    """What xmllint says against the schema; nothing where all are valid."""
    code, _, err = told("xmllint", "--noout", "--nonet", "--schema", schema(), *files)
    return [] if code == 0 else [line for line in err.splitlines() if not line.endswith(" validates")][:8]


def child(element, *names):
    """The element down a path of local names, cac or cbc; None where there is none."""
    for name in names:
        found = element.find(CAC + name)
        element = found if found is not None else element.find(CBC + name)
        if element is None:
            return None
    return element


def children(element, name):
    return element.findall(CAC + name) + element.findall(CBC + name)


def money(element, *names):
    found = child(element, *names)
    return None if found is None else Fraction(found.text)


def words(element, *names):
    found = child(element, *names)
    return None if found is None else found.text


def quotation(path):
    return tree.parse(path).getroot()
