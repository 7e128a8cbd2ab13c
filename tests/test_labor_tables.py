"""The labor tables hang together: columns, ids, words, places, and jobs among each other."""

import csv
import datetime as dt
import re
from collections import Counter
from decimal import Decimal
from typing import get_args

import pytest
from labor_csv import (
    CALLS,
    CAR,
    CHECKS,
    CHECKS_OF,
    JOB_PARTS,
    JOBS,
    PARTS,
    STEPS,
    STEPS_OF,
    TABLES,
    TURNED_CAR,
    places_of,
    read,
)  # fmt: skip

from estimator.places import LEADS_TO, Place
from estimator.records import CarsWith
from estimator.records.modes import MODES

COLUMNS = {
    "jobs": "job_id title place_kind rate safety supersedes either_or_group applies_if only_at note",
    "steps": "step_id title place_kind shared hours_low hours_likely hours_high basis",
    "job_steps": "job_id step_id",
    "parts": "part_id description unit unit_cost core_deposit condition fluid_family tax_class priced_on",
    "job_parts": "job_id part_id quantity",
    "calls": "check_id verdict job_id",
    "job_checks": "job_id check_id cures",
    "packages": "package job_id at check_id",
    "tests": "job_id check_id mode probability basis",
    "causes": "mode_id place_kind job_ids prior needs concerns factor basis",
}
ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")


# --- shape ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", COLUMNS)
def test_columns_stand_as_described(name):
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    assert header == COLUMNS[name].split()
    assert all(len(row) == len(header) for row in rows)
    assert all(field == field.strip() for row in rows for field in row)
    readme = (TABLES / "README.md").read_text(encoding="utf-8")
    section = readme.partition(f"## {name}.csv")[2].partition("\n## ")[0]
    assert [column for column in header if f"| {column} |" not in section] == []


def test_there_is_enough():
    assert len(JOBS) >= 24
    assert len(STEPS) >= 80
    assert len(PARTS) >= 70


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("jobs", ["job_id"]),
        ("steps", ["step_id"]),
        ("parts", ["part_id"]),
        ("job_steps", ["job_id", "step_id"]),
        ("job_parts", ["job_id", "part_id"]),
        ("calls", ["check_id", "verdict", "job_id"]),
        ("job_checks", ["job_id", "check_id"]),
        ("packages", ["package", "job_id", "at", "check_id"]),
        ("tests", ["job_id", "check_id", "mode"]),
        ("causes", ["mode_id", "place_kind"]),
    ],
)
def test_nothing_stands_twice(name, key):
    found = Counter(tuple(row[column] for column in key) for row in read(name))
    assert [row for row, times in found.items() if times > 1] == []


def test_titles_tell_jobs_and_steps_apart():
    for rows, column in ((JOBS, "title"), (STEPS, "title"), (PARTS, "description")):
        found = Counter(row[column] for row in rows.values())
        assert [title for title, times in found.items() if times > 1] == []


def test_ids_are_plain():
    for identifier in (*JOBS, *STEPS, *PARTS):
        assert ID.fullmatch(identifier) and len(identifier) <= 48, identifier


def test_every_reference_leads_to_a_row_and_every_row_is_used():
    assert {step for steps in STEPS_OF.values() for step in steps} == set(STEPS)
    assert {part for _, part, _ in JOB_PARTS} == set(PARTS)
    assert {job for job, _, _ in JOB_PARTS} <= set(JOBS)
    assert {job for _, _, job in CALLS} <= set(JOBS)
    assert {check for check, _, _ in CALLS} | {check for found in CHECKS_OF.values() for check in found} <= set(CHECKS)
    assert [job for job, steps in STEPS_OF.items() if not steps] == []


def test_fields_hold_allowed_words():
    for job in JOBS.values():
        assert job["place_kind"] in LEADS_TO
        assert job["rate"] in ("hydraulic", "general", "diagnostic")
        assert job["safety"] in ("yes", "no")
        assert job["applies_if"] in get_args(CarsWith)
        assert job["only_at"] in ("", "front", "rear")
        assert not job["only_at"] or job["place_kind"] in ("axle", "wheel", "caliper")
    for step in STEPS.values():
        assert step["place_kind"] in LEADS_TO
        assert step["shared"] in ("once a visit", "each job")
        assert step["basis"] in ("invented for the demo", "common practice, no source")
    for part in PARTS.values():
        assert part["unit"] in ("each", "L", "m", "set", "kit")
        assert part["condition"] in ("new", "rebuilt", "used")
        assert part["fluid_family"] in ("glycol", "mineral", "silicone", "any")
        assert part["tax_class"] == "parts"


def test_hours_and_prices_are_numbers_in_order():
    for step in STEPS.values():
        low, likely, high = (Decimal(step[f"hours_{name}"]) for name in ("low", "likely", "high"))
        assert 0 < low <= likely <= high <= 8, step
    for part in PARTS.values():
        assert re.fullmatch(r"\d+\.\d\d", part["unit_cost"]) and Decimal(part["unit_cost"]) > 0
        assert re.fullmatch(r"\d+\.\d\d", part["core_deposit"])
        assert dt.date(2026, 1, 1) <= dt.date.fromisoformat(part["priced_on"]) <= dt.date(2026, 12, 31)
    for _, _, quantity in JOB_PARTS:
        assert re.fullmatch(r"\d+(\.\d+)?", quantity) and Decimal(quantity) > 0


