"""Strategies for shops, labor tables and visits that intake accepts."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from random import Random

from car_strategies import DEMOS, amount, demo_record
from hypothesis import strategies as st

from estimator.records import (
    AskedJob,
    Car,
    ConsentRule,
    Customer,
    ExtraPart,
    Fees,
    Gauge,
    Job,
    Labor,
    MarkupBracket,
    Rate,
    Shop,
    Show,
    StepRow,
    Sublet,
    Substitute,
    Tables,
    Tax,
    TaxPart,
    Verdicts,
)

DAY = dt.date(2026, 11, 25)
# Text that a spreadsheet program could take for a formula, a number, markup or a field's end.
TEXTS = (
    "Wren Castellow",
    "=1+1",
    '=HYPERLINK("http://x.example","y")',
    "+44 555 0147",
    "-2 psi",
    "@SUM(A1)",
    "'quoted",
    'a "b" <c> & d',
    "{braces} of {line:label}",
    "1E5",
    "0012",
    "2026-11-25",
    "TRUE",
    "#REF!",
    "two\nlines\tand a tab",
    "ungefähr 2 150 psi",
    "שלום",
    "e\u0301 combining",
    "_x0041_",
    "x" * 400,
)
texts = st.sampled_from(TEXTS)
_SHOWN = {
    "pressure": ("psi", "kPa", "bar", "MPa"),
    "length": ("mm", "in"),
    "distance": ("ft", "m"),
    "volume": ("mL", "L"),
    "temperature": ("°C", "°F", "K"),
    "time": ("s", "min"),
    "torque": ("N·m", "ft·lbf"),
    "force": ("N", "lbf"),
    "ratio": ("%", "1"),
}
_CONSENT_NEEDS = {
    "none": (),
    "flat": ("flat",),
    "percent": ("percent",),
    "cap": ("percent", "cap"),
    "greater-of": ("flat", "percent"),
    "lesser-of": ("flat", "percent"),
}


def money(low: int, high: int) -> st.SearchStrategy[Decimal]:
    """Amounts to the cent."""
    return st.integers(low * 100, high * 100).map(lambda cents: Decimal(cents) / 100)


@st.composite
def taxes(draw: st.DrawFn) -> Tax:
    kind = draw(st.sampled_from(("sales", "vat", "none")))
    classes = ("labor", "parts", "supplies", "disposal", "sublet", "core")
    percents = st.integers(0, 12000).map(lambda n: Decimal(n) / 1000)
    names = ("State of Tarrow", "=Town of Harrow Fen", "Drainage board")
    parts = [TaxPart(name=name, percent=draw(percents)) for name in names[: draw(st.integers(1, 3))]]
    return Tax(
        kind=kind,
        scope="document" if kind == "vat" else draw(st.sampled_from(("document", "line"))),
        in_force_from=dt.date(2026, 1, 1),
        taxed=() if kind == "none" else tuple(name for name in classes if draw(st.booleans())),
        parts=() if kind == "none" else tuple(parts),
        source="a notice, invented for the test",
    )


@st.composite
def consent_rules(draw: st.DrawFn) -> ConsentRule:
    rule = draw(st.sampled_from(sorted(_CONSENT_NEEDS)))
    needs = _CONSENT_NEEDS[rule]
    return ConsentRule(
        rule=rule,
        flat=draw(money(1, 50)) if "flat" in needs else Decimal(0),
        percent=draw(st.sampled_from((Decimal("10"), Decimal("12.5")))) if "percent" in needs else Decimal(0),
        cap=draw(money(1, 200)) if "cap" in needs or draw(st.booleans()) else None,
        on=draw(st.sampled_from(("total", "before tax"))),
        in_force_from=dt.date(2026, 1, 1),
        source="a rule, invented for the test",
    )


@st.composite
def gauges(draw: st.DrawFn) -> tuple[Gauge, ...]:
    """Those of the demo shop, some finer, some coarser, some past their date, with or without a usual one."""
    found = []
    usual = draw(st.booleans())
    for gauge in demo_record().shop.gauges:
        changes: dict[str, object] = {"usual": gauge.usual and usual}
        if draw(st.booleans()):
            changes["accuracy_class"] = draw(st.sampled_from((Decimal("0.1"), Decimal("1.6"), Decimal(4), Decimal(0))))
            changes["due"] = draw(st.sampled_from((dt.date(2027, 6, 1), dt.date(2026, 11, 25), dt.date(2026, 11, 24))))
        found.append(gauge.model_copy(update=changes))
    return tuple(found)


@st.composite
def shops(draw: st.DrawFn) -> Shop:
    """A shop that intake accepts."""
    tops = sorted(draw(st.sets(money(1, 400), max_size=3)))
    percents = [Decimal(draw(st.integers(0, 1500))) / 10 for _ in range(len(tops) + 1)]
    base = demo_record().shop
    return base.model_copy(
        update={
            "show": Show(**{name: draw(st.sampled_from(units)) for name, units in _SHOWN.items()}),
            "labor": Labor(
                basis=draw(st.sampled_from(("likely", "expected", "p80"))),
                rates=tuple(
                    Rate(id=rate.id, title=draw(texts), per_hour=draw(money(30, 250))) for rate in base.labor.rates
                ),
            ),
            "markup": tuple(
                MarkupBracket(up_to=top, percent=percent) for top, percent in zip((*tops, None), percents, strict=True)
            ),
            "fees": Fees(
                supplies_percent_of_labor=Decimal(draw(st.integers(0, 60))) / 4,
                supplies_cap=draw(st.just(Decimal(0)) | money(1, 90)),
                disposal_per_liter=draw(money(0, 5)),
            ),
            "tax": draw(taxes()),
            "consent": draw(consent_rules()),
            "gauges": draw(gauges()),
            "verdicts": Verdicts(plain_comparison=draw(st.booleans())),
        }
    )


def _hours(step: StepRow, rng: Random) -> StepRow:
    """The step with other hours: its own, none, certain ones, any."""
    kind = rng.randrange(4)
    low, likely, high = step.hours_low, step.hours_likely, step.hours_high
    if kind == 1:
        low = likely = high = rng.choice((0.0, 0.5))
    elif kind == 2:
        low, likely, high = sorted(round(rng.uniform(0, 6), 2) for _ in range(3))
    return step.model_copy(update={"hours_low": low, "hours_likely": likely, "hours_high": high})


@st.composite
def tables(draw: st.DrawFn, car: Car, most_jobs: int = 6) -> Tables:
    """Some of the jobs of the labor tables, at least one of which this car can have, with other hours and costs."""
    whole = demo_record().tables
    fitting = [job.job_id for job in whole.jobs if job.places(car)]
    others = [job.job_id for job in whole.jobs]
    ids = {draw(st.sampled_from(fitting))} | draw(st.sets(st.sampled_from(others), max_size=most_jobs - 1))
    rng = Random(draw(st.integers(0, 2**32 - 1)))
    job_steps = tuple(pair for pair in whole.job_steps if pair[0] in ids)
    job_parts = tuple(row for row in whole.job_parts if row.job_id in ids)
    wanted_steps, wanted_parts = {step for _, step in job_steps}, {row.part_id for row in job_parts}
    return Tables(
        jobs=tuple(
            job.model_copy(update={"supersedes": tuple(other for other in job.supersedes if other in ids)})
            for job in whole.jobs
            if job.job_id in ids
        ),
        steps=tuple(_hours(step, rng) for step in whole.steps if step.step_id in wanted_steps),
        job_steps=job_steps,
        parts=tuple(
            part.model_copy(
                update={
                    "unit_cost": Decimal(rng.choice((0, 1, 4000, 4001, rng.randrange(60000)))) / 100,
                    "core_deposit": Decimal(rng.choice((0, 0, rng.randrange(15000)))) / 100,
                }
            )
            for part in whole.parts
            if part.part_id in wanted_parts
        ),
        job_parts=job_parts,
        calls=tuple(row for row in whole.calls if row.job_id in ids),
        job_checks=tuple(pair for pair in whole.job_checks if pair[0] in ids),
    )


@st.composite
def visits(draw: st.DrawFn, car: Car, of: Tables) -> Job:
    """A visit of this car: jobs asked for where it can have them, extra parts, sublet work, substitutes."""
    possible = [(job.job_id, place.id) for job in of.jobs for place in job.places(car)]
    asked = draw(st.lists(st.sampled_from(possible), max_size=6, unique=True))
    fitted = [(row.part_id, job, at) for row in of.job_parts for job, at in possible if job == row.job_id]
    replaced = draw(st.lists(st.sampled_from(fitted), max_size=2, unique=True)) if fitted else []
    family = st.sampled_from(("any", "glycol", "mineral", "silicone"))
    demo = demo_record(draw(st.sampled_from(DEMOS))).job
    return demo.model_copy(
        update={
            "document": f"T-{draw(st.integers(1, 9999))}",
            "revision": draw(st.integers(1, 12)),
            "date": DAY,
            "customer": Customer(name=draw(texts).strip(), address=("3 Sluice Lane", "=Harrow Fen")),
            "complaint": draw(texts).strip(),
            **{f"{whose}_notes": tuple(draw(st.lists(texts, max_size=2))) for whose in ("shop", "customer")},
            "jobs": tuple(AskedJob(job=job, at=at) for job, at in asked),
            "extra_parts": tuple(
                ExtraPart(
                    description=draw(texts),
                    quantity=Decimal(draw(st.integers(1, 900))) / 100,
                    unit_cost=draw(money(0, 300)),
                    core_deposit=draw(st.just(Decimal(0)) | money(1, 80)),
                    fluid_family=draw(family),
                )
                for _ in range(draw(st.integers(0, 2)))
            ),
            "sublet": tuple(
                Sublet(description=draw(texts), supplier=draw(texts), amount=draw(money(0, 500)))
                for _ in range(draw(st.integers(0, 2)))
            ),
            "substitutes": tuple(
                Substitute(
                    part=part,
                    job=job,
                    at=at,
                    description=draw(texts),
                    unit_cost=draw(money(0, 300)),
                    fluid_family=draw(family),
                    compared="bore and thread",
                    approved_by=draw(st.sampled_from(("", "=Ines Quill"))),
                )
                for part, job, at in replaced
            ),
        }
    )


__all__ = ["DAY", "TEXTS", "amount", "shops", "tables", "texts", "visits"]
