"""What stands in the boxes of a workbook as it is drafted: defaults, and what job.toml asks for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from estimator.boxes.entries import (
    DisposalBoxes,
    Entries,
    ExtraPartBoxes,
    LineBoxes,
    PartBoxes,
    ReadingBoxes,
    Rows,
    SubletBoxes,
)
from estimator.boxes.keys import CheckRef, LineRef, PartRef, line_ref, part_ref
from estimator.pricing.decisions import UNDECIDED
from estimator.pricing.disposal import drained_liters
from estimator.pricing.plan import Plan, plan
from estimator.records import JobRecord


def first_entries(record: JobRecord) -> Entries:
    """The entries of a fresh workbook."""
    planned = plan(record)
    drained = drained_liters(planned, asked_lines(planned), record.car)
    return Entries(
        readings=Rows(ReadingBoxes, _gauges(record, planned)),
        lines=Rows(LineBoxes, {line.ref: LineBoxes(decision=UNDECIDED) for line in planned.lines}),
        parts=Rows(PartBoxes, _parts(record, planned)),
        extra_parts=Rows(ExtraPartBoxes, dict(_extra_parts(record))),
        sublet=Rows(SubletBoxes, dict(_sublet(record))),
        disposal=Rows(DisposalBoxes, {"drained": DisposalBoxes(float(drained))} if drained else {}),
    )


def asked_lines(planned: Plan) -> set[LineRef]:
    """The requested lines that no other requested line includes."""
    asked = {line.ref for line in planned.lines if line.asked}
    return asked - {below.ref for above, below in planned.supersedes if above.ref in asked}


def _gauges(record: JobRecord, planned: Plan) -> dict[CheckRef, ReadingBoxes]:
    """The usual gauge of each check that one gives."""
    usual = {gauge.measures: gauge.id for gauge in reversed(record.shop.gauges) if gauge.usual}
    found = {}
    for row in planned.checks:
        quantity = row.check.quantity
        if row.check.measured and quantity in usual:
            found[row.ref] = ReadingBoxes(gauge_before=usual[quantity], gauge_after=usual[quantity])
    return found


def _parts(record: JobRecord, planned: Plan) -> dict[PartRef, PartBoxes]:
    found = {part.ref: PartBoxes(quantity=float(part.quantity)) for part in planned.parts}
    for item in record.job.substitutes:
        ref = part_ref(item.part, line_ref(item.job, item.at))
        found[ref] = replace(
            found.get(ref, PartBoxes()),
            substitute=item.description,
            substitute_cost=float(item.unit_cost),
            substitute_family=item.fluid_family,
            compared=item.compared,
            approved_by=item.approved_by,
        )
    return found


def _extra_parts(record: JobRecord) -> Iterator[tuple[str, ExtraPartBoxes]]:
    for number, item in enumerate(record.job.extra_parts, 1):
        yield (
            str(number),
            ExtraPartBoxes(
                description=item.description,
                unit=item.unit,
                condition=item.condition,
                family=item.fluid_family,
                quantity=float(item.quantity),
                cost=float(item.unit_cost),
                deposit=float(item.core_deposit),
                decision=UNDECIDED,
            ),
        )


def _sublet(record: JobRecord) -> Iterator[tuple[str, SubletBoxes]]:
    for number, item in enumerate(record.job.sublet, 1):
        yield str(number), SubletBoxes(item.description, item.supplier, float(item.amount), UNDECIDED)