# --- places -----------------------------------------------------------------------------------------------------------


def test_every_step_and_every_void_reading_has_a_place():
    """From some place of its job on a full car; a rule that reaches nowhere says nothing."""
    for job_id in JOBS:
        kinds = [(step, STEPS[step]["place_kind"]) for step in STEPS_OF[job_id]]
        kinds += [(check, CHECKS[check].place_kind) for check in CHECKS_OF[job_id]]
        for name, kind in kinds:
            assert any(car.at(start, kind) for car in (CAR, TURNED_CAR) for start in places_of(job_id, car)), (
                job_id,
                name,
            )


def test_every_call_lands():
    for check_id, _, job_id in CALLS:
        starts = CAR.of_kind(CHECKS[check_id].place_kind)
        landings = {place for start in starts for place in CAR.at(start, JOBS[job_id]["place_kind"])}
        assert landings & set(places_of(job_id)), (check_id, job_id)


def test_every_cause_is_repaired_somewhere():
    """Each job of a cause stands at a place to which that of the cause leads; the program knows every cause, and the table all of
    them; readings that are wrong and a slow idle are repaired by no job."""
    rows = read("causes")
    assert {(row["mode_id"], row["place_kind"]) for row in rows} == set(MODES)
    for row in rows:
        starts = CAR.of_kind(row["place_kind"])
        for job_id in row["job_ids"].split():
            landings = {place for start in starts for place in CAR.at(start, JOBS[job_id]["place_kind"])}
            assert landings & set(places_of(job_id)), (row["mode_id"], job_id)
        assert row["basis"] == "invented for the demo"
    without = {row["mode_id"] for row in rows if not row["job_ids"]}
    assert without == {"gauge-off", "readings-swapped", "counts-swapped", "slow-idle"}


def test_worn_pads_call_the_pads_of_their_own_axle():
    called = [job for check, verdict, job in CALLS if (check, verdict) == ("pad-thickness", "out of limits")]
    for wheel, wanted in (("front-left", "front-pads"), ("rear-right", "rear-pads")):
        axles = CAR.at(Place("wheel", wheel), "axle")
        assert [job for job in called if set(axles) & set(places_of(job))] == [wanted]


# --- jobs among each other --------------------------------------------------------------------------------------------


def test_a_group_offers_a_choice_at_one_kind_of_place():
    groups = {}
    for job in JOBS.values():
        groups.setdefault(job["either_or_group"], []).append(job)
    groups.pop("")
    assert {"accumulator-gas", "pump", "charging-valve", "distribution-valve"} <= set(groups)
    for name, jobs in groups.items():
        assert len(jobs) >= 2, name
        assert len({(job["place_kind"], job["only_at"], job["applies_if"]) for job in jobs}) == 1, name


def test_a_job_includes_what_it_supersedes():
    """What the included job makes void, the including one makes void too; and nothing goes round in a circle."""
    for job_id, job in JOBS.items():
        for other in job["supersedes"].split():
            assert other in JOBS and other != job_id
            assert job_id not in JOBS[other]["supersedes"].split()
            assert JOBS[other]["place_kind"] in LEADS_TO[job["place_kind"]]
            missing = set(CHECKS_OF[other]) - set(CHECKS_OF[job_id])
            assert not missing, (job_id, other, missing)
    assert {"bleed-system", "bleed-pedal-circuit"} <= set(JOBS["complete-fluid-renewal"]["supersedes"].split())


def test_no_step_of_a_bleed_is_missing_from_the_complete_renewal():
    renewal = set(STEPS_OF["complete-fluid-renewal"])
    for other in JOBS["complete-fluid-renewal"]["supersedes"].split():
        assert set(STEPS_OF[other]) <= renewal


def test_both_variants_have_their_own_jobs():
    assert [job for job, row in JOBS.items() if row["applies_if"] == "variant B"] == ["elastomer-buffer"]
    for job, row in JOBS.items():
        if row["place_kind"] == "pedal-circuit":
            assert row["applies_if"] == "variant A", job


# --- packages ---------------------------------------------------------------------------------------------------------


def test_packages_are_those_that_a_counter_is_asked_for_and_hold_jobs_and_checks_that_exist():
    rows = read("packages")
    assert list(dict.fromkeys(row["package"] for row in rows)) == [
        "brake system overhaul",
        "recommissioning after long storage",
        "annual service",
        "pre-purchase inspection",
    ]
    for row in rows:
        assert (row["job_id"] in JOBS and not row["check_id"]) or (row["check_id"] in CHECKS and not row["job_id"]), row
        assert row["at"] in ("", "all", "car", "front-axle", "rear-axle"), row


def test_an_overhaul_and_a_recommissioning_renew_the_fluid_and_end_on_the_road():
    held = {}
    for row in read("packages"):
        held.setdefault(row["package"], []).append(row["job_id"])
    for name in ("brake system overhaul", "recommissioning after long storage"):
        assert {"complete-fluid-renewal", "final-pressure-test", "road-test"} <= set(held[name])
    assert not {"complete-fluid-renewal", "accumulator-exchange"} & set(held["pre-purchase inspection"])
