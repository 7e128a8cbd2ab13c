"""One workbook read back: what it carries, its entries, what differs, what follows."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from estimator.appraisal import Appraisal, appraise
from estimator.errors import Finding
from estimator.findings import appraisal_findings
from estimator.readback.carried import Carried, carried
from estimator.readback.cells import WorkbookCells, read_workbook
from estimator.readback.compare import compare
from estimator.readback.entries import Entries, read_entries
from estimator.readback.locate import locate
from estimator.workbook.book import Layout
from estimator.workbook.compose import compose

# Rules whose findings make a workbook unsound: it isn't what the record and the entries lead to.
INTEGRITY = frozenset(
    (
        "record-missing",
        "record-altered",
        "tab-missing",
        "formula-replaced",
        "formula-changed",
        "input-changed",
        "text-changed",
        "value-stale",
        "values-absent",
        "cell-moved",
        "other-version",
        "entry-not-understood",
        "entry-out-of-range",
    )
)


@dataclass(frozen=True)
class Checked:
    """A workbook as it was read back. Without a readable record there is no appraisal."""

    path: Path
    workbook: WorkbookCells
    findings: tuple[Finding, ...]
    carried: Carried | None = None
    appraisal: Appraisal | None = None
    entries: Entries | None = None
    compared: int = 0
    integrity: tuple[Finding, ...] = field(default=())

    @property
    def state(self) -> str:
        return "unsound" if any(finding.severity != "note" for finding in self.integrity) else "sound"


def check_workbook(path: Path) -> Checked:
    """Read a workbook back and judge it. Raises UnreadableFile where it can't be read at all."""
    workbook = read_workbook(path)
    found, findings = carried(workbook)
    if found is None:
        return Checked(path, workbook, findings, integrity=findings)
    drafted = Layout(compose(appraise(found.record, {})))
    located = locate(drafted, workbook)
    placed = Layout(drafted.book, located.moves)
    entries = read_entries(placed, workbook, located)
    appraisal = appraise(found.record, entries.values)
    layout = Layout(compose(appraisal), located.moves)
    comparison = compare(layout, workbook, located)
    integrity = (*findings, *located.findings, *entries.findings, *comparison.findings)
    return Checked(
        path,
        workbook,
        (*integrity, *appraisal_findings(appraisal)),
        carried=found,
        appraisal=appraisal,
        entries=entries,
        compared=comparison.compared,
        integrity=tuple(item for item in integrity if item.rule in INTEGRITY),
    )
