"""What the readings point to, in words: never that it is so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimator.diagnosis.causes.conclude import DIGITS
from estimator.diagnosis.causes.result import Cause, Diagnosis

CLEARLY, LIKELY = 0.9, 0.5
TOO_FEW = "too few readings to name a cause"
CANNOT_TELL = "these readings cannot tell"
NO_CAUSE = "the readings point to no cause"


def pointing(diagnosis: Diagnosis) -> Iterator[str]:
    """Yield a sentence for each cause that is more likely than not, then one for those that are possible.

    >>> list(pointing(Diagnosis()))
    []
    """
    likely = [cause for cause in diagnosis.causes if round(cause.probability, DIGITS) >= LIKELY]
    for cause in likely:
        clearly = "clearly " if round(cause.probability, DIGITS) >= CLEARLY else ""
        yield f"the readings point {clearly}to: {cause.whole_title}"
    possible = [cause for cause in diagnosis.causes if cause not in likely]
    if possible:
        yield f"the readings may point to: {' or '.join(_titles(possible))}"


def cause_lines(diagnosis: Diagnosis) -> tuple[str, ...]:
    """Return what `check` says of causes: those pointed to, readings that none explains, what can't be told, what is missing."""
    if not diagnosis.ranked:
        missing = f" (needs {'; '.join(diagnosis.missing)})" if diagnosis.missing else ""
        return (f"cause: {TOO_FEW}{missing}",)
    found = [f"cause: {words}" for words in pointing(diagnosis)] or [f"cause: {NO_CAUSE}"]
    if diagnosis.blind:
        found.append(f"{CANNOT_TELL}: {'; '.join(_titles(diagnosis.blind))}")
    if diagnosis.missing:
        found.append(f"cause not ranked without: {'; '.join(diagnosis.missing)}")
    return tuple(found)


def _titles(causes: Iterable[Cause]) -> list[str]:
    return [cause.whole_title for cause in causes]
