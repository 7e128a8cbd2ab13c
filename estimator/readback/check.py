"""One workbook read back: what it carries, its entries, what differs, what follows."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from estimator import __version__
from estimator.appraisal import Appraisal
from estimator.appraise import appraise
from estimator.appraise import drafted as drafted_as_now
from estimator.boxes.entries import Entries
from estimator.errors import Finding
from estimator.findings import appraisal_findings
from estimator.limits.judging.driving import worse
from estimator.migrations import word_now
from estimator.readback.box_entries import ReadEntries, read_entries
from estimator.readback.cells import WorkbookCells, read_workbook
from estimator.readback.compare import Comparison, compare
from estimator.readback.embedded_record import COVERED, EARLIER, Carried, carried
from estimator.readback.entries_seal import entries_seal
from estimator.readback.gathered import gathered
from estimator.readback.locate import Located, cell_name, locate
from estimator.readback.other_version import Agreement, Lost, agreement, arriving, entries_now
from estimator.readback.renamed_book import renamed
from estimator.readback.root_causes import Cause
from estimator.workbook.compose import with_record, working_tabs
from estimator.workbook.layout import Layout
from estimator.workbook.manifest import drafted_book
from estimator.workbook.seal import SealKey

# Rules whose findings make a workbook unsound unless they are notes: it isn't what the record and the entries lead to.
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
        "range-over-cells",
        "look-changed",
        "text-added",
        "other-version",
        "state-changed",
        "entry-not-understood",
        "entry-out-of-range",
    )
)
# Where a workbook shows what may be done with the car.
STATE_KEY = "state.driving.value"


@dataclass(frozen=True)
class Checked:
    """A workbook as it was read back. Without a readable record there is no appraisal.

    integrity: the findings about the workbook itself, which come first among all. compared: how many cells were.
    """

    path: Path
    workbook: WorkbookCells
    findings: tuple[Finding, ...]
    carried: Carried | None = None
    appraisal: Appraisal | None = None
    entries: ReadEntries | None = None
    compared: int = 0
    integrity: tuple[Finding, ...] = ()
    entries_sealed: str = ""

    @property
    def state(self) -> str:
        """sound or unsound."""
        return "unsound" if any(finding.severity != "note" for finding in self.integrity) else "sound"

    @property
    def seal(self) -> str:
        """What is known of the seal, in words."""
        if self.carried is None:
            return ""
        entries = self.entries_sealed or "entries not sealed"
        return f"{COVERED}; {entries}" if self.carried.seal == COVERED else self.carried.seal


def check_workbook(path: Path, key: SealKey | None = None) -> Checked:
    """Read a workbook back and judge it; with the shop's key, its seal too.

    Raises UnreadableFile where it can't be read at all.
    """
    with collecting_later():
        workbook = read_workbook(path)
        found, findings = carried(workbook, key)
        if found is None:
            return Checked(path, workbook, findings, integrity=findings)
        checked = _checked(path, workbook, found, findings)
        if key is None or checked.entries is None:
            return checked
        said, changed = entries_seal(path, found.record.job.document, checked.entries.values, key)
        return replace(checked, entries_sealed=said, findings=(*checked.findings, *changed))


def _checked(path: Path, workbook: WorkbookCells, found: Carried, findings: tuple[Finding, ...]) -> Checked:
    record, problems = found.record, [Cause(finding) for finding in findings]
    document = record.job.document, record.job.revision
    try:
        drafted = renamed(drafted_book(found.manifest, *document), found.steps)
        layout = Layout(with_record(drafted, record, "", found.packed))
        located = locate(layout, workbook)
        entries = entries_now(read_entries(Layout(layout.book, located.moves), workbook, located), found.steps)
        if found.boxes_on_each_part:
            entries = gathered(entries, record)
    except ValueError as error:
        what = f"the manifest in the workbook cannot be used: {error}"
        problem = Finding("record-altered", "stop", what, EARLIER, tab="Record")
        return Checked(path, workbook, (*findings, problem), integrity=(*findings, problem))
    worked_out = drafted_as_now if found.boxes_on_each_part else appraise
    appraisal = worked_out(record, Entries.from_boxes(entries.values))
    record = appraisal.record
    present = working_tabs(appraisal)
    lost: tuple[Lost, ...] = ()
    if not found.same_program:
        arrived, lost = arriving(entries.boxes, present.by_key)
        if arrived != entries.values:
            appraisal = worked_out(record, Entries.from_boxes(arrived))
            present = working_tabs(appraisal)
    agreed = agreement(drafted, found.manifest, present)
    state = appraisal.driving.state
    shown: Any = agreed.book.by_key[STATE_KEY].value if STATE_KEY in agreed.book.by_key else state
    expected = with_record(agreed.book, record, shown, found.packed)
    placed = Layout(expected, located.moves)
    comparison = compare(
        placed,
        workbook,
        located,
        (*problems, *located.causes, *entries.causes),
        looks=found.same_program and agreed.same,
    )
    integrity = (
        *comparison.findings,
        *_version(found, agreed, comparison, len(lost)),
        *_state_changed(found, placed, located, state),
    )
    judged = (_placed(finding, placed) for finding in appraisal_findings(appraisal))
    return Checked(
        path,
        workbook,
        (*integrity, *judged),
        carried=found,
        appraisal=appraisal,
        entries=entries,
        compared=comparison.compared,
        integrity=tuple(item for item in integrity if item.rule in INTEGRITY),
    )


def _version(found: Carried, agreed: Agreement, comparison: Comparison, lost: int) -> Iterator[Finding]:
    """What is to be said of a workbook that another version of the program drafted."""
    if found.same_program:
        if not agreed.same:
            what = "record and manifest do not match: one was changed after drafting"
            yield Finding("record-altered", "stop", what, EARLIER, tab="Record")
        return
    what = f"drafted by version {found.program or 'unknown'} of the program; this is {__version__}"
    if agreed.same:
        yield Finding("other-version", "note", f"{what}, which drafts the same", "no action: it was checked in full")
        return
    more = f"; {lost} entries have no place in this version and were not judged" if lost else ""
    what = f"{comparison.unknown} values not recomputed: {what}{more}"
    yield Finding(
        "other-version", "warn", what, "run estimator redraft to write the workbook as this version drafts it"
    )


def _state_changed(found: Carried, placed: Layout, located: Located, state: str) -> Iterator[Finding]:
    """Whether a workbook of another version shows a better state than its entries lead to now."""
    if found.same_program or STATE_KEY not in placed.book.by_key:
        return
    tab, row, column = placed.address(STATE_KEY)
    sheet = located.sheets.get(tab)
    there = sheet.cells.get((row, column)) if sheet is not None else None
    if sheet is None or there is None or not isinstance(there.value, str):
        return
    shown = word_now(STATE_KEY, there.value, found.steps)
    if not worse(state, shown):
        return
    yield Finding(
        "state-changed",
        "stop",
        f'it shows "{there.value}"; by the rules of version {__version__} the car is at "{state}"',
        "run estimator redraft; until then no letter is written and nothing is posted",
        tab=sheet.name,
        cell=cell_name(row, column),
        key=STATE_KEY,
        expected=state,
        found=there.value,
    )


def _placed(finding: Finding, layout: Layout) -> Finding:
    """A finding of the appraisal with the cell at which it can be seen."""
    try:
        tab, row, column = layout.address(finding.key)
    except (KeyError, ValueError):  # of no cell
        return finding
    if not row or not column:
        return finding
    name = layout.moves[tab].name if tab in layout.moves else ""
    return replace(finding, tab=name or tab, cell=cell_name(row, column))


@contextmanager
def collecting_later() -> Iterator[None]:
    """Hold back the collector of cyclic garbage, which would walk a hundred thousand living cells again and again."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
