"""The gauge of each reading: the one beside its box, or the usual one of its band."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from estimator.boxes.entries import ReadingBoxes, Rows, UsualBoxes
from estimator.boxes.keys import CheckRef
from estimator.facts.stages import band_of
from estimator.limits.judging.check_rows import CheckRow
from estimator.records import JobRecord


@dataclass(frozen=True)
class UsualGauge:
    """A gauge that several checks of a band share; `ref` is the first of them, `preset` what stands in its box first."""

    ref: str
    quantity: str
    preset: str
    rows: tuple[CheckRow, ...]

    @property
    def label(self) -> str:
        return self.ref


def usual_gauges(rows: Iterable[CheckRow], record: JobRecord) -> tuple[UsualGauge, ...]:
    """Return the shared gauges of all bands, in the order of the rows: one for each quantity and preset of a band."""
    groups: dict[tuple[tuple[str, ...], str, str], list[CheckRow]] = {}
    for row in rows:
        if row.check.measured:
            key = (band_of()[row.check.id], row.check.quantity, _preset(row, record))
            groups.setdefault(key, []).append(row)
    return tuple(
        UsualGauge(mine[0].check.id, quantity, preset, tuple(mine)) for (_, quantity, preset), mine in groups.items()
    )


def _preset(row: CheckRow, record: JobRecord) -> str:
    """The gauge that the shop uses for a check, else its usual one for the quantity."""
    gauges = record.shop.gauges
    own = (gauge.id for gauge in gauges if row.check.id in gauge.usual_for)
    usual = (gauge.id for gauge in gauges if gauge.usual and gauge.measures == row.check.quantity)
    return next(own, "") or next(usual, "")


def with_gauges(
    readings: Mapping[CheckRef, ReadingBoxes], usual: Mapping[str, UsualBoxes], shared: Iterable[UsualGauge]
) -> Rows[CheckRef, ReadingBoxes]:
    """Return the boxes of all checks, each with the gauge that gave it where its own box is empty."""
    found = Rows(ReadingBoxes, dict(readings))
    for item in shared:
        of_band = usual[item.ref]
        for row in item.rows:
            mine = found[row.ref]
            found[row.ref] = replace(
                mine,
                gauge_before=mine.gauge_before or of_band.before,
                gauge_after=mine.gauge_after or of_band.after,
            )
    return found
