"""Every amount that the appraisal owes the reader stands in the letter, no other does, and they add up."""

import re
from decimal import Decimal

import openpyxl
import pytest
from letter_pages import closed, text_of, tree, wrong_nesting
from letter_samples import NAMES, appraisal_at, hostile_appraisal, letter_at
from written_file import edited, to_value

from estimator.cli.app import main
from estimator.letters.formats import amount
from estimator.letters.render import letter_html
from estimator.pricing.together import together
from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.write import workbook_bytes


def expected_amounts(appraisal):
    """Every amount that the letter owes its reader, from the appraisal alone."""
    lines = [line for line in appraisal.labor.lines if line.proposed]
    found = [money for line in lines for money in (line.amount_proposed, line.amount_alone)]
    found += [line.saves_labor for line in lines if not line.decided.done and not line.agreed and len(lines) > 1]
    for line in lines:
        mine = [part for part in appraisal.parts if part.line == line.label and part.proposed]
        found += [part.amount_proposed for part in mine if part.amount] + [
            part.core_proposed for part in mine if part.core
        ]
        if mine:
            found.append(sum((part.amount_proposed for part in mine), Decimal(0)))
            found.append(sum((part.core_proposed for part in mine), Decimal(0)))
    found += [line.amount_proposed for line in appraisal.extra_lines if line.proposed]
    saved = together(appraisal.labor.lines)
    found += [saved.alone, saved.together, saved.saved] if len(lines) > 1 else []
    cases = ["proposed"] + (["agreed"] if appraisal.agreed["total"] else [])
    found += [getattr(row, case) for row in appraisal.sums for case in cases]
    found += [getattr(row, case).share for row in appraisal.tax_parts for case in cases]
    found += [item.counted for item in appraisal.consents if item.told and not item.declines]
    return [money for money in found if money]


@pytest.mark.parametrize("name", NAMES)
def test_every_amount_appears_and_no_other(name):
    appraisal, page = appraisal_at(name), letter_at(name)
    sections = [text_of(page, section) for section in ("work", "cost", "consent")]
    shown = set(re.findall(r"−?\d[\d,]*\.\d\d(?!\d| L)", " ".join(sections)))
    owed = {amount(money) for money in expected_amounts(appraisal)}
    assert owed <= shown
    shop, consented = appraisal.record.shop, appraisal.consented
    rules = [
        shop.fees.supplies_cap,
        shop.fees.disposal_per_liter,
        consented.excess,
        consented.compared,
        consented.consented,
    ]
    percents = {f"{part.percent:.2f}" for part in shop.tax.parts} | {
        f"{sum(part.percent for part in shop.tax.parts):.2f}"
    }
    allowed = {amount(money) for money in (*rules, Decimal(0))} | percents
    assert shown - owed <= allowed
    total = amount(appraisal.proposed["total"], shop.shop.currency)
    assert total in text_of(page)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_shown_adds_up(name):
    page, appraisal = letter_at(name), appraisal_at(name)
    root = tree(page)
    sums = dict.fromkeys(("labor", "done alone", "parts", "core deposit"), Decimal(0))
    for span in root.xpath("//ol[@class='items']//p[@class='sums']/span"):
        words = span.text_content().replace(",", "").replace("$", "")
        for kind in sums:
            if words.startswith(f"{kind} "):
                sums[kind] += Decimal(words.removeprefix(f"{kind} "))
    extra = {
        kind: sum((x.amount_proposed for x in getattr(appraisal, f"extra_{kind}")), Decimal(0))
        for kind in ("work", "parts")
    }
    assert sums["labor"] + extra["work"] == appraisal.proposed["labor"]
    assert sums["parts"] + extra["parts"] == appraisal.proposed["parts"]
    assert sums["core deposit"] + sum(x.core_proposed for x in appraisal.extra_parts) == appraisal.proposed["core"]
    columns = [
        [Decimal(cell.text_content().replace(",", "").replace("$", "").replace("−", "-")) for cell in row.xpath("td")]
        for row in root.xpath("//table[@class='totals']/tbody/tr[not(@class='sub') and not(@class='net')]")
    ]
    for column in zip(*columns, strict=True):
        assert sum(column[:-1]) == column[-1]
    both = together(appraisal.labor.lines)
    assert len(appraisal.labor.lines) > 1 and (sums["labor"], sums["done alone"]) == (both.together, both.alone)


@pytest.mark.parametrize("name", NAMES)
def test_costs_of_the_workshop_stay_in_the_workshop(name):
    appraisal, shown = appraisal_at(name), text_of(letter_at(name))
    owed = {amount(money) for money in expected_amounts(appraisal)}
    costs = {amount(part.cost) for part in appraisal.parts if part.proposed} - owed
    assert len(costs) > 3 and not [cost for cost in costs if re.search(rf"(?<![\d,]){re.escape(cost)}", shown)]
    assert "markup" not in shown.casefold()


# --- against a written workbook, read by another library --------------------------------------------------------------


def stored(path, book):
    """What the file of a Book stores, by key: read with openpyxl."""
    sheets, layout = openpyxl.load_workbook(path, data_only=True), Layout(book)

    def value(key):
        tab, row, column = layout.address(key)
        return sheets[tab].cell(row, column).value

    return value


@pytest.mark.parametrize("name", ["before", "road", "mineral"])
def test_the_letter_says_what_the_file_stores(name, tmp_path):
    """`estimator letter` on a file: totals, lines and readings are those that a spreadsheet program shows."""
    path, appraisal = tmp_path / "quote.xlsx", appraisal_at(name)
    book = compose(appraisal)
    path.write_bytes(workbook_bytes(book))
    assert main(["letter", str(path)]) == 0
    page = path.with_suffix(".html").read_text(encoding="utf-8")
    assert page == letter_at(name)
    value = stored(path, book)
    for row in appraisal.sums:
        if shown := value(f"total.{row.ref}.proposed"):
            assert amount(Decimal(repr(shown))) in text_of(page, "cost"), row.ref
    for line in appraisal.labor.lines:
        if line.proposed:
            assert amount(Decimal(repr(value(f"line.{line.ref}.amount_proposed")))) in text_of(page, "work"), line.ref
    readings = [item.ref for item in appraisal.judged if not isinstance(item.phases["before"].si, str)]
    tokens = [
        token.replace(",", "")
        for token in re.findall(r"(?<![\d.])\d[\d,]*(?:\.\d+)?", text_of(page, "measured" if readings else ""))
    ]
    shown_numbers = [(float(token), 0.5000001 * 10.0 ** -len(token.partition(".")[2])) for token in tokens]
    for ref in readings:
        number = value(f"reading.{ref}.before")
        assert any(abs(shown - number) <= half for shown, half in shown_numbers), (ref, number)
    assert name == "mineral" or len(readings) > 30


def test_the_letter_of_a_hostile_workbook(tmp_path, capsys):
    """Text of every kind goes into a file, comes back out of it, and stays text; an unsound file gives no page."""
    path = tmp_path / "hostile.xlsx"
    path.write_bytes(workbook_bytes(compose(hostile_appraisal())))
    assert main(["letter", str(path)]) == 0
    page = path.with_suffix(".html").read_text(encoding="utf-8")
    assert page == letter_html(hostile_appraisal()) and wrong_nesting(page) == [] and closed(page) == []
    bad = edited(path, tmp_path / "bad.xlsx", "Estimate", "C40", to_value("</style><script>alert(1)</script>"))
    capsys.readouterr()
    assert main(["letter", str(bad)]) == 1
    assert "not intact" in capsys.readouterr().err and not bad.with_suffix(".html").exists()
