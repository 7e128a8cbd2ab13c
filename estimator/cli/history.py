"""`estimator history`: a car over the years: what was measured, trends, what is due when."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import CAUTION, counted, out, out_json, say, wrapped
from estimator.cli.visits import BooksFolder, FromFolder, visits_on_file

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Sequence

    from estimator.car_history.due import Due, Undated
    from estimator.car_history.series import Series
    from estimator.car_history.trend import Crossing, Trend

EXAMPLES = (
    "estimator history demo/car.toml --books demo/books",
    "estimator history demo/car.toml --from demo -o history.svg",
)


def history(
    car: Annotated[Path, typer.Argument(metavar="CAR.toml", help="The car, with its chassis number or id.")],
    books: BooksFolder = None,
    workbooks: FromFolder = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE.svg", help="A picture, SVG or PNG.")
    ] = None,
    shop: Annotated[
        Path | None, typer.Option("--shop", metavar="SHOP.toml", help="Default: shop.toml beside the car.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, values in SI.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing picture.")] = False,
) -> int:
    """A car over the years: readings, trends, what is due.

    From four visits on, when each quantity will cross its limits, as a band. A date foretold is no permission to drive until
    then: gas can be lost at once.
    """
    from estimator.car_history.due import due, trends, undated, unit_of
    from estimator.car_history.series import all_series
    from estimator.drawing import refuse_suffix
    from estimator.errors import EXIT_MISSING, InputError, InputProblem, Refused
    from estimator.files import refuse_existing, write_whole
    from estimator.limits.catalog.car_limits import limits_of_car

    if books is None and not workbooks:
        problem = InputProblem(
            "history", "--books, --from", "neither is given", "visits are read from one of them", "give one"
        )
        raise InputError([problem])
    if output is not None:
        refuse_suffix(output)
        refuse_existing(output, force=force)
    record, limit_set = limits_of_car(car, shop)
    visits = visits_on_file(record.car, books, workbooks or ())
    mine = [visit for visit in visits if visit.is_of(record.car.car)]
    if not mine:
        identity = record.car.car
        who = identity.chassis_number or identity.id
        what = f'no visit of "{who}" on file' if who else "it has no chassis number and no id to be found by"
        raise Refused(f"{car}: {what}. Check chassis_number and id, and the folder.", exit_status=EXIT_MISSING)
    series = all_series(record.car, visits)
    limits = {item.ref: limit_set.values(item) for item in limit_set.limits}
    units = {item.ref: unit_of(item.ref, visits) for item in series}
    found = trends(series)
    what_is_due, rest = due(record.car, visits, series, limits), undated(record.car, visits)
    title = f"{record.car.car.name}: {counted(len(mine), 'visit')}, {mine[0].before} to {mine[-1].after}"
    if as_json:
        out_json(
            {"schema": 1, "car": record.car.car.name, "visits": [item.document for item in mine]}
            | _data(series, found, limits, what_is_due, rest)
        )
    else:
        _print(title, series, found, units, limits, what_is_due, rest)
    if output is not None:
        from estimator.car_history.picture import picture

        write_whole(output, picture(series, units, limits, title, output.suffix.lower()))
        say(f"picture: {output}")
    for line in wrapped(CAUTION):
        say(line)
    return 0


def _print(
    title: str,
    series: Sequence[Series],
    found: Sequence[Trend],
    units: dict[str, str],
    limits: dict[str, dict[str, Any]],
    what_is_due: Sequence[Due],
    rest: Sequence[Undated],
) -> None:
    from estimator.car_history.due import NOT_PERMISSION

    out(title, bold=True)
    out()
    out("Due", bold=True)
    for item in what_is_due:
        for line in wrapped(f"{_when(item)}  {item.title}: {item.why}", "  ", "      "):
            out(line)
    for gap in rest:
        for line in wrapped(f"no date  {gap.title}: {gap.why}", "  ", "      "):
            out(line)
    for line in wrapped(NOT_PERMISSION, "  "):
        out(line)
    by_ref = {item.series.ref: item for item in found}
    for one in series:
        out()
        _print_series(one, by_ref.get(one.ref), units[one.ref], limits.get(one.ref, {}))


def _print_series(one: Series, line: Trend | None, unit: str, limits: dict[str, Any]) -> None:
    from estimator.car_history.trend import KINDS, LEAST_VISITS

    judged = f", {one.check.judged_as}" if one.check.judged_as else ""
    out(f"{one.label}{judged}", bold=True)
    for number, stretch in enumerate(one.stretches):
        if number:
            out("  new, recharged or refilled")
        for point in stretch:
            out(f"  {point.day}  {_shown(point.si, unit)} ± {_shown(2 * point.u, unit, size=True)}  {point.document}")
    if line is None:
        visits = counted(len(one.present), "visit")
        out(f"  no trend: {visits} since it was new, recharged or refilled; {LEAST_VISITS} needed")
        return
    change, u = line.per_year
    out(f"  changes by {_shown(change, unit, size=True)} ± {_shown(2 * u, unit, size=True)} a year")
    crossings = {item.kind: item for item in line.crossings(limits)}
    for kind, words in KINDS:
        level = limits.get(f"{kind}_{one.side}", "")
        if not isinstance(level, str):
            out(f"  {words} {_shown(level, unit)}: {_crosses(crossings.get(kind))}")


def _crosses(found: Crossing | None) -> str:
    from estimator.car_history.trend import HORIZON

    if found is None:
        return f"not foretold within {HORIZON:.0f} years"
    if found.earliest == found.latest:
        return "crossed"
    return f"{_band(found.earliest, found.latest)}, {'no end in sight' if found.latest is None else '95% band'}"


def _band(earliest: dt.date, latest: dt.date | None) -> str:
    """By the month: a band isn't a day."""
    return f"{earliest:%Y-%m} or later" if latest is None else f"{earliest:%Y-%m} to {latest:%Y-%m}"


