"""`estimator limits`: the limits of a car with their working and source, so that each can be redone by hand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import CAUTION, figure, out, out_json, say, wrapped
from estimator.errors import in_one_line
from estimator.quantities import limits_in_words

if TYPE_CHECKING:
    from estimator.limits.catalog.limit_set import LimitSet
    from estimator.limits.judging.judging import Limits
    from estimator.limits.working import WorkingRow

EXAMPLES = ("estimator limits demo/car.toml", "estimator limits demo/car.toml --json")
_SIDES = (
    ("service limit", "service_low", "service_high"),
    ("do-not-drive limit", "danger_low", "danger_high"),
)


def limits(
    car: Annotated[Path, typer.Argument(metavar="CAR.toml", help="The car.")],
    shop: Annotated[
        Path | None,
        typer.Option(
            "--shop",
            metavar="SHOP.toml",
            help="Shop file that names the units shown (default: shop.toml beside the car, else psi and mm).",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, values in the shown unit and in SI.")] = False,
) -> int:
    """List the limits of a car, with working and source.

    For each: its figures, the formula in symbols and in numbers, the result, its sources.
    """
    from estimator.limits.catalog.car_limits import limits_of_car

    record, found = limits_of_car(car, shop)
    if as_json:
        out_json(_data(record.car.car.name, found))
        return 0
    identity = record.car.car
    out(", ".join(str(part) for part in (f"Limits of the {identity.name}", identity.year) if part), bold=True)
    _print_missing(found, car)
    group = ""
    for title, item in _grouped(found):
        if title != group:
            out()
            out(title, bold=True)
            group = title
        _print_limit(item, found)
    scope = ""
    for row in found.workings.rows.values():
        if row.scope != scope:
            out()
            out(f"Working: {row.scope.replace('-', ' ')}", bold=True)
            scope = row.scope
        _print_row(row, found)
    out()
    for line in wrapped(CAUTION):
        say(line)
    return 0


def _print_missing(found: LimitSet, car: Path) -> None:
    """What the car's file lacks: each datum with the limits that it frees."""
    from estimator.limits.missing import most_useful_first
    from estimator.limits.needs import needs_words

    together = None
    for item in most_useful_first(found.limits):
        if together != (len(item.data) > 1):
            together = len(item.data) > 1
            out()
            alone = f"Missing from {in_one_line(car.name)}: what each frees by itself, most limits first"
            out("Missing together: what each set frees" if together else alone, bold=True)
        for line in wrapped(needs_words(item.data), "  ", "    "):
            out(line)
        for line in wrapped(f"frees {len(item.limits)}: {_counted(item.limits)}", "      ", "        "):
            out(line)
    if together is not None:
        for line in wrapped(
            "A manufacturer's limit in [[limits]] frees its check too, whatever else is missing.", "  "
        ):
            out(line)


def _counted(limits: Iterable[Limits]) -> str:
    """Limits in words: each check once, with its place or how many it has."""
    from estimator.facts.checks import check_by_id

    places: dict[str, list[str]] = {}
    for item in limits:
        check, _, place = item.ref.partition(".")
        places.setdefault(check_by_id(check).title, []).append(place.replace("-", " "))
    return "; ".join(
        f"{title} ({where[0] if len(where) == 1 else f'{len(where)} places'})" for title, where in places.items()
    )


def _grouped(found: LimitSet) -> Iterator[tuple[str, Limits]]:
    from estimator.facts.checks import checks

    groups = {check.id: check.group for check in checks()}
    for item in found.limits:
        if any(getattr(item, side) for _, *sides in _SIDES for side in sides) or item.reason:
            yield groups[item.ref.partition(".")[0]], item


def _rows(item: Limits, found: LimitSet) -> dict[str, WorkingRow]:
    by_label = {row.label: row for row in found.workings.rows.values()}
    sides = [side for _, *pair in _SIDES for side in pair]
    return {side: by_label[getattr(item, side)] for side in sides if getattr(item, side)}


