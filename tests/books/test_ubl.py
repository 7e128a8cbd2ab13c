"""UBL: valid by the schema, by EN 16931 where it claims it, and right to the cent where neither of them looks."""

import random
import re
import warnings
from decimal import Decimal

import pytest
from book_samples import line, mixed_lines, posting, random_posting
from lxml import etree

from estimator.books.posting import Party
from estimator.books.ubl import Identity, ubl_document
from estimator.books.ubl_check import ubl_findings
from estimator.records.units import UNIT_CODES

schemas = pytest.importorskip("peppol.xsd", reason="the test extra brings the UBL 2.1 schemas")
einvoice = pytest.importorskip("einvoice", reason="the test extra brings the rules of EN 16931")
D = Decimal
VAT = {"tax_kind": "vat", "parts": (("VAT", D("0.2")),)}


def xml_of(document, number="LY-2041-r1-001", reverses=""):
    return ubl_document(document, Identity(number, document.date.isoformat(), reverses))


def schema_faults(xml):
    return schemas.validate_xsd(xml)[1]


def rule_faults(xml):
    """What the rules of EN 16931 hold against a document, by an implementation that shares nothing with ours."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        report = einvoice.validate_bytes(xml, profile="en16931")
    return [(item.get("rule") or item.get("id"), item) for item in report["violations"]], report


DOCUMENTS = {
    "sales tax on the document": posting(),
    "sales tax by line": posting(level="line"),
    "sales tax, labor untaxed": posting(taxed={"parts", "core"}),
    "no tax": posting(tax_kind="none"),
    "VAT": posting(**VAT),
    "VAT, core untaxed": posting(taxed={"labor", "parts", "supplies", "sublet"}, **VAT),
    "credit note": posting(kind="credit-note", references=("LY-2001-r1-001",)),
    "VAT credit note": posting(kind="credit-note", references=("LY-2001-r1-001",), **VAT),
}


@pytest.mark.parametrize("document", DOCUMENTS.values(), ids=DOCUMENTS.keys())
def test_valid_by_the_schema_and_to_the_cent(document):
    for reverses in ("", "LY-2000-r1-001"):
        xml = xml_of(document, reverses=reverses)
        assert schema_faults(xml) == []
        assert ubl_findings(xml) == ()


@pytest.mark.parametrize("seed", range(60))
def test_random_documents(seed):
    rng = random.Random(seed)
    kind = rng.choice(({"tax_kind": "vat", "parts": (("VAT", D("0.2")),)}, {}, {"tax_kind": "none"}))
    document = random_posting(rng, f"LY-{seed}", **kind)
    xml = xml_of(document)
    assert schema_faults(xml) == [] and ubl_findings(xml) == ()
    if kind.get("tax_kind") == "vat":
        faults, report = rule_faults(xml)
        assert report["valid"], faults


@pytest.mark.parametrize("name", [name for name in DOCUMENTS if name.startswith("VAT")])
@pytest.mark.parametrize("reverses", ["", "LY-2000-r1-001"])
def test_vat_documents_follow_en_16931(name, reverses):
    xml = xml_of(DOCUMENTS[name], reverses=reverses)
    faults, report = rule_faults(xml)
    assert report["valid"] and faults == []
    assert b"urn:cen.eu:en16931:2017" in xml


def test_the_rule_checker_looks():
    """A document that lacks what EN 16931 wants is refused by the checker: it isn't asleep."""
    xml = xml_of(DOCUMENTS["VAT"])
    for cut in (rb"<cac:Country>.*?</cac:Country>", rb"<cbc:TaxInclusiveAmount.*?</cbc:TaxInclusiveAmount>"):
        faulty = re.sub(cut, b"", xml, count=1, flags=re.DOTALL)
        assert not rule_faults(faulty)[1]["valid"]


@pytest.mark.parametrize("name", [name for name in DOCUMENTS if not name.startswith("VAT")])
def test_sales_tax_claims_no_en_16931(name):
    assert b"en16931" not in xml_of(DOCUMENTS[name])


def moved(xml, element, by, place=0):
    """The document with one amount moved by some cents."""
    root = etree.fromstring(xml)
    node = root.findall(f".//{{*}}{element}")[place]
    node.text = str(Decimal(node.text) + Decimal(by))
    return etree.tostring(root)


