"""What was found in one workbook, as plain data: for the terminal, for JSON, and to be handed between processes."""

from __future__ import annotations

import datetime as dt
import traceback
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from estimator.diagnosis.advice.advice import Advice, advise
from estimator.diagnosis.advice.advise import Step
from estimator.diagnosis.causes.calling import Callers
from estimator.diagnosis.causes.result import Cause
from estimator.diagnosis.causes.words import cause_lines
from estimator.errors import Finding, UnreadableFile
from estimator.limits.judging.driving import STATE_SLUGS
from estimator.money import money_text
from estimator.next_step import NextStep, next_step
from estimator.pricing.fees_and_tax import document_totals
from estimator.readback.check import INTEGRITY, Checked, check_workbook, collecting_later
from estimator.readback.future_dates import Dated, dates_in, in_the_future
from estimator.reading_findings import kept_off_the_road
from estimator.workbook.seal import SealKey

SCHEMA = 1


@dataclass(frozen=True)
class Report:
    """One workbook. `state` is sound, unsound or unreadable; without a readable record the rest is empty.

    `concerns` names the checks that keep the car off the road, `behind` says it of each in words, parts among them;
    `fault` is a fault of the program itself, `next` the step advised by expected cost, `to_do` what stands
    between the visit and the books.
    """

    file: str
    state: str
    findings: tuple[Finding, ...]
    document: str = ""
    revision: int = 0
    car: str = ""
    customer: str = ""
    driving: str = ""
    made: int = 0
    asked: int = 0
    concerns: tuple[str, ...] = ()
    behind: tuple[str, ...] = ()
    unexamined: tuple[str, ...] = ()
    cause_lines: tuple[str, ...] = ()
    verdicts: Mapping[str, int] = field(default_factory=dict)
    currency: str = ""
    agreed: Mapping[str, str] = field(default_factory=dict)
    proposed: Mapping[str, str] = field(default_factory=dict)
    causes: tuple[dict[str, Any], ...] = ()
    next: dict[str, Any] | None = None
    price_low: str = ""
    price_high: str = ""
    compared: int = 0
    entries: Mapping[str, int] = field(default_factory=dict)
    boxes: tuple[dict[str, Any], ...] = ()
    notes: tuple[str, ...] = ()
    seal: str = ""
    dates: tuple[Dated, ...] = ()
    exit_status: int = 0
    fault: str = ""
    drafted_on: dt.date | None = None
    to_do: NextStep | None = None

    @property
    def worst(self) -> str:
        """The gravest severity of its findings: stop, warn, note, or nothing."""
        found = {finding.severity for finding in self.findings}
        return next((severity for severity in ("stop", "warn", "note") if severity in found), "")

    def on(self, today: dt.date) -> Report:
        """The report with what there is to say on that day of dates after it."""
        return replace(self, findings=(*self.findings, *in_the_future(self.dates, today)))

    def data(self) -> dict[str, Any]:
        """As `estimator check --json` gives it."""
        return {
            "file": self.file,
            "document": self.document,
            "revision": self.revision,
            "state": self.state,
            "car": STATE_SLUGS.get(self.driving, ""),
            "verdicts": dict(self.verdicts),
            "behind": list(self.behind),
            "unexamined": list(self.unexamined),
            "findings": [asdict(finding) for finding in self.findings],
            "boxes": list(self.boxes),
            "totals": dict(self.agreed),
            "proposed_totals": dict(self.proposed),
            "causes": list(self.causes),
            "next": self.next,
            "price_low": self.price_low,
            "price_high": self.price_high,
            "entries": dict(self.entries),
            "cells_compared": self.compared,
            "notes": list(self.notes),
            "seal": self.seal,
        }