def _print_limit(item: Limits, found: LimitSet) -> None:
    from estimator.facts.checks import check_by_id

    rows = _rows(item, found)
    units = {row.unit for row in rows.values()}
    out(f"  {item.label}" + (f", {'/'.join(sorted(units))}" if units - {"count", "1"} else ""))
    words = "; ".join(_sides({side: row for side, row in rows.items() if not row.needs}))
    for line in wrapped(words, "    ") if words else ():
        out(line)
    if judged_as := check_by_id(item.ref.partition(".")[0]).judged_as:
        out(f"    judged: {judged_as}")
    if item.reason:
        lead = "no limit on file: " if item.needs else "none: " if not words else ""
        for line in wrapped(f"{lead}{item.reason}", "    ", "      "):
            out(line)
    if item.source and (words or not item.needs):
        for line in wrapped(f"source: {item.source} ({_how_known(item.status)})", "    ", "      "):
            out(line)


def _how_known(status: str) -> str:
    return status.replace("maker", "manufacturer").replace("-", " ")


def _sides(rows: Mapping[str, WorkingRow]) -> Iterator[str]:
    for name, low, high in _SIDES:
        mine = [rows[key] for key in (low, high) if key in rows]
        if mine:
            least, most = (rows[key].si if key in rows else "" for key in (low, high))
            known = limits_in_words(least, most, mine[0].unit)
            yield f"{name}: {known or mine[0].si}"


def _figure(row: WorkingRow) -> str:
    return row.shown if isinstance(row.shown, str) else figure(row.shown, 5)


def _print_row(row: WorkingRow, found: LimitSet) -> None:
    from estimator.limits.working import names_in

    unit = "" if row.unit in ("1", "count") else f" {row.unit}"
    for line in wrapped(f"{row.symbol} = {_figure(row)}{unit}: {row.title}", "  ", "    "):
        out(line)
    names = list(names_in(row.bare))
    if names and row.bare != f"{{{names[0]}}}":
        numbers = {name: _si(name, found) for name in names}
        for line in wrapped(f"= {row.in_symbols(found.workings.symbols)}", "      ", "        ", broken=True):
            out(line)
        for line in wrapped(f"= {row.in_symbols(numbers)} (SI)", "      ", "        ", broken=True):
            out(line)
    told = " · ".join(part for part in (row.source, row.valid) if part)
    for line in wrapped(told, "      ", "      ") if told else ():
        out(line)


def _si(name: str, found: LimitSet) -> str:
    """The number behind a key of an expression."""
    if name.startswith("constant."):
        return found.workings.symbols.get(name, name)
    try:
        value = found.workings.at(name)
    except (KeyError, StopIteration):
        return found.workings.symbols.get(name, name)
    return value if isinstance(value, str) else figure(value, 6)


def _data(car: str, found: LimitSet) -> dict[str, Any]:
    from estimator.limits.missing import most_useful_first

    return {
        "schema": 1,
        "car": car,
        "limits": [
            {
                "ref": item.ref,
                "label": item.label,
                "sides": {
                    side: {"working": row.ref, "value": row.shown, "unit": row.unit, "si": row.si}
                    for side, row in _rows(item, found).items()
                },
                "source": item.source,
                "status": item.status,
                "reason": item.reason,
                "needs": [need.words for need in sorted(item.needs)],
            }
            for item in found.limits
        ],
        "missing": [
            {
                "data": [need.words for need in item.data],
                "frees": [one.ref for one in item.limits],
            }
            for item in most_useful_first(found.limits)
        ],
        "workings": [
            {
                "ref": row.ref,
                "symbol": row.symbol,
                "title": row.title,
                "formula": row.in_symbols(found.workings.symbols),
                "value": row.shown,
                "unit": row.unit,
                "si": row.si,
                "source": row.source,
                "status": row.status,
                "valid": row.valid,
            }
            for row in found.workings.rows.values()
        ],
    }
