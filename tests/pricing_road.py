"""The road that a person's figures take to hours and money: a record and boxes, appraised as any other.

The shop, car and visit are the demo's; labor tables, rates, tax, fees and consent are those of the case at hand.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from typing import Any

from car_strategies import demo_record
from hours_oracle import SmallVisit, Triple

from estimator.appraisal import Appraisal
from estimator.appraise import drafted
from estimator.boxes.entries import Entries
from estimator.pricing.consent import STAGES
from estimator.records import (
    ConsentRule,
    EntryValue,
    Fees,
    JobRecord,
    JobRow,
    Labor,
    MarkupBracket,
    Rate,
    StepRow,
    Tables,
    Tax,
    TaxPart,
)

DAY = dt.date(2026, 11, 25)
INVENTED = "invented for the test"
NO_TABLES = Tables(jobs=(), steps=(), job_steps=(), parts=(), job_parts=(), calls=(), job_checks=())
NO_TAX = Tax(kind="none", in_force_from=DAY, taxed=(), source=INVENTED)
NO_RULE = ConsentRule(in_force_from=DAY, source=INVENTED)


def filled_in(record: JobRecord, boxes: Mapping[str, EntryValue]) -> Appraisal:
    """The record with these boxes filled in, by key."""
    return drafted(record, Entries.from_boxes(boxes))


def record_of(tables: Tables = NO_TABLES, rates: Mapping[str, Any] | None = None, **shop: object) -> JobRecord:
    """A record with these labor tables and rates [money/h]; other tables of the shop by name."""
    base = demo_record()
    plain: dict[str, object] = {"markup": (MarkupBracket(percent=Decimal(0)),), "fees": Fees(), "tax": NO_TAX}
    given = {
        name: Rate(id=name, title=name, per_hour=Decimal(str(rate))) for name, rate in (rates or {"any": 1}).items()
    }
    plain |= {"consent": NO_RULE, "labor": Labor(rates=tuple(given.values()))} | shop
    if basis := plain.pop("basis", None):
        plain["labor"] = Labor(rates=tuple(given.values()), basis=basis)
    job = base.job.model_copy(update={"jobs": (), "extra_parts": (), "sublet": (), "substitutes": ()})
    return base.model_copy(update={"shop": base.shop.model_copy(update=plain), "job": job, "tables": tables})


# --- hours ------------------------------------------------------------------------------------------------------------


def tables_of(visit: SmallVisit) -> Tables:
    """Labor tables with a job a line and a step a step, all of them done once at the car."""
    return Tables(
        jobs=tuple(JobRow(job_id=line, title=line, place_kind="car", rate=line, safety="no") for line in visit.needs),
        steps=tuple(
            StepRow(
                step_id=step,
                title=step,
                place_kind="car",
                shared="each job" if step in visit.own else "once a visit",
                hours_low=low,
                hours_likely=likely,
                hours_high=high,
                basis=INVENTED,
            )
            for step, (low, likely, high) in visit.steps.items()
        ),
        job_steps=tuple((line, step) for line, steps in visit.needs.items() for step in steps),
        parts=(),
        job_parts=(),
        calls=(),
        job_checks=(),
    )


def appraised(visit: SmallVisit, agreed: Collection[str], basis: str = "likely", **shop: object) -> Appraisal:
    """The visit with some lines agreed to and the others declined."""
    entries: dict[str, EntryValue] = {
        f"line.{line}.car.decision": "authorized" if line in agreed else "declined" for line in visit.needs
    }
    return filled_in(record_of(tables_of(visit), visit.rates, basis=basis, **shop), entries)


def shares(needs: Sequence[tuple[str, str, float]]) -> list[float]:
    """The hours of each line, in order, in a visit of them all; `needs` names line, step and hours."""
    lines = list(dict.fromkeys(line for line, _, _ in needs))
    steps: dict[str, Triple] = {step: (hours, hours, hours) for _, step, hours in needs}
    of = {line: [step for other, step, _ in needs if other == line] for line in lines}
    found = appraised(SmallVisit(steps, of, dict.fromkeys(lines, 1.0)), lines)
    return [line.share_agreed for line in found.labor.lines]


def expected_and_variance(activities: Sequence[Sequence[float]]) -> list[float]:
    """Expected hours and variance of a visit of one job whose steps have these hours (low, likely, high)."""
    visit = _of_one_job(activities)
    return [visit.expected, visit.variance]


def p80_above_expected(low: float, likely: float, high: float) -> float:
    """By how much P80 of one step exceeds its expected hours."""
    visit = _of_one_job([(low, likely, high)])
    return visit.p80 - visit.expected


def _of_one_job(activities: Sequence[Sequence[float]]) -> Any:
    steps: dict[str, Triple] = {
        f"step-{number}": (float(low), float(likely), float(high))
        for number, (low, likely, high) in enumerate(activities)
    }
    return appraised(SmallVisit(steps, {"job": list(steps)}, {"job": 1.0}), ["job"], "p80").labor.agreed


# --- money ------------------------------------------------------------------------------------------------------------


def document(
    work: Sequence[Sequence[str]] = (),
    parts: Sequence[Sequence[str]] = (),
    sublet: Sequence[str] = (),
    taxed: Collection[str] = (),
    percent: str = "0",
    scope: str = "document",
    **fees: str,
) -> dict[str, Decimal]:
    """The agreed totals of a document made of spare lines, all of them agreed to.

    Parameters: work, (hours, rate an hour); parts, (quantity, cost, core deposit), sold at cost; sublet, charges;
    taxed, classes; percent, the tax; scope, document or line; discount_labor and discount_parts, percent; supplies,
    percent of labor; liters, drained, at per_liter.
    """
    rates = {f"rate-{number}": rate for number, (_, rate) in enumerate(work, 1)}
    entries: dict[str, EntryValue] = {}
    for number, (hours, _) in enumerate(work, 1):
        entries |= {f"extra_work.{number}.hours": float(hours), f"extra_work.{number}.rate_id": f"rate-{number}"}
    for number, amounts in enumerate(parts, 1):
        names = ("quantity", "cost", "deposit")
        entries |= {f"extra_part.{number}.{name}": float(given) for name, given in zip(names, amounts, strict=True)}
    entries |= {f"sublet.{number}.charge": float(charge) for number, charge in enumerate(sublet, 1)}
    entries |= {key.rpartition(".")[0] + ".decision": "authorized" for key in entries}
    for name, key in (("labor", "discount.labor.percent"), ("parts", "discount.parts.percent")):
        if f"discount_{name}" in fees:
            entries[key] = float(fees[f"discount_{name}"])
    if "liters" in fees:
        entries["disposal.drained.liters"] = float(fees["liters"])
    tax = Tax(
        kind="sales",
        scope=scope,
        in_force_from=DAY,
        taxed=tuple(sorted(taxed)),
        parts=(TaxPart(name="State of Tarrow", percent=Decimal(percent)),),
        source=INVENTED,
    )
    charged = Fees(
        supplies_percent_of_labor=Decimal(fees.get("supplies", "0")),
        supplies_cap=Decimal(fees.get("cap", "0")),
        disposal_per_liter=Decimal(fees.get("per_liter", "0")),
    )
    return dict(filled_in(record_of(rates=rates or None, tax=tax, fees=charged), entries).agreed)


def totals(figures: Sequence[str], **given: Any) -> list[float]:
    """Some totals of a document, by name."""
    found = document(**given)
    return [float(found[name]) for name in figures]


def part_price(cost: str, brackets: Sequence[Any]) -> Decimal:
    """What a part that costs so much is sold for."""
    entries: dict[str, EntryValue] = {
        "extra_part.1.quantity": 1.0,
        "extra_part.1.cost": float(cost),
        "extra_part.1.decision": "authorized",
    }
    return filled_in(record_of(markup=tuple(brackets)), entries).agreed["parts"]


def excess_allowed(consented: str, **rule: Any) -> float:
    """How far a bill may exceed a consent that was written down, by a rule of the shop."""
    entries: dict[str, EntryValue] = {
        "consent.1.stage": STAGES[0],
        "consent.1.amount": float(consented),
        "consent.1.date": DAY,
        "consent.1.who": "Ines Quill",
    }
    given = ConsentRule(in_force_from=DAY, source=INVENTED, **rule)
    return float(filled_in(record_of(consent=given), entries).consented.excess)
