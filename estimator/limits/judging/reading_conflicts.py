"""Whether readings can all be true: what each of them implies for the others, within their uncertainties.

A precharge, with the pressures read, foretells how many applications reach the lamp and how long charging takes; a
loss in the hold foretells how much fluid may run into the pan. Where a reading lies outside what another foretells,
one of the two is wrong, or something else is: an accumulator full of fluid, air, heat.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from estimator.boxes import keys
from estimator.boxes.keys import CheckRef, check_ref
from estimator.errors import DomainError
from estimator.hydraulics.accumulator import fast_usable_volume, slow_usable_volume
from estimator.hydraulics.charge import charge_volume
from estimator.hydraulics.domain import Band
from estimator.hydraulics.gas import ATMOSPHERE_PA, precharge_at_temperature
from estimator.hydraulics.reserve import inferred_high_precharge, inferred_precharge, precharge_from_charge_volume
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.working import Workings
from estimator.quantities import UNITS, Quantity, from_si
from estimator.records import Accumulator, JobRecord

# Allowances of ours, no source: what one application takes, and what a pump delivers, differ so much from car.toml.
APPLICATION_SHARE = 0.25
DELIVERY_SHARE = 0.15


@dataclass(frozen=True)
class Disagreement:
    """Two readings that can't both be true: their keys, and the sentence that names both."""

    keys: tuple[str, str]
    what: str


@dataclass(frozen=True)
class _Store:
    """An accumulator of which car.toml says enough."""

    id: str
    volume: Quantity
    precharge_temperature: Quantity


@dataclass(frozen=True)
class _System:
    """The readings of one system in one phase, absolute and in SI, each as a band of its uncertainty."""

    id: str
    phase: str
    precharges: tuple[tuple[_Store, Band], ...]
    temperature_k: float
    cut_out: Band
    lamp: Band


def disagreements(record: JobRecord, workings: Workings, judged: Mapping[CheckRef, Judged]) -> Iterator[Disagreement]:
    """Every pair of readings of a phase that can't both be true. `judged` is by check reference."""
    for phase in PHASES:
        for system in record.car.systems:
            found = _readings(record, judged, system.id, phase)
            if found is None:
                continue
            yield from _applications(record, workings, judged, found)
            yield from _charge_time(record, workings, judged, found)
        yield from _leakage(record, judged, phase)


def _band(judged: Mapping[CheckRef, Judged], ref: CheckRef, phase: str, shift: float = 0.0) -> Band | None:
    """A reading as a band in SI, `shift` added; None where it or its uncertainty is missing."""
    item = judged.get(ref)
    if item is None:
        return None
    found = item.phases[phase]
    if isinstance(found.judged, str) or isinstance(found.u, str):
        return None
    return Band(found.judged - found.u + shift, found.judged + found.u + shift)


def _readings(record: JobRecord, judged: Mapping[CheckRef, Judged], system: str, phase: str) -> _System | None:
    """What is needed to foretell anything: every precharge of the system, and cut-out and lamp, read or else given."""
    stores = [_store(item) for item in record.car.accumulators if item.system == system]
    precharges = [
        (store, Band(max(band.low, 0.0), band.high))
        for store in stores
        if store and (band := _band(judged, check_ref("precharge", store.id), phase, ATMOSPHERE_PA))
    ]
    given = next(item for item in record.car.systems if item.id == system)
    cut_outs = [_band(judged, check_ref("cut-out", system, number), phase, ATMOSPHERE_PA) for number in (1, 2, 3)]
    cut_out = _all_of([band for band in cut_outs if band is not None]) or _exactly(given.cut_out)
    lamp = _band(judged, check_ref("lamp-pressure", system), phase, ATMOSPHERE_PA) or _exactly(given.lamp)
    if not stores or len(precharges) < len(stores) or cut_out is None or lamp is None:
        return None
    first = precharges[0][0]
    warm = _band(judged, check_ref("gas-temperature", first.id), phase)
    return _System(
        id=system,
        phase=phase,
        precharges=tuple(precharges),
        temperature_k=(warm.low + warm.high) / 2 if warm else first.precharge_temperature.si,
        cut_out=cut_out,
        lamp=lamp,
    )


