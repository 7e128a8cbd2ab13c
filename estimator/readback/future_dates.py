"""Dates that lie in the future of a day that is given: something to say, and never part of what may be done with the car."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.entries import Day
from estimator.errors import Finding


class Dated(NamedTuple):
    """What is dated, in words, with its tab and the key of its box."""

    day: dt.date
    tab: str
    key: str
    what: str


def dates_in(appraisal: Appraisal) -> tuple[Dated, ...]:
    """Every date that people typed: of readings, further readings, consents."""
    entries = appraisal.entries
    given: list[tuple[Day, str, str, str]] = []
    for phase, visit in entries.visits.items():
        given.append((visit.date, "Inspection", keys.key("visit", phase, "date"), f"the readings {phase} work"))
    for ref, again in entries.again.items():
        given.append((again.date, "Inspection", keys.key("again", ref, "date"), f"repeat reading, line {ref}"))
    for ref, consent in entries.consents.items():
        given.append((consent.date, "Estimate", keys.key("consent", ref, "date"), f"authorization, line {ref}"))
    return tuple(Dated(day, *rest) for day, *rest in given if isinstance(day, dt.date))


def in_the_future(dates: Iterable[Dated], today: dt.date) -> Iterator[Finding]:
    """A finding for each date after today."""
    for item in dates:
        if item.day > today:
            what = f"{item.what}: dated {item.day}, and today is {today}"
            fix = "correct the date, or the clock of this machine"
            yield Finding("date-in-future", "note", what, fix, tab=item.tab, key=item.key, found=item.day.isoformat())
