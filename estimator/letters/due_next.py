"""What is due next, in the customer's words."""

from __future__ import annotations

import datetime as dt

from estimator.appraisal import Appraisal
from estimator.car_history.due import Due, due, undated
from estimator.car_history.series import all_series
from estimator.car_history.visit import visit_of
from estimator.letters.formats import MONTHS

_MOST = 6


def due_next(appraisal: Appraisal) -> tuple[str, ...]:
    """Return the soonest of what is due, this visit counted, each in words."""
    car, visits = appraisal.record.car, (*appraisal.record.visits, visit_of(appraisal))
    limits = {f"{item.row.check.id}.{item.row.place.id}": item.values for item in appraisal.judged}
    found = due(car, visits, all_series(car, visits), limits)
    return tuple(_said(item, appraisal.record.job.date) for item in found[:_MOST])


def without_date(appraisal: Appraisal) -> tuple[str, ...]:
    """Return what can't be dated."""
    visits = (*appraisal.record.visits, visit_of(appraisal))
    return tuple(_lower(item.title) for item in undated(appraisal.record.car, visits))


def _said(item: Due, today: dt.date) -> str:
    title = _lower(item.title)
    if item.earliest <= today:
        return f"{title}: now"
    if item.latest is None:
        return f"{title}: possibly from {_month(item.earliest)} on"
    if item.banded:
        return f"{title}: expected between {_month(item.earliest)} and {_month(item.latest)}"
    return f"{title}: {_month(item.earliest)}"


def _month(day: dt.date) -> str:
    return f"{MONTHS[day.month - 1]} {day.year}"


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]
