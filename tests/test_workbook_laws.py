"""What holds for every visit, whatever stands in its boxes: hours, money, verdicts, what may be done with the car.

A sample here; `EXAMPLES=6 python -m pytest tests/test_workbook_laws.py` is the long run, over all rows of both cars.
"""

from __future__ import annotations

import functools
import math
import os
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest
from boxes_by_key import appraise_boxes
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from strategies import WholeJob, demo_record, entries_of, finest, generated, whole_jobs

from estimator.appraisal import Appraisal
from estimator.books.from_appraisal import posting_of
from estimator.books.journal import Account
from estimator.books.posting_rules import posting_findings
from estimator.limits.judging.driving import DO_NOT_DRIVE, ROAD_TEST
from estimator.limits.judging.verdict_words import BAD, GOOD, PHASES
from estimator.money import ZERO, add
from estimator.pricing.decisions import DECISIONS, DONE
from estimator.quantities import UNITS, from_si
from estimator.records import JobRecord, Show
from estimator.workbook.tabs.self_checks import self_checks
from tests.limit_cars import with_car
from tests.never_clear.good_car import PEDAL
from tests.never_ground.sound_cars import readings

TIMES = int(os.environ.get("EXAMPLES", 1))


def steady(max_examples: int) -> settings:
    """The same at each run. An example takes a good while, and is named by its job: it isn't made smaller."""
    return settings(
        max_examples=max_examples // 2 * TIMES,
        derandomize=True,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


DEMOS = ("job.toml", "job_mineral.toml")
STEP = max(6 // TIMES, 1)
# Every sixth row of one demo, and others of the other.
EVERY_SIXTH = {name: slice(start * STEP // 2, None, STEP) for start, name in enumerate(DEMOS)}


@functools.cache
def visits() -> tuple[JobRecord, ...]:
    """The demo's two, and generated ones."""
    return (*map(demo_record, DEMOS), *(job.record for job in generated(50, 10)))


@functools.cache
def sound_record(name: str) -> JobRecord:
    """A demo's record; where its maker gives no movement of the pedal, with such a limit (invented for the tests)."""
    record = demo_record(name)
    if any(item.check == "pedal-movement" for item in record.car.limits):
        return record
    return with_car(record, record.car.model_copy(update={"limits": (*record.car.limits, PEDAL)}))


@functools.cache
def all_good(record: JobRecord) -> WholeJob:
    """Every check of a sound car read alike before and after work, with a gauge in date."""
    entries: dict[str, object] = {}
    for ref, (value, gauge) in readings(record).items():
        for phase in PHASES:
            entries[f"reading.{ref}.{phase}"] = float(value) if isinstance(value, int | float) else value
            if gauge:
                entries[f"reading.{ref}.gauge_{phase}"] = gauge
    return WholeJob(record, entries, "good twice")


def readings_only(job: WholeJob) -> dict[str, object]:
    return {key: value for key, value in job.entries.items() if key.startswith("reading.")}


@st.composite
def decided(draw: st.DrawFn) -> WholeJob:
    """A visit with any decisions."""
    record = draw(st.sampled_from(visits()))
    lines = appraise_blank(record).plan.lines
    weights = draw(st.sampled_from(((1, 1, 1), (0, 1, 0), (1, 8, 1), (8, 1, 1))))
    rng = Random(draw(st.integers(0, 2**32 - 1)))
    basis = draw(st.sampled_from(("likely", "expected", "p80")))
    shop = record.shop.model_copy(update={"labor": record.shop.labor.model_copy(update={"basis": basis})})
    entries = {f"line.{line.ref}.decision": rng.choices(DECISIONS, weights)[0] for line in lines}
    return WholeJob(record.model_copy(update={"shop": shop}), entries)


@functools.cache
def appraise_blank(record: JobRecord) -> Appraisal:
    return appraise_boxes(record, {})


# --- hours ------------------------------------------------------------------------------------------------------------


@steady(max_examples=120)
@given(decided())
def test_shares_add_up_to_the_visit(job: WholeJob) -> None:
    """Shares of the quoted basis to its hours, for agreed work and all that is proposed."""
    found = appraise_boxes(job.record, job.entries)
    basis = job.record.shop.labor.basis
    for case in ("agreed", "proposed"):
        visit = getattr(found.labor, case)
        shares = math.fsum(getattr(line, f"share_{case}") for line in found.labor.lines)
        assert math.isclose(shares, getattr(visit, basis), rel_tol=1e-9, abs_tol=1e-12), case
        counted = [line for line in found.labor.lines if getattr(line, case) == 1]
        assert all(getattr(line, f"share_{case}") == 0 for line in found.labor.lines if line not in counted)
        assert shares <= math.fsum(line.alone for line in counted) + 1e-9, "together never takes longer than apart"
    if basis == "p80":
        p80 = math.fsum(line.share_proposed for line in found.labor.lines)
        assert math.isclose(p80, found.labor.proposed.p80, rel_tol=1e-9, abs_tol=1e-12)
    assert all(row.value == 0 for row in self_checks(found) if row.ref in ("shares", "p80", "balance", "tax"))


@steady(max_examples=120)
@given(decided(), st.integers(0, 10**6))
def test_leaving_a_job_out_never_lowers_the_share_of_another(job: WholeJob, pick: int) -> None:
    before = appraise_boxes(job.record, job.entries)
    counted = [line for line in before.labor.lines if line.agreed]
    if not counted:
        return
    left_out = counted[pick % len(counted)]
    after = appraise_boxes(job.record, {**job.entries, f"line.{left_out.ref}.decision": "declined"})
    if sum(line.agreed for line in after.labor.lines) != len(counted) - 1:
        return  # it included another job, which now counts in its place
    for old, new in zip(before.labor.lines, after.labor.lines, strict=True):
        if old.agreed and old is not left_out:
            assert new.share_agreed >= old.share_agreed - 1e-9, (left_out.ref, old.ref)
            assert new.amount_agreed >= old.amount_agreed
    basis = job.record.shop.labor.basis
    assert getattr(after.labor.agreed, basis) <= getattr(before.labor.agreed, basis) + 1e-9


@steady(max_examples=60)
@given(decided(), st.integers(0, 10**6))
def test_what_leaving_a_job_out_saves_is_what_it_saves(job: WholeJob, pick: int) -> None:
    """The hours and the labor shown beside a line are those of the visit with it less those without it."""
    before = appraise_boxes(job.record, job.entries)
    counted = [line for line in before.labor.lines if line.proposed]
    if not counted:
        return
    line = counted[pick % len(counted)]
    after = appraise_boxes(job.record, {**job.entries, f"line.{line.ref}.decision": "declined"})
    if sum(other.proposed for other in after.labor.lines) != len(counted) - 1:
        return
    basis = job.record.shop.labor.basis
    hours = getattr(before.labor.proposed, basis) - getattr(after.labor.proposed, basis)
    assert math.isclose(line.saves_hours, hours, rel_tol=1e-9, abs_tol=1e-9)
    labor = [math.fsum(o.share_proposed * float(o.rate) for o in a.labor.lines) for a in (before, after)]
    assert abs(float(line.saves_labor) - (labor[0] - labor[1])) <= 0.005 + 1e-6


# --- money ------------------------------------------------------------------------------------------------------------


@steady(max_examples=60)
@given(whole_jobs(tempers=("mixed", "good", "near")))
def test_the_journal_balances_and_is_what_is_posted(job: WholeJob) -> None:
    found = appraise_boxes(job.record, job.entries)
    assert found.balance.out == 0
    assert found.agreed["total"] == found.agreed["net"] + found.agreed["tax"]
    assert add(row.agreed.share for row in found.tax_parts) == found.agreed["tax"]
    posting = posting_of(found)
    on_tab: Counter[tuple[str, str]] = Counter()
    posted: Counter[tuple[str, str]] = Counter()
    for row in found.journal:
        on_tab[Account.parse(row.account).code, row.tax_code] += row.credit - row.debit
    for line in posting.journal:
        posted[line.account_code, line.tax_code] += line.credit - line.debit
    assert {key: value for key, value in on_tab.items() if value} == {k: v for k, v in posted.items() if v}
    assert sum(posted.values(), ZERO) == 0
    refused = [finding.what for finding in posting_findings(posting)]
    in_pieces = [line.ref for line in posting.lines if line.kind == "core" and line.quantity % 1]
    known = len(in_pieces) + ((posting.tax_kind, posting.tax_level) == ("vat", "line"))
    said = [what for what in refused if "counted in whole parts" in what or "VAT is worked out on the document" in what]
    assert refused == said and len(refused) == known


# --- verdicts ---------------------------------------------------------------------------------------------------------


def in_unit(job: WholeJob, unit: str) -> WholeJob:
    """The same readings and their stated uncertainties, typed in another unit of pressure."""
    old = job.record.shop.show.pressure
    show = Show.model_validate(job.record.shop.show.model_dump() | {"pressure": unit})
    entries = dict(job.entries)
    for row in appraise_blank(job.record).plan.checks:
        for phase in PHASES:
            for key in (f"reading.{row.ref}.{phase}", f"stated.{row.ref}.u_{phase}"):
                if row.check.quantity == "pressure" and isinstance(entries.get(key), float):
                    entries[key] = from_si(entries[key] * UNITS[old].factor, unit)
    shop = job.record.shop.model_copy(update={"show": show})
    return replace(job, record=job.record.model_copy(update={"shop": shop}), entries=entries)


def off_the_edge(job: WholeJob) -> WholeJob:
    """The same without readings of pressure within 10 Pa of where a verdict turns: room is rounded to six decimals of the
    unit shown, which is 1 Pa in MPa and less in the others."""
    found = appraise_boxes(job.record, job.entries)
    entries = dict(job.entries)
    for item in found.judged:
        for phase in PHASES:
            one = item.phases[phase]
            rooms = [room for pair in (one.service, one.danger) for room in (pair.above, pair.below)]
            if item.row.check.quantity == "pressure" and isinstance(one.u_shown, float):
                edges = [abs(room) - one.u_shown for room in rooms if not isinstance(room, str)]
                if any(abs(edge) * item.factor < 10 for edge in edges):
                    entries.pop(f"reading.{item.ref}.{phase}", None)
    return replace(job, entries=entries)


@steady(max_examples=40)
@given(whole_jobs(tempers=("mixed", "near", "bad")), st.sampled_from(("psi", "kPa", "bar", "MPa")))
def test_the_unit_of_pressure_decides_nothing(job: WholeJob, unit: str) -> None:
    job = off_the_edge(job)
    one, other = (appraise_boxes(item.record, item.entries) for item in (job, in_unit(job, unit)))
    for a, b in zip(one.standings, other.standings, strict=True):
        assert (a.before.verdict, a.after.verdict, a.latest) == (b.before.verdict, b.after.verdict, b.latest), a.ref
    assert one.driving == other.driving
    assert one.agreed == other.agreed and one.proposed == other.proposed


@pytest.mark.parametrize("unit", ["psi", "kPa", "bar", "MPa"])
def test_a_verdict_turns_at_one_place_in_every_unit(unit: str) -> None:
    """A thousandth of a psi from where the verdict turns, U above a lower limit and U below it, and right there."""
    record = demo_record("job.toml")
    limit = next(item.service_low for item in record.car.limits if item.check == "cut-in")
    u = next(gauge.u_si for gauge in appraise_blank(record).gauges if gauge.ref == "pressure-3000-a")
    readings = {"reading.cut-in.system-1.1.gauge_before": "pressure-3000-a"}
    for si, verdict in (
        (limit.si + 2 * u, "within limits"),
        (limit.si + 2 * u - 7, "too close to limit"),
        (limit.si - 2 * u, "out of limits"),
        (limit.si - 2 * u + 7, "too close to limit"),
    ):
        job = in_unit(WholeJob(record, {"reading.cut-in.system-1.1.before": si / UNITS["psi"].factor} | readings), unit)
        assert appraise_boxes(job.record, job.entries).standing_of["cut-in.system-1.1"].before.verdict == verdict


@steady(max_examples=60)
@given(whole_jobs())
def test_an_empty_box_is_never_good(job: WholeJob) -> None:
    found = appraise_boxes(job.record, job.entries)
    for standing in found.standings:
        for phase in PHASES:
            if f"reading.{standing.ref}.{phase}" not in job.entries:
                assert standing.found(phase).verdict not in GOOD, standing.ref
                assert standing.found(phase).drive not in GOOD, standing.ref
    for item in found.judged:
        for phase in PHASES:
            if not isinstance(job.entries.get(f"reading.{item.ref}.{phase}"), float):
                assert item.phases[phase].verdict not in (*GOOD, *BAD), item.ref


@pytest.mark.parametrize("name", DEMOS)
def test_all_readings_good_leave_no_finding(name: str) -> None:
    """What the tests below take something away from: a car that nothing keeps off the road."""
    found = appraise_boxes(sound_record(name), all_good(sound_record(name)).entries)
    assert found.driving.concerns == 0, [item.label for item in found.standings if item.concern]
    assert found.driving.made == found.driving.asked


@pytest.mark.parametrize("name", DEMOS)
def test_each_safety_reading_taken_away_keeps_the_car_off_the_road(name: str) -> None:
    """Emptied, without its gauge, from a gauge past its date, unreadable: each alone forbids driving."""
    record = sound_record(name)
    job = all_good(record)
    entries = readings_only(job)
    assert appraise_boxes(record, entries).driving.state not in (DO_NOT_DRIVE, ROAD_TEST)
    blank = appraise_blank(record)
    safety = [row for row in blank.plan.checks if row.check.safety and row.check.asked == "always"]
    assert len(safety) > 40
    old = {gauge.ref for gauge in blank.gauges if gauge.overdue_before}
    for row in safety[EVERY_SIXTH[name]]:
        key = f"reading.{row.ref}"
        wanted = (ROAD_TEST,) if row.check.road else (DO_NOT_DRIVE,)
        without = {k: v for k, v in entries.items() if k not in (f"{key}.before", f"{key}.after")}
        assert appraise_boxes(record, without).driving.state in wanted, row.ref
        if row.check.kind == "number":
            words = entries | {f"{key}.after": "2,150 psi", f"{key}.before": "2,150 psi"}
            assert appraise_boxes(record, words).driving.state in wanted, row.ref
        if row.check.measured:
            no_gauge = {k: v for k, v in entries.items() if not k.startswith(f"{key}.gauge_")}
            assert appraise_boxes(record, no_gauge).driving.state in wanted, row.ref
            overdue = [
                gauge.ref for gauge in blank.gauges if gauge.gauge.measures == row.check.quantity and gauge.ref in old
            ]
            for gauge in overdue:
                late = entries | {f"{key}.gauge_before": gauge, f"{key}.gauge_after": gauge}
                assert appraise_boxes(record, late).driving.state in wanted, row.ref


@pytest.mark.parametrize("read", [0.0, 15.0, 30.0])
@pytest.mark.parametrize("name", DEMOS)
def test_gas_that_is_lost_forbids_driving_though_cut_out_is_good(name: str, read: float) -> None:
    """An accumulator loses its gas unseen: cut-out is still reached."""
    record = sound_record(name)
    blank = appraise_blank(record)
    good = readings_only(all_good(record))
    for row in (row for row in blank.plan.checks if row.check.id == "precharge"):
        unit = record.shop.show.pressure
        lost = {f"reading.{row.ref}.{phase}": from_si(read * UNITS["psi"].factor, unit) for phase in PHASES}
        found = appraise_boxes(record, good | lost)
        standing = found.standing_of[row.ref]
        assert standing.after.verdict == standing.before.verdict == standing.after.drive == "out of limits"
        assert found.driving.state == DO_NOT_DRIVE
        assert all(item.good for item in found.standings if item.row.check.id == "cut-out")


@pytest.mark.parametrize("name", DEMOS)
def test_work_done_voids_what_was_read_before_it(name: str) -> None:
    """With a job done, the checks that it calls for are open until they are made again."""
    record = sound_record(name)
    good = readings_only(all_good(record))
    before_only = {key: value for key, value in good.items() if "after" not in key}
    assert appraise_boxes(record, before_only).driving.state not in (DO_NOT_DRIVE, ROAD_TEST)
    blank = appraise_blank(record)
    voids: dict[str, set[str]] = {}
    for line, row in blank.plan.voids:
        if row.check.safety:
            voids.setdefault(line.ref, set()).add(row.ref)
    assert len(voids) > 60
    for ref, wanted in list(voids.items())[EVERY_SIXTH[name]]:
        done = appraise_boxes(record, before_only | {f"line.{ref}.done": DONE})
        open_again = {item.ref for item in done.standings if item.concern or item.open}
        assert open_again == wanted, ref
        assert done.driving.state in (DO_NOT_DRIVE, ROAD_TEST)


@pytest.mark.parametrize("name", DEMOS)
def test_a_bad_reading_that_became_good_forbids_driving(name: str) -> None:
    record = sound_record(name)
    good = readings_only(all_good(record))
    bad = entries_of(record, "bad", Random(3))
    blank = appraise_blank(record)
    tried = 0
    for row in blank.plan.checks[EVERY_SIXTH[name]]:
        key = f"reading.{row.ref}"
        entries = good | {f"{key}.before": bad.get(f"{key}.before", "fault found")}
        standing = appraise_boxes(record, entries).standing_of[row.ref]
        if not (row.check.safety and standing.asked and standing.before.bad and standing.good):
            continue
        tried += 1
        assert standing.concern == 1, row.ref
        said = appraise_boxes(record, entries | {f"{key}.why": "repeat reading"}).standing_of[row.ref]
        assert said.concern == 1, f"{row.ref}: words clear nothing"
    assert tried >= 3


def test_finest_gauge_is_in_date() -> None:
    """What `all_good` rests on."""
    blank = appraise_blank(demo_record("job.toml"))
    measured = [row for row in blank.plan.checks if row.check.measured]
    by_ref = {gauge.ref: gauge for gauge in blank.gauges}
    assert all(by_ref[finest(row, blank)].overdue_before == 0 for row in measured)


def test_the_laws_have_something_to_say() -> None:
    """Generated visits share steps, include jobs in others and owe something, or the laws above would say nothing."""
    found = [
        appraise_boxes(
            record, {f"line.{line.ref}.decision": "authorized" for line in appraise_blank(record).plan.lines}
        )
        for record in visits()
    ]
    assert all(item.agreed["total"] > Decimal(0) for item in found)
    assert sum(any(step.needed_agreed > 1 for step in item.labor.shared) for item in found) > 5
    assert any(line.decided.included_agreed for item in found for line in item.labor.lines)