def _store(item: Accumulator) -> _Store | None:
    if item.volume is None or item.precharge_temperature is None:
        return None
    return _Store(item.id, item.volume, item.precharge_temperature)


def _all_of(bands: list[Band]) -> Band | None:
    return Band(min(band.low for band in bands), max(band.high for band in bands)) if bands else None


def _exactly(setting: Quantity | None) -> Band | None:
    """A setting that car.toml gives as a band without width, absolute."""
    return None if setting is None else Band(setting.si + ATMOSPHERE_PA, setting.si + ATMOSPHERE_PA)


def usable_between(system: _System) -> Band:
    """The least and the most fluid between cut-out and lamp that the precharges, as read, leave room for [m³].

    Fast at the least window, slow at the widest, over both ends and the middle of each precharge's band: the usable
    volume first rises with the precharge, then falls. Raises DomainError outside the range of the formulas.
    """
    least = most = 0.0
    for accumulator, band in system.precharges:
        volume = accumulator.volume.si
        reference = accumulator.precharge_temperature.si
        ends = [
            precharge_at_temperature(value, reference, system.temperature_k)
            for value in (band.low, (band.low + band.high) / 2, band.high)
        ]
        narrow, wide = (system.lamp.high, system.cut_out.low), (system.lamp.low, system.cut_out.high)
        least += min(fast_usable_volume(volume, end, *narrow, system.temperature_k) for end in ends)
        most += max(
            max(slow_usable_volume(volume, end, *wide), fast_usable_volume(volume, end, *wide, system.temperature_k))
            for end in ends
        )
    return Band(least, most)


def _applications(
    record: JobRecord, workings: Workings, judged: Mapping[CheckRef, Judged], system: _System
) -> Iterator[Disagreement]:
    ref = check_ref("applications", system.id)
    counted = _band(judged, ref, system.phase)
    row = workings.rows.get(f"{system.id}.application")
    if counted is None or row is None or isinstance(row.si, str) or row.si <= 0:
        return
    try:
        usable = usable_between(system)
    except DomainError:
        return
    least = math.floor(usable.low / (row.si * (1 + APPLICATION_SHARE)))
    most = math.floor(usable.high / (row.si * (1 - APPLICATION_SHARE)))
    if counted.high < least or counted.low > most:
        count = (counted.low + counted.high) / 2
        drawn = Band(counted.low * row.si * (1 - APPLICATION_SHARE), counted.high * row.si * (1 + APPLICATION_SHARE))
        yield Disagreement(
            (keys.reading(ref, system.phase), _precharge_key(system)),
            f"{_words(system.id)}, {system.phase} work: applications counted: {count:g}; the precharge read, "
            f"{_precharges(record, system)}, gives {least} to {most}: one of the two is wrong, or an accumulator is full of "
            f"fluid or its gas is lost{_count_fits(record, system, drawn)}",
        )


def _count_fits(record: JobRecord, system: _System, drawn: Band) -> str:
    """The precharge that the fluid drawn between cut-out and lamp betrays, in words; "" where it betrays none."""
    if len(system.precharges) != 1:
        return ""
    volume = system.precharges[0][0].volume.si
    try:
        least = inferred_precharge(volume, drawn.low, system.lamp.low, system.cut_out.high, system.temperature_k)
        most = inferred_precharge(volume, drawn.high, system.lamp.high, system.cut_out.low, system.temperature_k)
        high = inferred_high_precharge(
            volume, drawn.high, system.lamp.low, system.cut_out.low, system.temperature_k
        ).low
        top = inferred_high_precharge(
            volume, drawn.low, system.lamp.low, system.cut_out.high, system.temperature_k
        ).high
    except DomainError:
        return ""
    fits = [_gauge_words(record, least.low, most.high), _gauge_words(record, high, top)]
    return f"; the count fits a precharge of {' or, far too high, of '.join(fits)}"


def _gauge_words(record: JobRecord, low: float, high: float) -> str:
    unit = record.shop.show.pressure
    ends = [max(0.0, from_si(absolute - ATMOSPHERE_PA, unit)) for absolute in (low, high)]
    return f"{ends[0]:.{UNITS[unit].decimals}f} to {ends[1]:.{UNITS[unit].decimals}f} {unit}"


