"""What stands in the boxes of a workbook as it is drafted: defaults, and what job.toml asks for."""

from __future__ import annotations

from estimator.pricing.decisions import UNDECIDED
from estimator.pricing.plan import plan
from estimator.records import EntryValue, JobRecord


def first_entries(record: JobRecord) -> dict[str, EntryValue]:
    """The entries of a fresh workbook, by key."""
    planned = plan(record)
    entries: dict[str, EntryValue] = {}
    usual = {gauge.measures: gauge.id for gauge in reversed(record.shop.gauges) if gauge.usual}
    for row in planned.checks:
        if row.check.measured and row.check.quantity in usual:
            for phase in ("before", "after"):
                entries[f"reading.{row.ref}.gauge_{phase}"] = usual[row.check.quantity]
    for line in planned.lines:
        entries[f"line.{line.ref}.decision"] = UNDECIDED
    for part in planned.parts:
        entries[f"part.{part.ref}.quantity"] = float(part.quantity)
    job = record.job
    for number, extra in enumerate(job.extra_parts, 1):
        entries |= {
            f"extra_part.{number}.description": extra.description,
            f"extra_part.{number}.unit": extra.unit,
            f"extra_part.{number}.condition": extra.condition,
            f"extra_part.{number}.family": extra.fluid_family,
            f"extra_part.{number}.quantity": float(extra.quantity),
            f"extra_part.{number}.cost": float(extra.unit_cost),
            f"extra_part.{number}.deposit": float(extra.core_deposit),
            f"extra_part.{number}.decision": UNDECIDED,
        }
    for number, item in enumerate(job.sublet, 1):
        entries |= {
            f"sublet.{number}.description": item.description,
            f"sublet.{number}.supplier": item.supplier,
            f"sublet.{number}.charge": float(item.amount),
            f"sublet.{number}.decision": UNDECIDED,
        }
    for item in job.substitutes:
        key = f"part.{item.part}.{item.job}.{item.at}"
        entries |= {
            f"{key}.substitute": item.description,
            f"{key}.substitute_cost": float(item.unit_cost),
            f"{key}.substitute_family": item.fluid_family,
            f"{key}.compared": item.compared,
        }
        if item.approved_by:
            entries[f"{key}.approved_by"] = item.approved_by
    return entries
