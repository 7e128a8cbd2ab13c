"""Appraisals for the tests of the letter: the demo's car at each stage, and others bent in one way."""

import functools
from pathlib import Path

from boxes_by_key import appraise_boxes, first_boxes

from estimator.demo.start_files import demo_file
from estimator.intake.entries_csv import load_entries
from estimator.intake.labor_tables import packaged_tables
from estimator.intake.load_job import load_job
from estimator.letters.render import letter_html
from estimator.readback.apply_entries import apply_entries
from estimator.workbook.compose import compose

FILES = Path(__file__).parents[1] / "estimator" / "demo" / "files"
STAGES = ("before", "decisions", "after", "road")
NAMES = ("drafted", *STAGES, "mineral")
# Text such as people can put into any field, with what a page must not make of it.
HOSTILE = (
    "<script>alert(1)</script>",
    "</style></title><img src=x onerror=alert(1)>",
    "{{ 7*7 }}{% raw %}",
    "\"'&amp;&#60; -- ]]> <!--",
    "שלום \u202e abc \u202d עולם",
    "e\u0301" * 3 + "a" + "\u0321\u0353\u0332" * 20,
    "W" * 300,
    "two\nlines",
)


@functools.cache
def entries_at(stage):
    """The record of the demo's main job, and its entries after a stage."""
    assert demo_file("before.csv")
    record = load_job(FILES / "job.toml", packaged_tables())
    entries = first_boxes(record)
    boxes = list(compose(appraise_boxes(record, entries)).boxes())
    for name in () if stage == "drafted" else STAGES[: STAGES.index(stage) + 1]:
        entries = apply_entries(load_entries(FILES / f"{name}.csv"), boxes, entries)
    return record, entries


@functools.cache
def appraisal_at(name):
    if name == "mineral":
        record = load_job(FILES / "job_mineral.toml", packaged_tables())
        return appraise_boxes(record, first_boxes(record))
    return appraise_boxes(*entries_at(name))


@functools.cache
def letter_at(name):
    return letter_html(appraisal_at(name))


def bent(stage, changes):
    """The appraisal of a stage with some entries changed; None empties a box."""
    record, entries = entries_at(stage)
    entries = {**entries, **changes}
    return appraise_boxes(record, {key: value for key, value in entries.items() if value is not None})


def hostile_appraisal(words=HOSTILE):
    """The last stage before work with text of every kind wherever people write."""
    record, entries = entries_at("before")
    said = list(words)
    job = record.job.model_copy(
        update={
            "customer": record.job.customer.model_copy(update={"name": said[0], "address": tuple(said)}),
            "complaint": " ".join(said),
            "odometer": said[3],
            "customer_notes": tuple(said),
        }
    )
    identity = record.shop.shop.model_copy(update={"name": said[1], "address": tuple(said), "tax_id": said[4]})
    shop = record.shop.model_copy(
        update={
            "shop": identity,
            "estimate": record.shop.estimate.model_copy(update={"terms": tuple(said)}),
            "tax": record.shop.tax.model_copy(update={"source": said[2]}),
            "consent": record.shop.consent.model_copy(update={"source": said[0]}),
        }
    )
    jobs = tuple(row.model_copy(update={"title": said[n % len(said)]}) for n, row in enumerate(record.tables.jobs))
    parts = tuple(
        row.model_copy(update={"description": said[n % len(said)]}) for n, row in enumerate(record.tables.parts)
    )
    tables = record.tables.model_copy(update={"jobs": jobs, "parts": parts})
    car = record.car.model_copy(update={"car": record.car.car.model_copy(update={"name": said[5], "plate": said[0]})})
    changes = {
        "visit.before.by": said[0],
        "reading.accumulator-serial.accumulator-1.before": said[1],
        "extra_part.1.description": said[6],
        "sublet.1.description": said[4],
        "sublet.1.supplier": said[0],
        "part.front-pad-set.front-pads.front-axle.substitute": said[1],
        "part.front-pad-set.front-pads.front-axle.compared": said[0],
        "part.front-pad-set.front-pads.front-axle.approved_by": said[2],
        "consent.1.stage": "diagnosis",
        "consent.1.amount": 12.0,
        "consent.1.date": job.date,
        "consent.1.who": said[0],
        "consent.1.way": "in person",
        "consent.1.taken_by": said[4],
    }
    bent_record = record.model_copy(update={"job": job, "shop": shop, "tables": tables, "car": car})
    return appraise_boxes(bent_record, {**entries, **changes})
