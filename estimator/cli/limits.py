"""`estimator limits`: the limits of a car with their working and source, so that each can be redone by hand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.one_limit import PAGE, Sources, chosen, page, read_lines, rests_on
from estimator.cli.output import CAUTION, figure, out, out_json, say, wrapped
from estimator.errors import in_one_line
from estimator.quantities import limits_in_words

if TYPE_CHECKING:
    from estimator.limits.catalog.limit_set import LimitSet
    from estimator.limits.judging.judging import Judged, Limits
    from estimator.limits.working import WorkingRow
    from estimator.records import JobRecord

EXAMPLES = (
    "estimator limits demo/car.toml",
    "estimator limits demo/LY-311-A-r1.xlsx --check precharge --place accumulator-2",
)
_SIDES = (
    ("service limit", "service_low", "service_high"),
    ("do-not-drive limit", "danger_low", "danger_high"),
)


def limits(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A car (CAR.toml) or a workbook (.xlsx).")],
    shop: Annotated[
        Path | None,
        typer.Option(
            "--shop",
            metavar="SHOP.toml",
            help="Shop file that names the units shown (default: shop.toml beside the car, else psi and mm).",
        ),
    ] = None,
    check: Annotated[str, typer.Option("--check", metavar="CHECK", help="One limit alone, as precharge.")] = "",
    place: Annotated[str, typer.Option("--place", metavar="PLACE", help="Its place, as accumulator-2.")] = "",
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, values in the shown unit and in SI.")] = False,
) -> int:
    """List the limits of a car, with working and source.

    For each: its figures, the formula in symbols and in numbers, the result, its sources. With --check, one limit on one
    page, with what was read.
    """
    record, found, judged = _of_workbook(file) if file.suffix.lower() == ".xlsx" else (*_of_car(file, shop), ())
    car = record.car.car
    if place and not check:
        raise typer.BadParameter("a place needs a check", param_hint="--place")
    only = chosen(found, check, place) if check else None
    if as_json:
        out_json(_data(car.name, found, only))
        return 0
    name = ", ".join(str(part) for part in (car.name, car.year) if part)
    if only:
        read = next((item for item in judged if item.ref == only.ref), None)
        _print_one(only, found, name, read)
    else:
        _print_all(found, name, file)
    out()
    for line in wrapped(CAUTION):
        say(line)
    return 0


def _of_car(file: Path, shop: Path | None) -> tuple[JobRecord, LimitSet]:
    from estimator.limits.catalog.car_limits import limits_of_car

    return limits_of_car(file, shop)


def _of_workbook(file: Path) -> tuple[JobRecord, LimitSet, tuple[Judged, ...]]:
    from estimator.errors import UnreadableFile
    from estimator.readback.check import check_workbook

    checked = check_workbook(file)
    if checked.appraisal is None:
        raise UnreadableFile(file, "no record can be read from it", "estimator check tells why")
    return checked.appraisal.record, checked.appraisal.limit_set, checked.appraisal.judged


def _print_all(found: LimitSet, name: str, file: Path) -> None:
    out(f"Limits of the {name}", bold=True)
    _print_missing(found, file)
    group = ""
    for title, item in _grouped(found):
        if title != group:
            out()
            out(title, bold=True)
            group = title
        for line in _limit_lines(item, found):
            out(line)
    scope = ""
    for row in found.workings.rows.values():
        if row.scope != scope:
            out()
            out(f"Working: {row.scope.replace('-', ' ')}", bold=True)
            scope = row.scope
        for line in _row_lines(row, found):
            out(line)


def _print_one(item: Limits, found: LimitSet, name: str, judged: Judged | None) -> None:
    out(f"Working of one limit: {name}", bold=True)
    lines = list(_limit_lines(item, found, sourced=False))
    if judged:
        lines += [f"    {line}" for line in read_lines(judged)]
    for line in lines:
        out(line)
    if rows := rests_on(_rows(item, found).values(), found):
        symbols = found.workings.symbols
        out()

        def row_lines(row: WorkingRow, sources: Sources) -> list[str]:
            told = " · ".join(part for part in (row.valid, sources.numbers(row.source)) if part)
            return [*_computed(row, found), *(wrapped(told, "      ") if told else ())]

        def given(row: WorkingRow) -> str:
            return f"{symbols[f'working.{row.ref}.si']} = {_figure(row)}{_unit(row)}"

        for line in page(rows, row_lines, given, PAGE - len(lines)):
            out(line, bold=bool(line) and not line.startswith(" "))


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


def _limit_lines(item: Limits, found: LimitSet, *, sourced: bool = True) -> Iterator[str]:
    from estimator.facts.checks import check_by_id

    rows = _rows(item, found)
    units = {row.unit for row in rows.values()}
    yield f"  {item.label}" + (f", {'/'.join(sorted(units))}" if units - {"count", "1"} else "")
    words = "; ".join(_sides({side: row for side, row in rows.items() if not row.needs}))
    if words:
        yield from wrapped(words, "    ")
    if judged_as := check_by_id(item.ref.partition(".")[0]).judged_as:
        yield f"    judged: {judged_as}"
    if item.reason:
        lead = "no limit on file: " if item.needs else "none: " if not words else ""
        yield from wrapped(f"{lead}{item.reason}", "    ", "      ")
    if sourced and item.source and (words or not item.needs):
        yield from wrapped(f"source: {item.source} ({_how_known(item.status)})", "    ", "      ")


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


def _row_lines(row: WorkingRow, found: LimitSet) -> Iterator[str]:
    yield from _computed(row, found)
    told = " · ".join(part for part in (row.source, row.valid) if part)
    if told:
        yield from wrapped(told, "      ", "      ")


def _unit(row: WorkingRow) -> str:
    return "" if row.unit in ("1", "count") else f" {row.unit}"


def _computed(row: WorkingRow, found: LimitSet) -> Iterator[str]:
    """A row's result, and its formula in symbols and in numbers."""
    from estimator.limits.working import names_in

    yield from wrapped(f"{row.symbol} = {_figure(row)}{_unit(row)}: {row.title}", "  ", "    ")
    if not row.given:
        numbers = {name: _si(name, found) for name in names_in(row.bare)}
        yield from wrapped(f"= {row.in_symbols(found.workings.symbols)}", "      ", "        ", broken=True)
        yield from wrapped(f"= {row.in_symbols(numbers)} (SI)", "      ", "        ", broken=True)


def _si(name: str, found: LimitSet) -> str:
    """The number behind a key of an expression."""
    if name.startswith("constant."):
        return found.workings.symbols.get(name, name)
    try:
        value = found.workings.at(name)
    except (KeyError, StopIteration):
        return found.workings.symbols.get(name, name)
    return value if isinstance(value, str) else figure(value, 6).replace(",", "")  # commas part arguments


def _data(car: str, found: LimitSet, only: Limits | None) -> dict[str, Any]:
    from estimator.limits.missing import most_useful_first

    limits = [only] if only else found.limits
    rows = rests_on(_rows(only, found).values(), found) if only else found.workings.rows.values()

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
            for item in limits
        ],
        "missing": [
            {
                "data": [need.words for need in item.data],
                "frees": [one.ref for one in item.limits],
            }
            for item in most_useful_first(limits)
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
            for row in rows
        ],
    }
