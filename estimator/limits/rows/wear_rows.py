"""How far a pad or rotor still goes: the wear since it was new, projected to the thickness at which it is renewed."""

from __future__ import annotations

from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.row_table import Row
from estimator.limits.working import Scope
from estimator.quantities import Quantity

# fmt: off
WORN = (
    Row("$part-lost-$phase", "$part worn $phase", "$part worn away, $phase work",
        'IF(AND({$read}>=0,{$read}<={$part-new}),{$part-new}-{$read},"not known")', "length", guarded="$read"),
    Row("$part-to-go-$phase", "$part to go $phase",
        "distance until the $part is worn to its lowest thickness for service, $phase work",
        "IF({$part-lost-$phase}>0,MAX(0,{$read}-{$limit})*{$part-driven}/{$part-lost-$phase},\"not known\")",
        "$long", "automotive-mathematics",
        "a projection: as it was driven so far; never a reason to let it go to its limit",
        guarded="$part-lost-$phase"),
)
# fmt: on


def wear_rows(rows: Scope, part: str, check: str, new: Quantity, driven: Quantity, limit: str) -> None:
    """`<part>-lost-<phase>` and `<part>-to-go-<phase>` in the scope of a wheel. `limit` names a row."""
    long = "mi" if rows.show("distance") in ("in", "ft", "mi") else "km"
    rows.datum(f"{part}-new", f"{part} new", f"thickness of a new {part}", new, "length")
    rows.datum(f"{part}-driven", f"{part} driven", f"driven since the {part} was new", driven, long)
    for phase in PHASES:
        read = f"judging.{check}.{rows.name}.si_{phase}"
        rows.add(WORN, part=part, phase=phase, read=read, limit=limit, long=long)
