"""Two spreadsheet engines and Python agree on every formula cell of the demo workbooks and of generated jobs."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from random import Random

import pytest
from agreement import MONEY, agrees, disagreements, drafted, floor, shortened, typed_over, unlike
from car_strategies import DEMOS
from engines import Ironcalc, recalculate_with_libreoffice
from good_spreadsheets import broken_rules, broken_values
from strategies import TEMPERS, WholeJob, demo_record, entries_of, generated, intake_problems

from estimator.workbook.book import Cell

# 7 visits, one of each temper, each with three sets of entries: 21 jobs. LibreOffice works them out as drafted;
# tests/long/ has twenty times as many.
BATCHES, VISITS_IN_BATCH, LIBREOFFICE_BATCHES = 1, len(TEMPERS), 1


@pytest.mark.parametrize("batch", range(BATCHES))
def test_generated_jobs(batch: int, tmp_path: Path) -> None:
    both_engines_agree(batch, tmp_path, by_libreoffice=batch < LIBREOFFICE_BATCHES)


def both_engines_agree(batch: int, folder: Path, by_libreoffice: bool) -> None:
    """Each visit drafted and worked out, then two more times with other entries typed into its boxes."""
    drafts, stored, wrong = [], [], []
    for number, job in enumerate(generated(batch, VISITS_IN_BATCH)):
        assert intake_problems(job.record) == []
        draft = drafted(job, folder / f"{number}.xlsx")
        book = Ironcalc(draft.path)
        values = book.values()
        wrong += disagreements(draft, book.stored, values, "ironcalc")
        wrong += broken_rules(draft, values) if number % 2 else broken_values(draft, values)
        drafts.append(draft)
        stored.append(book.stored)
        before = draft
        for again in (2, 4):
            temper = TEMPERS[(TEMPERS.index(job.temper) + again) % len(TEMPERS)]
            other = typed_over(before, job.again(temper, number), book)
            values = book.values()
            wrong += disagreements(other, None, values, "ironcalc, typed into") + broken_values(other, values)
            wrong += unlike(draft, other)
            before = other
    assert not wrong, "\n".join(shortened(wrong))
    if by_libreoffice:
        found = recalculate_with_libreoffice([draft.path for draft in drafts])
        for draft, kept, values in zip(drafts, stored, found, strict=True):
            wrong += disagreements(draft, kept, values, "LibreOffice") + broken_values(draft, values)
    assert not wrong, "\n".join(shortened(wrong))
    assert sum(len(values) for values in stored) > 2000 * VISITS_IN_BATCH


def test_demo_workbooks(tmp_path: Path) -> None:
    demos_agree("good twice", tmp_path)


def demos_agree(temper: str, folder: Path) -> None:
    """Both cars of the demo, with what a mechanic and an advisor of this temper type."""
    wrong, drafts, stored = [], [], []
    for demo in DEMOS:
        record = demo_record(demo)
        draft = drafted(WholeJob(record, entries_of(record, temper, Random(temper)), temper), folder / f"{demo}.xlsx")
        book = Ironcalc(draft.path)
        values = book.values()
        wrong += disagreements(draft, book.stored, values, "ironcalc") + broken_rules(draft, values)
        drafts.append(draft)
        stored.append(book.stored)
    assert not wrong, "\n".join(shortened(wrong))
    found = recalculate_with_libreoffice([draft.path for draft in drafts])
    for draft, kept, values in zip(drafts, stored, found, strict=True):
        wrong += disagreements(draft, kept, values, "LibreOffice")
    assert not wrong, "\n".join(shortened(wrong))


def test_generated_jobs_differ_from_each_other() -> None:
    jobs = [job for batch in range(4) for job in generated(batch, VISITS_IN_BATCH)]
    assert len({job.record.model_dump_json() for job in jobs}) == len(jobs)
    assert {job.record.car.car.variant for job in jobs} == {"A", "B"}
    assert {len(job.record.car.systems) for job in jobs} == {1, 2}
    assert {job.record.car.fluid.family for job in jobs} == {"glycol", "mineral", "silicone"}
    assert {job.record.shop.labor.basis for job in jobs} == {"likely", "expected", "p80"}
    assert {job.record.shop.tax.scope for job in jobs} == {"document", "line"}
    assert len({job.record.shop.show.pressure for job in jobs}) == 4


def test_a_wrong_value_is_no_agreement(tmp_path: Path) -> None:
    """What the comparison would say of a Book that computed something else."""
    draft = drafted(generated(0, VISITS_IN_BATCH)[4], tmp_path / "job.xlsx")
    book = Ironcalc(draft.path)
    stored, values = book.stored, book.values()
    assert disagreements(draft, stored, values, "ironcalc") == []
    formulas = {address: cell for address, cell in draft.cells.items() if cell.formula is not None}
    for address, cell in formulas.items():
        other = _other(cell)
        assert not agrees(cell, other), (cell.key, cell.value, other)
        if address[0] == "Journal":
            assert len(disagreements(draft, stored, values | {address: other}, "ironcalc")) == 1
            assert len(disagreements(draft, stored | {address: other}, values, "ironcalc")) == 1
    some = next(iter(formulas))
    assert disagreements(draft, {k: v for k, v in stored.items() if k != some}, values, "ironcalc")
    assert disagreements(draft, stored, {k: v for k, v in values.items() if k != some}, "ironcalc")


def _other(cell: Cell) -> float | str:
    """A value that is just not the same."""
    value = cell.value
    if isinstance(value, Decimal) or (cell.look in MONEY and isinstance(value, int | float)):
        return float(value) + 0.01
    if isinstance(value, int | float):
        return float(value) + abs(float(value)) * 1e-8 + 2 * floor(cell)
    return f"{value or ''} "


def test_a_failure_names_its_job() -> None:
    job = generated(0, VISITS_IN_BATCH)[0]
    assert job.record.job.document in repr(job) and job.temper in repr(job)
