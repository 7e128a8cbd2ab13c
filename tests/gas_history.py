"""Ten visits of one car whose accumulator loses gas at a known rate: real nitrogen, honest gauges, and the true crossing.

The gas is the judge's (`real_nitrogen.py`), the loss a known part of it a year; nothing of the program says what is true.
Readings go by the formulas of the program's own rows, as a visit keeps them. Rates, days and temperatures: ours.
"""

from __future__ import annotations

import datetime as dt
import functools
from dataclasses import dataclass
from random import Random

from estimator.car_history.series import all_series
from estimator.car_history.trend import Trend, trend
from estimator.records.visits import PastReading, PastVisit
from tests.limit_cars import demo
from tests.never_ground.honest_gauges import Gauges
from tests.real_nitrogen import density, pressure
from tests.row_road import row

ATMOSPHERE, YEAR = 101325.0, 365.25
FIRST_DAY = dt.date(2012, 5, 1)
REF = "precharge.accumulator-1"


@dataclass(frozen=True)
class Past:
    """Visits, the truth behind them, and the trend that the program makes of them."""

    visits: tuple[PastVisit, ...]
    level: float
    crosses: dt.date
    trend: Trend

    @property
    def held(self) -> bool:
        """Whether the band holds the true crossing."""
        found = self.trend.crossing("service", self.level)
        return (
            found is not None
            and found.earliest <= self.crosses
            and (found.latest is None or self.crosses <= found.latest)
        )


def true_gas(rate: float, years: float, proportional: bool) -> float:
    """The part of the gas that is left: a constant loss, as in use, or a part of what is there, as at rest."""
    return (1 - rate) ** years if proportional else 1 - rate * years


@functools.cache
def reference():
    record = demo()
    return record, next(item for item in record.car.accumulators if item.id == "accumulator-1")


def past(
    seed: int, visits: int = 10, *, same_gauge: bool = False, proportional: bool = False, level_psi: float = 741.1
):
    """A history drawn from a seed; the crossing lies one to fifteen years after the last visit.

    same_gauge: one gauge with one error for all years, else it was calibrated between visits.
    """
    record, item = reference()
    rng = Random(f"gas {seed} {visits}")
    level = level_psi * 6894.757293168
    full, warm = item.precharge.si + ATMOSPHERE, item.precharge_temperature.si
    left = density(level + ATMOSPHERE, warm) / density(full, warm)
    days, at = [], 0.0
    for _ in range(visits):
        days.append(at)
        at += rng.uniform(0.7, 1.3)
    crosses = days[-1] + rng.uniform(1.0, 15.0)
    rate = 1 - left ** (1 / crosses) if proportional else (1 - left) / crosses
    gauges = Gauges(record, rng)
    found = []
    for number, years in enumerate(days):
        if not same_gauge:
            gauges = Gauges(record, rng)
        ambient = rng.uniform(283.15, 303.15)
        gas = pressure(density(full, warm) * true_gas(rate, years, proportional), ambient) - ATMOSPHERE
        found.append(visit(number, years, *reading(gauges, gas, ambient + rng.uniform(-1.0, 1.0), warm)))
    day = FIRST_DAY + dt.timedelta(days=round(crosses * YEAR))
    made = next(item for item in all_series(record.car, found) if item.ref == REF)
    return Past(tuple(found), level, day, trend(made))


def reading(gauges: Gauges, gas: float, shell: float, warm: float) -> tuple[float, float]:
    """What is judged of a reading, and its standard uncertainty, by the rows of the program."""
    by_id = {item.id: item for item in gauges.record.shop.gauges}
    kit, meter = by_id["precharge-1500"], by_id["thermometer"]
    names = {"pressure": gauges.shows(kit, gas), "temperature": gauges.shows(meter, shell), "reference": warm}
    names |= {f"u_{name}": standard_u(gauge) for name, gauge in (("pressure", kit), ("temperature", meter))}
    parts = [row(f"reference_rows:u-{name}-phase", **names) for name in ("pressure", "temperature")]
    return row("reference_rows:reference-phase", **names), sum(part * part for part in parts) ** 0.5


def standard_u(gauge) -> float:
    """Class and resolution as rectangles (JCGM 100, 4.3.7 and F.2.2.1)."""
    half = float(gauge.accuracy_class) / 100 * gauge.span_si, gauge.resolution_si / 2
    return (sum(part * part for part in half) / 3) ** 0.5


def visit(number: int, years: float, si: float, u: float) -> PastVisit:
    identity = demo().car.car
    day = FIRST_DAY + dt.timedelta(days=round(years * YEAR))
    read = PastReading(
        check=REF, phase="before", value=f"{si / 6894.757:.0f}", unit="psi", verdict="within limits", si=si, u=u
    )
    return PastVisit(
        document=f"LY-{number + 1}",
        revision=1,
        car=identity.name,
        chassis=identity.chassis_number,
        car_id=identity.id,
        before=day,
        after=day,
        readings=(read,),
    )
