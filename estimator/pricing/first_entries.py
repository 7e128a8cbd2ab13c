"""What stands in the boxes of a workbook as it is drafted: defaults, and what job.toml asks for."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.boxes.entries import ChangeBoxes, Entries, ExtraPartBoxes, LineBoxes, Rows, SubletBoxes, UsualBoxes
from estimator.boxes.keys import line_ref, part_ref
from estimator.limits.judging.usual_gauges import usual_gauges
from estimator.pricing.decisions import UNDECIDED
from estimator.pricing.plan import plan
from estimator.records import JobRecord


def first_entries(record: JobRecord) -> Entries:
    """The entries of a fresh workbook."""
    planned = plan(record)
    return Entries(
        usual=Rows(
            UsualBoxes,
            {item.ref: UsualBoxes(item.preset, item.preset) for item in usual_gauges(planned.checks, record)},
        ),
        lines=Rows(LineBoxes, {line.ref: LineBoxes(decision=UNDECIDED) for line in planned.lines}),
        changes=Rows(ChangeBoxes, dict(_changes(record))),
        extra_parts=Rows(ExtraPartBoxes, dict(_extra_parts(record))),
        sublet=Rows(SubletBoxes, dict(_sublet(record))),
    )


def _changes(record: JobRecord) -> Iterator[tuple[str, ChangeBoxes]]:
    for number, item in enumerate(record.job.substitutes, 1):
        yield (
            str(number),
            ChangeBoxes(
                part=part_ref(item.part, line_ref(item.job, item.at)),
                substitute=item.description,
                substitute_cost=float(item.unit_cost),
                substitute_family=item.fluid_family,
                compared=item.compared,
                approved_by=item.approved_by,
            ),
        )


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
