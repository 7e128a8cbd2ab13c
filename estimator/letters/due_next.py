"""What is due next, in the customer's words."""

from __future__ import annotations

import datetime as dt

from estimator.appraisal import Appraisal
from estimator.car_history.due import Due, due
from estimator.car_history.series import all_series
from estimator.car_history.visit import visit_of
from estimator.letters.formats import MONTHS

_MOST = 3


def due_next(appraisal: Appraisal) -> tuple[str, ...]:
    """Return the soonest of what is due, this visit counted, each in words."""
    car, visits = appraisal.record.car, (*appraisal.record.visits, visit_of(appraisal))
    limits = {f"{item.row.check.id}.{item.row.place.id}": item.values for item in appraisal.judged}
    found = due(car, visits, all_series(car, visits), limits)
    return tuple(_said(item, appraisal.record.job.date) for item in found[:_MOST])


def _said(item: Due, today: dt.date) -> str:
    title = item.title[:1].lower() + item.title[1:]
    if item.earliest <= today:
        return f"{title}: now"
    if item.latest is None:
        return f"{title}: possibly from {_month(item.earliest)} on"
    if item.banded:
        return f"{title}: expected between {_month(item.earliest)} and {_month(item.latest)}"
    return f"{title}: {_month(item.earliest)}"


def _month(day: dt.date) -> str:
    return f"{MONTHS[day.month - 1]} {day.year}"
