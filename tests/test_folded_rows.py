"""A recommended job in a row that is folded away is said: a warning, a stop where it concerns what grounds the car."""

from dataclasses import replace
from pathlib import Path

from letter_samples import appraisal_at

from estimator.errors import Finding
from estimator.readback.check import check_workbook
from estimator.workbook.book import Book
from estimator.workbook.compose import compose
from estimator.workbook.write import workbook_bytes


def with_jobs(book: Book, *, folded: bool) -> Book:
    """A Book whose rows of jobs and parts are all folded away, or all open."""
    tabs = []
    for tab in book.tabs:
        blocks = [
            replace(
                part,
                rows=tuple(
                    replace(row, face=row.face._replace(level=1, folded=folded)) if row.face.folds else row
                    for row in part.rows
                ),
            )
            for part in tab.blocks
        ]
        tabs.append(replace(tab, blocks=tuple(blocks)))
    return replace(book, tabs=tuple(tabs))


def said(path: Path, *, folded: bool) -> list[Finding]:
    path.write_bytes(workbook_bytes(with_jobs(compose(appraisal_at("before")), folded=folded)))
    checked = check_workbook(path)
    assert checked.state == "sound", [item.line() for item in checked.integrity]
    return [item for item in checked.findings if item.rule == "row-folded"]


def test_opening_the_outline_is_never_a_finding(tmp_path: Path) -> None:
    assert said(tmp_path / "a.xlsx", folded=False) == []


def test_a_recommended_job_that_is_folded_away_is_named(tmp_path: Path) -> None:
    """The lost gas explains what grounds the demo's car, and a worn pad does not ground it."""
    found = {item.key: item.severity for item in said(tmp_path / "a.xlsx", folded=True)}
    assert found["line.accumulator-exchange.accumulator-2.decision"] == "stop"
    assert found["line.front-pads.front-axle.decision"] == "warn"
    assert len(found) == sum(line.proposed for line in appraisal_at("before").labor.lines)