def _charge_time(
    record: JobRecord, workings: Workings, judged: Mapping[CheckRef, Judged], system: _System
) -> Iterator[Disagreement]:
    ref = check_ref("charge-time", system.id)
    timed = _band(judged, ref, system.phase)
    row = workings.rows.get(f"{system.id}.net-flow")
    if timed is None or row is None or isinstance(row.si, str) or row.si <= 0:
        return
    least = most = 0.0
    try:
        for accumulator, band in system.precharges:
            volume, kelvin = accumulator.volume.si, accumulator.precharge_temperature.si
            least += charge_volume(volume, min(band.high, system.cut_out.low), system.cut_out.low, kelvin).low
            most += charge_volume(volume, min(band.low, system.cut_out.high), system.cut_out.high, kelvin).high
    except DomainError:
        return
    low, high = least / (row.si * (1 + DELIVERY_SHARE)), most / (row.si * (1 - DELIVERY_SHARE))
    if timed.high < low or timed.low > high:
        seconds = (timed.low + timed.high) / 2
        taken = Band(timed.low * row.si * (1 - DELIVERY_SHARE), timed.high * row.si * (1 + DELIVERY_SHARE))
        yield Disagreement(
            (keys.reading(ref, system.phase), _precharge_key(system)),
            f"{_words(system.id)}, {system.phase} work: charge time {seconds:.0f} s; the precharge read, "
            f"{_precharges(record, system)}, gives {low:.0f} to {high:.0f} s with the pump of car.toml: one of the two is "
            f"wrong, the pump is weak, or the accumulator doesn't take up what it should{_time_fits(record, system, taken)}",
        )


def _time_fits(record: JobRecord, system: _System, taken: Band) -> str:
    """The precharge that the fluid taken up to cut-out betrays, in words; "" where it betrays none."""
    if len(system.precharges) != 1:
        return ""
    accumulator = system.precharges[0][0]
    volume, kelvin = accumulator.volume.si, accumulator.precharge_temperature.si
    try:
        least = precharge_from_charge_volume(volume, taken.high, system.cut_out.low, kelvin)
        most = precharge_from_charge_volume(volume, taken.low, system.cut_out.high, kelvin)
    except DomainError:
        return ""
    return f"; the time fits a precharge of {_gauge_words(record, least.low, most.high)}"


def _leakage(record: JobRecord, judged: Mapping[CheckRef, Judged], phase: str) -> Iterator[Disagreement]:
    """What runs into the pan in 30 min can't be more than the charged systems lose in that time."""
    pan = check_ref("collected-leakage", "car")
    collected = _band(judged, pan, phase)
    if collected is None:
        return
    lost = 0.0
    for system in record.car.systems:
        loss = _band(judged, check_ref("hold", system.id), phase)
        start = _band(judged, check_ref("hold-start", system.id), phase, ATMOSPHERE_PA)
        found = _readings(record, judged, system.id, phase)
        if loss is None or start is None or found is None:
            return
        try:
            for accumulator, band in found.precharges:
                lower = start.high - max(loss.high, 0.0)
                lost += max(
                    slow_usable_volume(accumulator.volume.si, end, lower, start.high) for end in (band.low, band.high)
                )
        except DomainError:
            return
    if collected.low > lost:
        unit = record.shop.show.volume
        yield Disagreement(
            (keys.reading(pan, phase), keys.reading(check_ref("hold", record.car.systems[0].id), phase)),
            f"{phase} work: {from_si((collected.low + collected.high) / 2, unit):.3g} {unit} ran into the pan in 30 min; the "
            f"pressure lost in the hold accounts for at most {from_si(lost, unit):.3g} {unit}: one of the two is wrong, or "
            "the pan was wet",
        )


def _precharge_key(system: _System) -> str:
    return keys.reading(check_ref("precharge", system.precharges[0][0].id), system.phase)


def _precharges(record: JobRecord, system: _System) -> str:
    unit = record.shop.show.pressure
    middle = [from_si((band.low + band.high) / 2 - ATMOSPHERE_PA, unit) for _, band in system.precharges]
    return " and ".join(f"{value:.0f} {unit}" for value in middle)


def _words(system: str) -> str:
    return system.replace("-", " ")
