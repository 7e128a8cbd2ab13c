"""A posted document in the Universal Business Language 2.1 (OASIS; ISO/IEC 19845): invoice or credit note.

Where the tax is VAT the document follows EN 16931 and says so; with sales tax it is a UBL document of its own, with a
subtotal for each jurisdiction, and claims no more. Nothing is worked out anew but the base of the tax: all amounts are
those that were posted.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from lxml import etree

from estimator.books.posting import InvoiceLine, Party, Posting, plain_number
from estimator.money import EXACT, ZERO, add, half_up, money_text, product
from estimator.records.units import UNIT_CODES

_UBL = "urn:oasis:names:specification:ubl:schema:xsd:"
CAC, CBC = f"{_UBL}CommonAggregateComponents-2", f"{_UBL}CommonBasicComponents-2"
EN_16931 = "urn:cen.eu:en16931:2017"
INVOICE, CREDIT_NOTE = "380", "381"
_HUNDRED = Decimal(100)


@dataclass(frozen=True)
class Identity:
    """What the books add to a posting: the document's number, its date, whether it reverses, and what it refers to."""

    number: str
    date: str
    reverses: str = ""


class _Writer:
    """A tree that grows by `cbc` leaves and `cac` branches, in the order of the calls."""

    def __init__(self, root: etree._Element, currency: str) -> None:
        self.root, self.currency = root, currency

    def leaf(self, name: str, text: str, **attributes: str) -> None:
        etree.SubElement(self.root, f"{{{CBC}}}{name}", attributes).text = text

    def amount(self, name: str, value: Decimal) -> None:
        self.leaf(name, money_text(value), currencyID=self.currency)

    def branch(self, *path: str) -> _Writer:
        root = self.root
        for name in path:
            root = etree.SubElement(root, f"{{{CAC}}}{name}")
        return _Writer(root, self.currency)


def ubl_document(posting: Posting, identity: Identity) -> bytes | None:
    """The XML of a posting, or of its reversal, as UTF-8; None where there is nothing to send to a customer.

    An invoice, and the reversal of a credit note, is an Invoice (type 380); a credit note, a core deposit given back,
    and the reversal of an invoice is a CreditNote (381). A reversal and a core entry name the document referred to.
    Parameters: posting, sound by `estimator.books.posting_rules`; identity. Raises: KeyError for a unit without a code.
    """
    sold = [line for line in posting.lines if line.kind != "discount"]
    if not sold:
        return None
    credit = (posting.kind != "invoice") != bool(identity.reverses)
    name = "CreditNote" if credit else "Invoice"
    root = etree.Element(f"{{{_UBL}{name}-2}}{name}", nsmap={None: f"{_UBL}{name}-2", "cac": CAC, "cbc": CBC})
    document = _Writer(root, posting.currency)
    _head(document, posting, identity, credit)
    _party(document.branch("AccountingSupplierParty", "Party"), posting.seller, posting.tax_kind)
    _party(document.branch("AccountingCustomerParty", "Party"), posting.customer, posting.tax_kind)
    document.branch("PaymentTerms").leaf("Note", posting.terms)
    for line in posting.lines:
        if line.kind == "discount" and line.net:
            _allowance(document.branch("AllowanceCharge"), line, posting)
    if posting.tax_kind != "none":
        _tax_total(document.branch("TaxTotal"), posting)
    _totals(document.branch("LegalMonetaryTotal"), posting, sold)
    for place, line in enumerate(sold, start=1):
        _line(document.branch(f"{name}Line"), place, line, posting, credit)
    return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True))


def _head(document: _Writer, posting: Posting, identity: Identity, credit: bool) -> None:
    if posting.tax_kind == "vat":
        document.leaf("CustomizationID", EN_16931)
    else:
        document.leaf("UBLVersionID", "2.1")
    document.leaf("ID", identity.number)
    document.leaf("IssueDate", identity.date)
    document.leaf("CreditNoteTypeCode" if credit else "InvoiceTypeCode", CREDIT_NOTE if credit else INVOICE)
    for note in _notes(posting, identity):
        document.leaf("Note", note)
    document.leaf("DocumentCurrencyCode", posting.currency)
    for reference in [identity.reverses] if identity.reverses else posting.references:
        document.branch("BillingReference", "InvoiceDocumentReference").leaf("ID", reference)


def _notes(posting: Posting, identity: Identity) -> list[str]:
    revision = f"Document {posting.document}, revision {posting.revision}"
    notes = [f"{revision}. {posting.car_text}" if posting.car_text else revision]
    if identity.reverses:
        notes.append(f"Reverses {identity.reverses} in full")
    for item in posting.consents:
        words = [
            f"{money_text(item.amount)} {posting.currency}",
            item.date.isoformat(),
            item.who,
            item.how,
            item.taken_by,
        ]
        notes.append(f"Consent, {item.stage}: " + ", ".join(word for word in words if word))
    notes += [f"Safety work declined: {words}" for words in posting.declined_safety]
    return notes + list(posting.cautions)