def _when(item: Due) -> str:
    return _band(item.earliest, item.latest) if item.banded else f"{item.earliest}"


def _shown(si: float, unit: str, *, size: bool = False) -> str:
    """A number in its unit; a difference where `size`."""
    from estimator.quantities import UNITS, from_si, printed

    more = 1 if size and unit != "mm" else 0
    number = printed(si / UNITS[unit].factor if size else from_si(si, unit), unit, more)
    return number if unit in ("count", "1") else f"{number} {unit}"


def _data(
    series: Iterable[Series],
    found: Iterable[Trend],
    limits: dict[str, dict[str, Any]],
    what_is_due: Iterable[Due],
    rest: Iterable[Undated],
) -> dict[str, Any]:
    lines = {item.series.ref: item for item in found}
    return {
        "due": [
            {"what": i.title, "earliest": str(i.earliest), "latest": i.latest and str(i.latest), "why": i.why}
            for i in what_is_due
        ],
        "no_date": [{"what": item.title, "why": item.why} for item in rest],
        "quantities": [
            {
                "ref": one.ref,
                "title": one.label,
                "limits_si": {
                    side: level for side, level in limits.get(one.ref, {}).items() if not isinstance(level, str)
                },
                "points": [
                    [
                        {"date": str(p.day), "si": p.si, "standard_uncertainty_si": p.u, "document": p.document}
                        for p in stretch
                    ]
                    for stretch in one.stretches
                ],
                "trend": _trend_data(lines[one.ref], limits.get(one.ref, {})) if one.ref in lines else None,
            }
            for one in series
        ],
    }


def _trend_data(line: Trend, limits: dict[str, Any]) -> dict[str, Any]:
    change, u = line.per_year
    return {
        "per_year_si": change,
        "standard_uncertainty_si": u,
        "shared_uncertainty_si": line.shared_u,
        "visits": len(line.points),
        "crossings": [
            {"limit": item.title, "earliest": str(item.earliest), "latest": item.latest and str(item.latest)}
            for item in line.crossings(limits)
        ],
    }