def report(path: Path, key: SealKey | None = None) -> Report:
    """Check one workbook, its seal too where the shop's key is given.

    Nothing is raised for a file that can't be read: that is what the report says.
    """
    try:
        with collecting_later():  # until the cells are gone
            return report_of(check_workbook(path, key))
    except UnreadableFile as refusal:
        finding = Finding(refusal.rule, "stop", refusal.what, refusal.fix)
        return Report(str(path), "unreadable", (finding,), exit_status=refusal.exit_status)
    except Exception as error:  # a fault of the program at one file mustn't stop the others
        what = f"the program failed on it ({type(error).__name__})"
        finding = Finding("unreadable-file", "stop", what, "report it, with the file")
        return Report(str(path), "unreadable", (finding,), fault=traceback.format_exc())


def report_of(checked: Checked) -> Report:
    """A workbook that was read back, as plain data."""
    notes = checked.workbook.notes
    if checked.appraisal is None or checked.entries is None:
        return Report(str(checked.path), checked.state, checked.findings, notes=notes)
    appraisal = checked.appraisal
    record = appraisal.record
    plate = record.car.car.plate
    advice = advise(appraisal)
    return Report(
        file=str(checked.path),
        state=checked.state,
        findings=checked.findings,
        document=record.job.document,
        revision=record.job.revision,
        car=f"{record.car.car.name}, {plate}" if plate else record.car.car.name,
        customer=record.job.customer.name,
        driving=appraisal.driving.state,
        made=appraisal.driving.made,
        asked=appraisal.driving.asked,
        concerns=tuple(item.ref for item in appraisal.concerns),
        unexamined=tuple(item.label for item in appraisal.standings if item.unexamined),
        cause_lines=cause_lines(appraisal.diagnosis),
        behind=tuple(kept_off_the_road(appraisal)),
        verdicts=dict(Counter(item.latest for item in appraisal.standings if item.asked)),
        currency=record.shop.shop.currency,
        agreed=_totals(appraisal.agreed),
        proposed=_totals(appraisal.proposed),
        causes=tuple(_cause(cause, advice, appraisal.callers) for cause in appraisal.diagnosis.causes),
        next=_step(advice.next),
        price_low=money_text(advice.band.low),
        price_high=money_text(advice.band.high),
        compared=checked.compared,
        entries=checked.entries.counts,
        boxes=tuple(_box(item) for item in checked.entries.boxes),
        notes=notes,
        seal=checked.seal,
        dates=dates_in(appraisal),
        drafted_on=record.job.date,
        to_do=next_step(appraisal),
    )


def of_the_workbook(finding: Finding) -> bool:
    """Whether a finding is about the file itself, not about the car or the money."""
    return finding.rule in INTEGRITY or finding.rule in ("unreadable-file", "over-size", "text-added")


def _totals(rows: Mapping[str, Decimal]) -> dict[str, str]:
    return {name: money_text(amount) for name, amount in document_totals(rows).items()}


def _cause(cause: Cause, advice: Advice, callers: Callers) -> dict[str, Any]:
    low, high = advice.band.of_cause.get((cause.mode_id, cause.at), (advice.band.low, advice.band.high))
    return {
        "id": cause.mode_id,
        "place": cause.place,
        "title": cause.whole_title,
        "probability": round(cause.probability, 6),
        "explains": list(callers.boxes_of(cause)),
        "job": cause.job_id,
        "next": _step(advice.of_cause(cause)),
        "price_low": money_text(low),
        "price_high": money_text(high),
    }


def _step(step: Step | None) -> dict[str, Any] | None:
    return asdict(step) | {"cost": money_text(step.cost)} if step else None


def _box(item: Any) -> dict[str, Any]:
    box = item.box
    allowed: Any = {"list": list(box.allowed), "number": [box.low, box.high]}.get(box.kind)
    value = item.value.isoformat() if isinstance(item.value, dt.date) else item.value
    return {
        "key": item.key,
        "tab": item.tab,
        "cell": item.cell,
        "kind": box.kind,
        "unit": item.unit,
        "allowed": allowed,
        "value": value,
    }
