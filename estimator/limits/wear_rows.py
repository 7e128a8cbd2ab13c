"""How far a pad or rotor still goes: the wear since it was new, projected to the thickness at which it is renewed."""

from __future__ import annotations

from estimator.hydraulics.wear import distance_to_discard, wear_rate
from estimator.limits.common_rows import cite
from estimator.limits.verdict_words import PHASES
from estimator.limits.working import CANNOT, Scope
from estimator.quantities import Quantity


def wear_rows(rows: Scope, part: str, check: str, new: Quantity, driven: Quantity, limit: str) -> None:
    """`<part>-lost-<phase>` and `<part>-to-go-<phase>` in the scope of a wheel. `limit` names a row."""
    long = "mi" if rows.show("distance") in ("in", "ft", "mi") else "km"
    rows.datum(f"{part}-new", f"{part} new", f"thickness of a new {part}", new, "length")
    rows.datum(f"{part}-driven", f"{part} driven", f"driven since the {part} was new", driven, long)
    for phase in PHASES:
        read = f"judging.{check}.{rows.name}.si_{phase}"
        rows.row(
            f"{part}-lost-{phase}",
            f"{part} worn {phase}",
            f"{part} worn away, {phase} work",
            f'IF(AND({{{read}}}>=0,{{{read}}}<={{{part}-new}}),{{{part}-new}}-{{{read}}},"{CANNOT}")',
            lambda thick, fresh, way: wear_rate(fresh, thick, way) * way,
            read,
            f"{part}-new",
            f"{part}-driven",
            unit="length",
            guarded=(read,),
        )
        rows.row(
            f"{part}-to-go-{phase}",
            f"{part} to go {phase}",
            f"distance until the {part} is worn to its lowest thickness for service, {phase} work",
            f'IF({{{part}-lost-{phase}}}>0,MAX(0,{{{read}}}-{{{limit}}})*{{{part}-driven}}/{{{part}-lost-{phase}}},"{CANNOT}")',
            lambda thick, least, way, lost: distance_to_discard(thick, least, lost / way),
            read,
            limit,
            f"{part}-driven",
            f"{part}-lost-{phase}",
            unit=long,
            source=cite("automotive-mathematics"),
            valid="a projection: as it was driven so far; never a reason to let it go to its limit",
            guarded=(f"{part}-lost-{phase}",),
        )
