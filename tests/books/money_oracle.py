"""A second opinion on the money of a document, from integers and fractions, with none of the package's arithmetic."""

from __future__ import annotations

import csv
import io
from fractions import Fraction

from lxml import etree


def half_up(x: Fraction) -> int:
    """Whole cents, half away from zero."""
    size = abs(x) * 100
    cents = (2 * size.numerator + size.denominator) // (2 * size.denominator)
    return cents if x >= 0 else -cents


def in_cents(text: object) -> int:
    amount = Fraction(str(text)) * 100
    assert amount.denominator == 1, text
    return amount.numerator


def shared(total: int, rates: list[Fraction]) -> list[int]:
    """Largest remainder on whole cents; remainders as a sheet sees them, at 8 decimals of the currency unit."""
    whole = sum(rates)
    if not whole:
        return [0 for _ in rates]
    millionths = [half_up(abs(total) * rate / whole * 10**2) for rate in rates]  # a cent is 10**4 of these
    parts = [x // 10**4 for x in millionths]
    left = abs(total) - sum(parts)
    for i in sorted(range(len(parts)), key=lambda i: (-(millionths[i] % 10**4), i))[:left]:
        parts[i] += 1
    return [part if total >= 0 else -part for part in parts]


def document(posting) -> dict:
    """Net of each line, totals, tax and its parts in whole cents, from quantities, prices and rates."""
    nets = [half_up(Fraction(str(line.quantity)) * Fraction(str(line.unit_price))) for line in posting.lines]
    rates = [Fraction(str(rate)) for _, rate, _ in posting.tax_parts]
    taxed = [net for net, line in zip(nets, posting.lines, strict=True) if line.taxed]
    rate = sum(rates)
    if posting.tax_level == "line":
        tax = sum(half_up(Fraction(net, 100) * rate) for net in taxed)
    else:
        tax = half_up(Fraction(sum(taxed), 100) * rate)
    kinds: dict[str, int] = {}
    for net, line in zip(nets, posting.lines, strict=True):
        kinds[line.kind] = kinds.get(line.kind, 0) + net
    return {"nets": nets, "tax": tax, "parts": shared(tax, rates), "total": sum(nets) + tax, "kinds": kinds}


def disagreements(posting, journal: bytes, xml: bytes | None) -> list[str]:
    """Where posting, journal file and UBL document differ from the oracle, to the cent."""
    want, found = document(posting), []

    def hold(what: str, expected: object, seen: object) -> None:
        if expected != seen:
            found.append(f"{posting.document}: {what}: {expected} wanted, {seen} found")

    hold("nets", want["nets"], [in_cents(line.net) for line in posting.lines])
    hold("parts of the tax", want["parts"], [in_cents(amount) for _, _, amount in posting.tax_parts])
    hold("tax", want["tax"], in_cents(posting.totals["tax"]))
    hold("total", want["total"], in_cents(posting.totals["total"]))
    accounts: dict[str, int] = {}
    for row in csv.DictReader(io.StringIO(journal.decode("utf-8"), newline="")):
        if row["doc_id"] == posting.document:
            flow = in_cents(row["debit"]) - in_cents(row["credit"])
            accounts[row["account_code"]] = accounts.get(row["account_code"], 0) + flow
    codes = {
        "labor": "WORK",
        "parts": "PARTS",
        "supplies": "SUPPLY",
        "disposal": "DRAIN",
        "sublet": "SUBLET",
        "core": "CORE-HELD",
    }
    expected = {codes.get(kind, "LESS"): -amount for kind, amount in want["kinds"].items() if amount}
    expected |= {"DUE": want["total"], "TAX-OWED": -want["tax"]}
    hold("journal", {k: v for k, v in expected.items() if v}, {k: v for k, v in accounts.items() if v})
    if xml is not None:
        root = etree.fromstring(xml)
        sold = [net for net, line in zip(want["nets"], posting.lines, strict=True) if line.kind != "discount"]
        hold(
            "UBL lines",
            sold,
            [
                in_cents(x)
                for x in root.xpath("//*[local-name()='InvoiceLine']/*[local-name()='LineExtensionAmount']/text()")
            ],
        )
        hold(
            "UBL payable",
            [want["total"]],
            [in_cents(x) for x in root.xpath("//*[local-name()='PayableAmount']/text()")],
        )
        taxes = [in_cents(x) for x in root.xpath("/*/*[local-name()='TaxTotal']/*[local-name()='TaxAmount']/text()")]
        hold("UBL tax", [want["tax"]], taxes)
    return found


def documents_sheet(path, postings) -> dict:
    """Write the documents as formulas, as the docstrings of money, fees_and_tax and parts give them; return by cell
    what the oracle says. Quantities, prices and rates are the only numbers in the sheet."""
    import xlsxwriter

    expected: dict[tuple[str, str], float] = {}
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Money")
    row = 0

    def formula(column: str, text: str, cents: int) -> None:
        cell = f"{column}{row + 1}"
        expected["Money", cell] = cents / 100
        sheet.write_formula(cell, text, None, cents / 100)

    for posting in postings:
        want = document(posting)
        first = row + 1
        for line, net in zip(posting.lines, want["nets"], strict=True):
            sheet.write_number(row, 0, float(line.quantity))
            sheet.write_number(row, 1, float(line.unit_price))
            sheet.write_string(row, 3, "yes" if line.taxed else "no")
            formula("C", f"=ROUND(A{row + 1}*B{row + 1},2)", net)
            row += 1
        last, top = row, row + 1
        rates = [Fraction(str(rate)) for _, rate, _ in posting.tax_parts]
        for place, rate in enumerate(rates):
            sheet.write_number(row + place, 0, float(rate))
        end = row + len(rates)
        rate_cell, tax_cell, left = f"$H${top}", f"$I${top}", f"$J${top}"
        sheet.write_formula(f"H{top}", f"=ROUND(SUM(A{top}:A{end}),10)", None, float(sum(rates)))
        expected["Money", f"H{top}"] = float(sum(rates))
        if posting.tax_level == "line":
            for place, (line, net) in enumerate(zip(posting.lines, want["nets"], strict=True)):
                tax = half_up(Fraction(net, 100) * sum(rates)) if line.taxed else 0
                cell = f"E{first + place}"
                text = f'=IF(D{first + place}="yes",ROUND(C{first + place}*{rate_cell},2),0)'
                sheet.write_formula(cell, text, None, tax / 100)
                expected["Money", cell] = tax / 100
            formula("I", f"=ROUND(SUM(E{first}:E{last}),2)", want["tax"])
        else:
            base = f'ROUND(SUMIFS(C{first}:C{last},D{first}:D{last},"yes"),2)'
            formula("I", f"=ROUND({base}*{rate_cell},2)", want["tax"])
        downs = [half_up(abs(want["tax"]) * rate / sum(rates) * 10**2) // 10**4 for rate in rates]
        formula("J", f"=ROUND((ABS({tax_cell})-SUM(C{top}:C{end}))*100,0)", (abs(want["tax"]) - sum(downs)) * 100)
        formula("K", f"=ROUND(SUM(C{first}:C{last})+{tax_cell},2)", want["total"])
        for place, share in enumerate(want["parts"]):
            exact = half_up(abs(want["tax"]) * rates[place] / sum(rates) * 10**2)
            for column, text, value in (
                ("B", f"=ROUND(ABS({tax_cell})*A{row + 1}/SUM(A${top}:A${end}),6)", exact / 10**6),
                ("C", f"=ROUNDDOWN(B{row + 1},2)", exact // 10**4 / 100),
                ("D", f"=ROUND(B{row + 1}-C{row + 1},6)", exact % 10**4 / 10**6),
            ):
                sheet.write_formula(f"{column}{row + 1}", text, None, value)
                expected["Money", f"{column}{row + 1}"] = value
            rank = f"SUMPRODUCT(1*(D${top}:D${end}>D{row + 1}))+SUMPRODUCT(1*(D${top}:D{row + 1}=D{row + 1}))"
            formula("E", f"=SIGN({tax_cell})*ROUND(C{row + 1}+IF({rank}<={left},0.01,0),2)", share)
            row += 1
        row += 1
    book.close()
    return expected