def _party(party: _Writer, person: Party, tax_kind: str) -> None:
    party.branch("PartyName").leaf("Name", person.name)
    address = party.branch("PostalAddress")
    for name, words in zip(("StreetName", "AdditionalStreetName"), person.address, strict=False):
        address.leaf(name, words)
    if len(person.address) > 2:
        address.branch("AddressLine").leaf("Line", ", ".join(person.address[2:]))
    if person.country:
        address.branch("Country").leaf("IdentificationCode", person.country)
    if person.tax_id:
        scheme = party.branch("PartyTaxScheme")
        scheme.leaf("CompanyID", person.tax_id)
        _scheme(scheme, tax_kind)
    party.branch("PartyLegalEntity").leaf("RegistrationName", person.name)


def _scheme(parent: _Writer, tax_kind: str, name: str = "Sales tax") -> None:
    scheme = parent.branch("TaxScheme")
    if tax_kind == "vat":
        scheme.leaf("ID", "VAT")
    else:
        scheme.leaf("ID", "SALES-TAX")
        scheme.leaf("Name", name)


def _category(parent: _Writer, element: str, taxed: bool, posting: Posting, reason: bool = False) -> None:
    category = parent.branch(element)
    rate = posting.tax_rate if taxed else ZERO
    category.leaf("ID", ("S" if rate else "Z") if taxed else "E")
    category.leaf("Percent", percent_text(rate))
    if reason and not taxed:
        category.leaf("TaxExemptionReason", "Not taxed, by the class of the line")
    _scheme(category, posting.tax_kind)


def percent_text(rate: Decimal) -> str:
    """A fraction as percent. >>> percent_text(Decimal("0.08875")) gives '8.875'."""
    return plain_number(EXACT.multiply(rate, _HUNDRED))


def _allowance(allowance: _Writer, line: InvoiceLine, posting: Posting) -> None:
    allowance.leaf("ChargeIndicator", "false")
    allowance.leaf("AllowanceChargeReason", line.description)
    allowance.amount("Amount", -line.net)
    if posting.tax_kind != "none":
        _category(allowance, "TaxCategory", line.taxed, posting)


def _tax_total(total: _Writer, posting: Posting) -> None:
    tax = add(amount for _, _, amount in posting.tax_parts)
    taxable = add(line.net for line in posting.lines if line.taxed)
    total.amount("TaxAmount", tax)
    if posting.tax_is_difference:
        total.amount("RoundingAmount", tax - half_up(EXACT.multiply(taxable, posting.tax_rate)))
    if any(line.taxed for line in posting.lines):
        if posting.tax_kind == "vat":
            _subtotal(total, taxable, tax, True, posting)
        else:
            for name, rate, amount in posting.tax_parts:
                part = total.branch("TaxSubtotal")
                part.amount("TaxableAmount", taxable)
                part.amount("TaxAmount", amount)
                category = part.branch("TaxCategory")
                category.leaf("ID", "S" if posting.tax_rate else "Z")
                category.leaf("Percent", percent_text(rate))
                _scheme(category, "sales", name)
    if any(not line.taxed for line in posting.lines):
        _subtotal(total, add(line.net for line in posting.lines if not line.taxed), ZERO, False, posting)


def _subtotal(total: _Writer, taxable: Decimal, tax: Decimal, taxed: bool, posting: Posting) -> None:
    part = total.branch("TaxSubtotal")
    part.amount("TaxableAmount", taxable)
    part.amount("TaxAmount", tax)
    _category(part, "TaxCategory", taxed, posting, reason=True)


def _totals(totals: _Writer, posting: Posting, sold: list[InvoiceLine]) -> None:
    lines, discount = add(line.net for line in sold), posting.totals["discount"]
    totals.amount("LineExtensionAmount", lines)
    totals.amount("TaxExclusiveAmount", lines + discount)
    totals.amount("TaxInclusiveAmount", posting.totals["total"])
    if discount:
        totals.amount("AllowanceTotalAmount", -discount)
    totals.amount("PayableAmount", posting.totals["total"])


def _line(element: _Writer, place: int, line: InvoiceLine, posting: Posting, credit: bool) -> None:
    quantity, unit, price, note = line.quantity, line.unit, line.unit_price, line.note
    if product(quantity, price) != line.net:
        worked = f"{plain_number(quantity)} {unit} at {money_text(price)}, shared with other work of the visit"
        quantity, unit, price, note = Decimal(1), "each", line.net, "; ".join(filter(None, (worked, note)))
    if price < 0:
        quantity, price = -quantity, -price
    element.leaf("ID", str(place))
    if note:
        element.leaf("Note", note)
    element.leaf(
        "CreditedQuantity" if credit else "InvoicedQuantity", plain_number(quantity), unitCode=UNIT_CODES[unit]
    )
    element.amount("LineExtensionAmount", line.net)
    if posting.tax_kind == "sales" and posting.tax_level == "line":
        tax = half_up(EXACT.multiply(line.net, posting.tax_rate)) if line.taxed else ZERO
        element.branch("TaxTotal").amount("TaxAmount", tax)
    item = element.branch("Item")
    if line.job_title:
        item.leaf("Description", line.job_title)
    item.leaf("Name", line.description)
    if line.ref:
        item.branch("SellersItemIdentification").leaf("ID", line.ref)
    if posting.tax_kind != "none":
        _category(item, "ClassifiedTaxCategory", line.taxed, posting)
    element.branch("Price").amount("PriceAmount", price)