def test_what_schema_and_rules_let_through_is_caught():
    """EN 16931's rules accept a VAT amount that is off by less than a unit where the totals follow it, and don't look
    at quantity times price."""
    xml = xml_of(DOCUMENTS["VAT"])
    wrong_tax = xml
    for element, place in (("TaxAmount", 0), ("TaxAmount", 1), ("TaxInclusiveAmount", 0), ("PayableAmount", 0)):
        wrong_tax = moved(wrong_tax, element, "0.90", place)
    assert schema_faults(wrong_tax) == [] and rule_faults(wrong_tax)[1]["valid"]
    assert any("isn't its base × rate" in finding.what for finding in ubl_findings(wrong_tax))

    wrong_line = moved(xml, "PriceAmount", "3.00", 1)
    assert schema_faults(wrong_line) == [] and rule_faults(wrong_line)[1]["valid"]
    (finding,) = ubl_findings(wrong_line)
    assert "line 2: quantity × price isn't its net" in finding.what and finding.found == "184.35"


@pytest.mark.parametrize("name", [name for name in DOCUMENTS if name != "no tax"])
def test_every_amount_moved_by_a_cent_is_caught(name):
    xml = xml_of(DOCUMENTS[name])
    names = [etree.QName(node).localname for node in etree.fromstring(xml).iter() if node.get("currencyID")]
    tried = 0
    steps = {False: ("0.01", "-0.01"), True: ("0.03", "-0.03")}  # half a meter at 6.97 or at 6.98 comes to the same
    for element in dict.fromkeys(names):
        for place in range(names.count(element)):
            for by in steps[element == "PriceAmount"]:
                assert ubl_findings(moved(xml, element, by, place)), (element, place, by)
                tried += 1
    assert tried > 40


def test_a_cent_between_jurisdictions_is_caught():
    xml = xml_of(posting())
    assert ubl_findings(moved(moved(xml, "TaxAmount", "0.01", 1), "TaxAmount", "-0.01", 2))


def test_wrong_currency_and_broken_files_are_findings():
    xml = xml_of(posting())
    assert "another currency" in ubl_findings(xml.replace(b'currencyID="USD"', b'currencyID="EUR"', 1))[0].what
    assert ubl_findings(b"<Invoice", "x.xml")[0].rule == "unreadable-file"
    assert ubl_findings(xml.replace(b">537.53<", b">537,53<"), "x.xml")[0].rule == "unreadable-file"
    assert ubl_findings(b'<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>', "x.xml")


def test_lines_units_and_notes():
    shared = line("labor", "Bleed, system 1", "0.333", "h", "100.00", True, "job 2", net="33.33")
    thirds = line(
        "labor", "Bleed, system 2", "0.3333333333", "h", "95.05", True, "job 3", net="31.67", note="once a visit"
    )
    waste = line("disposal", "Disposal of drained fluid", "2.5", "L", "1.20", True)
    text = xml_of(posting(lines=(*mixed_lines(), shared, thirds, waste))).decode()
    assert 'unitCode="HUR">1.7<' in text and 'unitCode="LTR">1.5<' in text and 'unitCode="MTR">0.5<' in text
    assert "Old accumulator" in text and ">45.00<" in text
    assert 'unitCode="C62">1<' in text
    assert "0.3333333333 h at 95.05, shared with other work of the visit; once a visit" in text
    assert "Safety work declined: Pressure hoses, front axle" in text
    assert "Consent, diagnosis: 600.00 USD, 2026-11-25, Odile Marchbank, signed, T. Quill" in text


def test_references_and_types():
    def value(xml, path):
        return etree.fromstring(xml).findtext(path)

    credit = xml_of(posting(), "LY-2041-r1-002", "LY-2041-r1-001")
    assert etree.QName(etree.fromstring(credit)).localname == "CreditNote"
    assert value(credit, "{*}CreditNoteTypeCode") == "381" and value(credit, "{*}ID") == "LY-2041-r1-002"
    assert value(credit, "{*}BillingReference/{*}InvoiceDocumentReference/{*}ID") == "LY-2041-r1-001"
    back = xml_of(DOCUMENTS["credit note"], "LY-C-r1-002", "LY-C-r1-001")
    assert etree.QName(etree.fromstring(back)).localname == "Invoice" and value(back, "{*}InvoiceTypeCode") == "380"


def test_nothing_to_send():
    assert ubl_document(posting(lines=()), Identity("x", "2026-11-25")) is None


def test_every_unit_has_a_code_that_the_rules_know():
    """BR-CL-23 of EN 16931 knows the codes of UN/ECE Recommendation 20."""
    for unit, code in UNIT_CODES.items():
        document = posting(lines=(line("parts", "Something", 2, unit, "5.00", True),), **VAT)
        faults, report = rule_faults(xml_of(document))
        assert report["valid"], (unit, code, faults)


def test_long_addresses_and_odd_letters():
    customer = Party("Ödön & Søn <Mill>", ("1", "2", "3", '4 "Row"'), "GB")
    xml = xml_of(posting(customer=customer, **VAT))
    assert schema_faults(xml) == [] and rule_faults(xml)[1]["valid"]
    assert '3, 4 "Row"' in xml.decode()
