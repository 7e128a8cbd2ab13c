"""300 whole workbooks through LibreOffice, and on to the books: about 25 minutes on two cores.

    python -m pytest tests/long/test_long_engines.py -n auto

Every formula cell agrees, and what LibreOffice works out as the agreed total is, to the cent, what Python posts, what
the journal charges to the customer and what the UBL document asks for. 70 visits are filled three times each in
ironcalc besides. The default run has 14 other visits, 7 of them through LibreOffice.
"""

import sys
from decimal import Decimal
from pathlib import Path

import pytest
from lxml import etree

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / "books"), str(TESTS)]

from agreement import disagreements, drafted, shortened  # noqa: E402
from boxes_by_key import appraise_boxes  # noqa: E402
from engines import needs_libreoffice, recalculate_with_libreoffice  # noqa: E402
from strategies import WholeJob, generated  # noqa: E402
from test_engines_agree import both_engines_agree, demos_agree  # noqa: E402

from estimator.books.from_appraisal import posting_of  # noqa: E402
from estimator.books.journal import COLUMNS  # noqa: E402
from estimator.books.ledger_entries import entry_of  # noqa: E402
from estimator.books.posting import canonical, digest  # noqa: E402
from estimator.books.posting_rules import posting_findings  # noqa: E402
from estimator.books.ubl import Identity, ubl_document  # noqa: E402
from estimator.money import from_float, half_up  # noqa: E402
from estimator.workbook.compose import compose  # noqa: E402

BATCHES, VISITS = 30, 10


def postable(job: WholeJob) -> WholeJob:
    """With whole numbers of parts, as the books count core deposits, and without numbers that their box doesn't allow."""
    entries = dict(job.entries)
    for cell in compose(appraise_boxes(job.record, job.entries)).boxes():
        value = entries.get(cell.key)
        if isinstance(value, float) and cell.box.kind == "number":
            if not cell.box.low <= value <= cell.box.high:
                del entries[cell.key]
            elif cell.key.endswith(".quantity"):
                entries[cell.key] = float(round(value))
    return WholeJob(job.record, entries, job.temper)


@needs_libreoffice
@pytest.mark.parametrize("batch", range(100, 100 + BATCHES))
def test_no_cent_of_difference_from_the_sheet_to_the_books(batch, tmp_path):
    jobs = map(postable, generated(batch, VISITS))
    drafts = [drafted(job, tmp_path / f"{number}.xlsx") for number, job in enumerate(jobs)]
    wrong, posted = [], 0
    for draft, values in zip(drafts, recalculate_with_libreoffice([draft.path for draft in drafts]), strict=True):
        wrong += disagreements(draft, None, values, "LibreOffice")
        (address,) = [address for address, cell in draft.cells.items() if cell.key == "total.total.agreed"]
        total = half_up(from_float(values[address]))
        posting = posting_of(draft.appraisal)
        if posting_findings(posting):
            continue
        entry = entry_of(posting, digest(canonical(posting)), 1, 1)
        rows = [dict(zip(COLUMNS, row, strict=True)) for row in entry.rows()]
        receivable = draft.job.record.shop.accounts.receivable.split()[0]
        flows = [Decimal(r["debit"]) - Decimal(r["credit"]) for r in rows if r["account_code"] == receivable]
        sums = {"posting": posting.totals["total"], "journal": sum(flows)}
        xml = ubl_document(posting, Identity(entry.short_id, entry.date))
        if xml is not None:
            (payable,) = etree.fromstring(xml).xpath("//*[local-name()='PayableAmount']/text()")
            sums["UBL"] = Decimal(payable)
        wrong += [
            f"{draft.job}: {name} {amount}, the sheet {total}" for name, amount in sums.items() if amount != total
        ]
        posted += 1
    assert not wrong, "\n".join(shortened(wrong))
    assert posted >= 2


@pytest.mark.parametrize("batch", range(2, 12))
def test_generated_jobs(batch, tmp_path):
    both_engines_agree(batch, tmp_path, by_libreoffice=True)


@pytest.mark.parametrize("temper", ["blank", "junk"])
def test_demo_workbooks(temper, tmp_path):
    demos_agree(temper, tmp_path)
