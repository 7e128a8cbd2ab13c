"""What the readings point to, in words: never that it is so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimator.diagnosis.causes.conclude import DIGITS
from estimator.diagnosis.causes.result import Cause, Diagnosis, Group

LIKELY = 0.5
# What is said of a cause from a probability on.
CLAIMS = (
    (0.0, ""),
    (0.1, "the readings may point to"),
    (0.5, "the readings point to"),
    (0.9, "the readings point clearly to"),
)
TOO_FEW = "too few readings to name a cause"
CANNOT_TELL = "these readings cannot tell"
NO_CAUSE = "the readings point to no cause"


def weighed(cause: Cause, group: Group) -> float:
    """Return the probability by which a cause is ranked: to six decimals, 0 in a group that isn't ranked."""
    return round(cause.probability, DIGITS) if group.ranked else 0.0


def claim_of(share: float) -> str:
    """Return what is said of a cause of a probability; nothing for a slight one.

    >>> claim_of(0.5), claim_of(0.05)
    ('the readings point to', '')
    """
    return next(words for least, words in reversed(CLAIMS) if share >= least)


def words_of(claim: str, cause: str) -> str:
    """Return a claim about a cause."""
    return f"{claim}: {cause}" if claim else ""


def pointing(diagnosis: Diagnosis) -> Iterator[str]:
    """Yield a sentence for each cause that is more likely than not, then one for those that are possible.

    >>> list(pointing(Diagnosis()))
    []
    """
    likely = [cause for cause in diagnosis.causes if round(cause.probability, DIGITS) >= LIKELY]
    for cause in likely:
        yield words_of(claim_of(round(cause.probability, DIGITS)), cause.whole_title)
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
