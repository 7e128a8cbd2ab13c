"""What the last visit read, on the form beside the boxes of this one: under a check's name, or under its verdict."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.verdict_words import FAULT, NO_FAULT
from estimator.records.visits import PastVisit
from estimator.workbook.tabs.common import wide
from estimator.workbook.tabs.form_rows import FormRow

# Letters of a check's name that leave room for a second line; letters of that line, and of one under a verdict.
_NAME, _LINE, _VERDICT = 18, 19, 78


@dataclass(frozen=True)
class LastVisit:
    """The last visit that a workbook carries, as the form before work shows it; nothing of it after work."""

    visit: PastVisit | None

    @classmethod
    def of(cls, appraisal: Appraisal, phase: str) -> LastVisit:
        return cls(appraisal.record.last_visit if phase == "before" else None)

    @property
    def words(self) -> str:
        """Which visit it was."""
        return f"last: read on {self.visit.after}, counts for nothing now" if self.visit else ""

    def with_title(self, row: FormRow) -> str:
        """A check's name, and below it what was read last at its places where one line each has room."""
        said = self._below(row)
        return f"{row.title}\n{said}" if said else row.title

    def _below(self, row: FormRow) -> str:
        found = [self._value(half) for half in row.halves if half is not None]
        said = f"last {' · '.join(value or '–' for value in found)}" if any(found) else ""
        return said if len(row.title) <= _NAME and len(said) <= _LINE else ""

    def beside(self, row: FormRow, check: CheckRow) -> str:
        """What stands under the verdict of a check whose name has no room for it."""
        value = self._value(check)
        said = f"last {value}"
        return said if value and wide(said, "verdict") <= _VERDICT and not self._below(row) else ""

    def _value(self, check: CheckRow) -> str:
        """What was read last; of what was looked at, a fault alone."""
        found = self.visit.latest.get(check.ref) if self.visit else None
        if found is None or found.value == NO_FAULT:
            return ""
        return "fault" if found.value == FAULT else "".join(letter for letter in found.value if _plain(letter))


def _plain(letter: str) -> bool:
    """Whether a letter may be in a formula's text as it is."""
    return letter.isalnum() or letter in " .,-/"
