"""The road that a reading takes to its verdict: a car with a maker's limit, a gauge, boxes, appraised as any other.

The check is one whose limit a maker gives, in the unit of its box, so that any number of a source can stand for it.
"""

from __future__ import annotations

from decimal import Decimal
from math import sqrt

from car_strategies import demo_record
from pricing_road import filled_in

from estimator.limits.judging.distances import Phase
from estimator.quantities import Quantity
from estimator.records import CarLimit, Gauge

CHECK, UNIT, SPAN = "parking-brake-travel", "mm", 1000.0
LEAST = 1e-9  # a step that adds nothing to the uncertainty


def judged(reading: float, lower: float | None, upper: float | None, standard_uncertainty: float) -> Phase:
    """A reading in millimeters, taken with a gauge of this uncertainty, against a maker's service limit."""
    record = demo_record()
    limit = CarLimit(
        check=CHECK,
        service_low=None if lower is None else Quantity.of(lower, UNIT),
        service_high=None if upper is None else Quantity.of(upper, UNIT),
        source="invented for the test",
    )
    # A rectangular distribution over the class has u = a/√3.
    accuracy = Decimal(repr(standard_uncertainty * sqrt(3) / SPAN * 100))
    gauge = _gauge("length", accuracy, Quantity.of(SPAN, UNIT), Quantity.of(LEAST, UNIT))
    others = tuple(item for item in record.car.limits if item.check != CHECK)
    update = {
        "car": record.car.model_copy(update={"limits": (*others, limit)}),
        "shop": record.shop.model_copy(update={"gauges": (*record.shop.gauges, gauge)}),
    }
    entries = {f"reading.{CHECK}.car.before": float(reading), f"reading.{CHECK}.car.gauge_before": gauge.id}
    found = filled_in(record.model_copy(update=update), entries)
    return next(item for item in found.judged if item.row.check.id == CHECK).phases["before"]


def chance_within(reading: float, lower: float | None, upper: float | None, standard_uncertainty: float) -> float:
    """The chance that what was measured is within its limits, as the Limits tab shows it."""
    return float(judged(reading, lower, upper, standard_uncertainty).chance)


def verdict(reading: float, lower: float | None, upper: float | None, expanded: float) -> str:
    """The word for a reading whose expanded uncertainty (k = 2) this is."""
    return judged(reading, lower, upper, expanded / 2).service_word


def gauge_uncertainty(accuracy_percent: float, span_bar: float) -> float:
    """The standard uncertainty of a gauge of this class, in bar, as the Basis tab shows it."""
    record = demo_record()
    gauge = _gauge("pressure", Decimal(str(accuracy_percent)), Quantity.of(span_bar, "bar"), Quantity.of(LEAST, "bar"))
    shop = record.shop.model_copy(update={"gauges": (*record.shop.gauges, gauge)})
    found = filled_in(record.model_copy(update={"shop": shop}), {})
    return next(row.u_si for row in found.gauges if row.ref == gauge.id) / 1e5


def _gauge(measures: str, accuracy: Decimal, span: Quantity, step: Quantity) -> Gauge:
    like = next(gauge for gauge in demo_record().shop.gauges if gauge.measures == measures)
    return like.model_copy(
        update={"id": "of-the-case", "accuracy_class": accuracy, "span": span, "resolution": step, "usual": False}
    )
