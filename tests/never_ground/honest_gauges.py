"""The shop's gauges as they read: each with an error of its own within its class, in whole steps."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from estimator.limits.judging.check_rows import CheckRow
from estimator.quantities import UNITS
from estimator.records import Gauge, JobRecord

GAUGE_OF = {
    "precharge": "precharge-1500",
    "fluid-boiling-point": "boiling-tester",
    "rotor-thickness": "micrometer",
    "hub-play": "dial-indicator",
    "rotor-run-out": "dial-indicator",
}


@dataclass
class Gauges:
    """The shop's gauges on one day: each has an error of its own within its class, and shows whole steps."""

    record: JobRecord
    rng: Random | None = None
    errors: dict[str, float] = field(default_factory=dict)

    def of(self, row: CheckRow) -> Gauge | None:
        wanted = GAUGE_OF.get(row.check.id)
        usual = (item for item in self.record.shop.gauges if item.usual and item.measures == row.check.quantity)
        return next((item for item in self.record.shop.gauges if item.id == wanted), None) or next(usual, None)

    def shows(self, gauge: Gauge, si: float) -> float:
        """SI in, SI out."""
        if self.rng is None:
            return si
        if gauge.id not in self.errors:
            most = float(gauge.accuracy_class) / 100 * gauge.span_si
            self.errors[gauge.id] = self.rng.uniform(-most, most)
        zero = UNITS[self.unit(gauge)].offset
        steps = round((si - zero + self.errors[gauge.id]) / gauge.resolution_si)
        return steps * gauge.resolution_si + zero

    def unit(self, gauge: Gauge) -> str:
        return str(getattr(self.record.shop.show, gauge.measures))
