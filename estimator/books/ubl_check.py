"""The arithmetic of a UBL invoice or credit note, with zero tolerance.

The XML Schema knows no sums, and the published rules of EN 16931 accept a tax that is off by up to a unit of currency
and never look at quantity × price. This check reads the document alone, with integers and fractions, and shares no
arithmetic with the writer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import NamedTuple

from lxml import etree

from estimator.books.ubl import CAC, CBC
from estimator.errors import Finding

_NAMESPACES = {"cac": CAC, "cbc": CBC}
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_AMOUNT = re.compile(r"-?[0-9]+(\.[0-9]{1,2})?")
_CENT = Fraction(1, 100)
_NEAR = Fraction(1, 10**5)  # in cents: remainders this near are equal, and the earlier part gets the cent


def ubl_findings(xml: bytes, file: str = "") -> tuple[Finding, ...]:
    """Every sum of a UBL document that doesn't agree, as findings of rule `out-of-balance`; none where all agree.

    Checked, each to the cent: quantity × price (half away from zero) is the line's net; the lines, allowances and
    charges give the totals; each tax base is the sum of its lines; the tax is base × rate on the aggregate rate of
    the jurisdictions, half away from zero, or the sum of the lines' own taxes; its parts are its shares;
    one currency throughout; a rounding of the tax is at most a cent and only in a document that refers to another.
    Parameters: the file's bytes; its name for the findings. Raises nothing for a file that isn't XML: that's a finding.
    """
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
    try:
        root = etree.fromstring(xml, parser)
        wrong = [*_Reader(root).faults()]
    except (etree.XMLSyntaxError, _NotANumber) as error:
        return (Finding("unreadable-file", "stop", f"{file}: {error}", "make the file again from the register"),)
    fix = "don't send it; make it again from the register, and report the fault if it comes back"
    return tuple(
        Finding("out-of-balance", "stop", f"{file}: {what}".lstrip(": "), fix, expected=str(expected), found=str(found))
        for what, expected, found in wrong
    )


class _NotANumber(ValueError):
    pass


def _half_up(x: Fraction) -> Fraction:
    cents = (2 * abs(x.numerator) * 100 + x.denominator) // (2 * x.denominator)
    return Fraction(cents if x >= 0 else -cents, 100)


class _Reader:
    def __init__(self, root: etree._Element) -> None:
        self.root = root
        self.line_name = "InvoiceLine" if etree.QName(root).localname == "Invoice" else "CreditNoteLine"

    def all(self, path: str, node: etree._Element | None = None) -> list[etree._Element]:
        return list((self.root if node is None else node).findall(path, _NAMESPACES))

    def number(self, path: str, node: etree._Element | None = None, default: int | None = None) -> Fraction:
        found = self.all(path, node)
        if not found and default is not None:
            return Fraction(default)
        if len(found) != 1:
            raise _NotANumber(f"{path} stands {len(found)} times, one is required")
        text, money = (found[0].text or "").strip(), "currencyID" in found[0].attrib
        if not (_AMOUNT if money and not path.endswith("PriceAmount") else _NUMBER).fullmatch(text):
            raise _NotANumber(f'{path} "{text}" isn\'t {"an amount with two decimals" if money else "a number"}')
        return Fraction(text)

    def text(self, path: str, node: etree._Element) -> str:
        found = self.all(path, node)
        return (found[0].text or "").strip() if found else ""

    def faults(self) -> Iterator[tuple[str, object, object]]:
        yield from self.currency()
        yield from self.lines()
        yield from self.totals()
        yield from self.tax()

    def currency(self) -> Iterator[tuple[str, object, object]]:
        currency = self.text("cbc:DocumentCurrencyCode", self.root)
        for node in self.root.iter():
            used = node.get("currencyID")
            if used is not None and used != currency:
                yield f"{etree.QName(node).localname} in another currency", currency, used

    def lines(self) -> Iterator[tuple[str, object, object]]:
        for line in self.all(f"cac:{self.line_name}"):
            kind = "Invoiced" if self.line_name == "InvoiceLine" else "Credited"
            quantity = self.number(f"cbc:{kind}Quantity", line)
            price = self.number("cac:Price/cbc:PriceAmount", line)
            per = self.number("cac:Price/cbc:BaseQuantity", line, 1)
            net = _half_up(quantity * price / per) + self.allowed(line)
            found = self.number("cbc:LineExtensionAmount", line)
            if net != found:
                yield f"line {self.text('cbc:ID', line)}: quantity × price isn't its net", _show(net), _show(found)

    def allowed(self, node: etree._Element) -> Fraction:
        """Charges less allowances directly below a node."""
        total = Fraction(0)
        for item in self.all("cac:AllowanceCharge", node):
            sign = 1 if self.text("cbc:ChargeIndicator", item) == "true" else -1
            total += sign * self.number("cbc:Amount", item)
        return total

    def totals(self) -> Iterator[tuple[str, object, object]]:
        total = "cac:LegalMonetaryTotal/cbc:"
        lines = sum(
            (self.number("cbc:LineExtensionAmount", line) for line in self.all(f"cac:{self.line_name}")), Fraction(0)
        )
        tax = sum((self.number("cbc:TaxAmount", node) for node in self.all("cac:TaxTotal")), Fraction(0))
        net, rounding = lines + self.allowed(self.root), self.number(f"{total}PayableRoundingAmount", default=0)
        paid = self.number(f"{total}PrepaidAmount", default=0)
        down, up = (self.number(f"{total}{name}TotalAmount", default=0) for name in ("Allowance", "Charge"))
        for name, expected, found in (
            ("LineExtensionAmount", lines, self.number(f"{total}LineExtensionAmount")),
            ("charges less allowances", self.allowed(self.root), up - down),
            ("TaxExclusiveAmount", net, self.number(f"{total}TaxExclusiveAmount")),
            ("TaxInclusiveAmount", net + tax, self.number(f"{total}TaxInclusiveAmount")),
            ("PayableAmount", net + tax - paid + rounding, self.number(f"{total}PayableAmount")),
        ):
            if expected != found:
                yield f"{name} isn't what the document adds up to", _show(expected), _show(found)

    def bases(self) -> dict[tuple[str, Fraction], Fraction]:
        """The sum of the lines, allowances and charges of each tax category and rate."""
        bases: dict[tuple[str, Fraction], Fraction] = {}

        def put(category: etree._Element, amount: Fraction) -> None:
            key = self.text("cbc:ID", category), self.number("cbc:Percent", category, 0)
            bases[key] = bases.get(key, Fraction(0)) + amount

        for line in self.all(f"cac:{self.line_name}"):
            for category in self.all("cac:Item/cac:ClassifiedTaxCategory", line):
                put(category, self.number("cbc:LineExtensionAmount", line))
        for item in self.all("cac:AllowanceCharge"):
            sign = 1 if self.text("cbc:ChargeIndicator", item) == "true" else -1
            for category in self.all("cac:TaxCategory", item):
                put(category, sign * self.number("cbc:Amount", item))
        return bases

    def tax(self) -> Iterator[tuple[str, object, object]]:
        bases = self.bases()
        if not self.all("cac:TaxTotal"):
            if bases:
                yield "lines have a tax category and the document has no tax", "a TaxTotal", "none"
            return
        total = self.number("cac:TaxTotal/cbc:TaxAmount")
        groups: dict[tuple[str, Fraction], list[_Part]] = {}
        for part in map(self.part, self.all("cac:TaxTotal/cac:TaxSubtotal")):
            groups.setdefault(part.group, []).append(part)
        added = sum((part.tax for group in groups.values() for part in group), Fraction(0))
        if added != total:
            yield "the parts of the tax don't add up to it", _show(total), _show(added)
        merged = {
            (category, sum((part.rate for part in group), Fraction(0))) for (category, _), group in groups.items()
        }
        if merged != set(bases):
            yield "the tax is split by other categories or rates than the lines", _keys(bases), _keys(merged)
            return
        rounding = self.number("cac:TaxTotal/cbc:RoundingAmount", default=0)
        if rounding and (abs(rounding) > _CENT or not self.all("cac:BillingReference")):
            yield "a rounding of the tax where none is due", "0.00", _show(rounding)
        for group in groups.values():
            rate = sum((part.rate for part in group), Fraction(0))
            yield from self.group(group, rate, bases[group[0].group[0], rate], rounding)

    def group(
        self, group: list[_Part], rate: Fraction, base: Fraction, rounding: Fraction
    ) -> Iterator[tuple[str, object, object]]:
        """The parts of one tax category: one where the tax is VAT, one a jurisdiction where it is sales tax."""
        own = [node for node in self.all(f"cac:{self.line_name}") if self.all("cac:TaxTotal", node)]
        if own and rate:
            tax = sum((self.number("cac:TaxTotal/cbc:TaxAmount", line) for line in own), Fraction(0))
            for line in own:
                percent = self.number("cac:Item/cac:ClassifiedTaxCategory/cbc:Percent", line)
                expected = _half_up(self.number("cbc:LineExtensionAmount", line) * percent / 100)
                found = self.number("cac:TaxTotal/cbc:TaxAmount", line)
                if expected != found:
                    yield f"line {self.text('cbc:ID', line)}: its tax isn't net × rate", _show(expected), _show(found)
            for item in self.all("cac:AllowanceCharge"):
                percent = self.number("cac:TaxCategory/cbc:Percent", item, 0)
                tax -= _half_up(self.number("cbc:Amount", item) * percent / 100)
        else:
            tax = _half_up(base * rate / 100) + (rounding if rate else 0)
        found = sum((part.tax for part in group), Fraction(0))
        if tax != found:
            yield f"the tax at {float(rate):g} % isn't its base × rate", _show(tax), _show(found)
        for part in group:
            if part.base != base:
                yield (
                    f"the base of the tax at {float(part.rate):g} % isn't the sum of its lines",
                    _show(base),
                    _show(part.base),
                )
        if not self.is_fair(group, rate, found):
            rates = " : ".join(f"{float(part.rate):g}" for part in group)
            yield "the tax isn't shared out by its rates", rates, " + ".join(_show(part.tax) for part in group)

    def is_fair(self, group: list[_Part], rate: Fraction, tax: Fraction) -> bool:
        """The largest remainder: each part is its share cut to cents, and the greatest rests got a cent more. Where a
        deposit goes back, the parts are differences, and each lies within a cent of its share."""
        off = [abs(part.tax) * 100 - (abs(tax) * part.rate / rate * 100 if rate else 0) for part in group]
        if self.all("cac:TaxTotal/cbc:RoundingAmount"):
            return all(abs(x) <= 1 for x in off)
        raised, cut = [1 - x for x in off if x > 0], [-x for x in off if x <= 0]
        return all(0 <= rest < 1 for rest in cut + raised) and min(raised, default=1) >= max(cut, default=0) - _NEAR

    def part(self, node: etree._Element) -> _Part:
        category = self.all("cac:TaxCategory", node)[0]
        rate, name = self.number("cbc:Percent", category, 0), self.text("cbc:ID", category)
        vat = self.text("cac:TaxScheme/cbc:ID", category) == "VAT"
        group = name, rate if vat else Fraction(-1)
        return _Part(group, rate, self.number("cbc:TaxableAmount", node), self.number("cbc:TaxAmount", node))


class _Part(NamedTuple):
    """One subtotal. With VAT each rate stands alone; with sales tax the jurisdictions' rates make one."""

    group: tuple[str, Fraction]
    rate: Fraction
    base: Fraction
    tax: Fraction


def _keys(keys: Iterable[tuple[str, Fraction]]) -> str:
    return ", ".join(f"{name} at {float(rate):g} %" for name, rate in sorted(keys))


def _show(x: Fraction) -> str:
    cents = x * 100
    if cents.denominator != 1:
        return str(x)
    whole, rest = divmod(abs(cents.numerator), 100)
    return f"{'-' if x < 0 else ''}{whole}.{rest:02d}"
