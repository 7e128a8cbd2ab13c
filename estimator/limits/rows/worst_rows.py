"""The worst of what was set and what was read last, within its uncertainty, as rows: a reading may only tighten.

Of a reading before and one after work the latter counts. A reading without its gauge isn't a measurement.
"""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import listed
from estimator.limits.working import Scope

CUT_OUTS = (1, 2, 3)

# fmt: off
WORST = (
    Row("$what-last$number", "$symbol last$number", "$title$number as read last",
        'IFERROR({$read_after}+0*{$u_after},IFERROR({$read_before}+0*{$u_before},"not known"))', "$unit", plain=True),
    Row("$what-doubt$number", "U $symbol last$number", "U of that",
        "IFERROR({constant.two}*{$u_after}+0*{$read_after},"
        'IFERROR({constant.two}*{$u_before}+0*{$read_before},"not known"))', "$doubt_unit", "jcgm-100", "k = 2", plain=True),
    Row("$what-low$number", "$symbol low$number", "$title$number as read last, less U; as given where it wasn't read",
        "IFERROR({$what-last$number}-{$what-doubt$number},{$given_low})", "$unit", "jcgm-100", plain=True),
    Row("$what-high$number", "$symbol high$number", "$title$number as read last, with U; as given where it wasn't read",
        "IFERROR({$what-last$number}+{$what-doubt$number},{$given_high})", "$unit", "jcgm-100", plain=True),
)
ENDS = (
    Row("$what-least", "$symbol least", "$title, the least of what was set and read, gauge", "MIN({$what},$low)", "pressure"),
    Row("$what-most", "$symbol most", "$title, the most of what was set and read, gauge", "MAX({$what},$high)", "pressure"),
    Row("$what-least-abs", "$symbol least absolute", "that, absolute", "{$what-least}+{constant.atmosphere}",
        "pressure", "si-brochure"),
    Row("$what-most-abs", "$symbol most absolute", "that, absolute", "{$what-most}+{constant.atmosphere}",
        "pressure", "si-brochure"),
)
TEMPERATURES = (
    Row("coldest-now", "T coldest now", "coldest gas: in use, or as read", "MIN({coldest},{gas-low})", "temperature"),
    Row("hottest-now", "T hottest now", "hottest gas: in use, or as read", "MAX({hottest},{gas-high})", "temperature"),
)
# fmt: on


def worst_settings(rows: Scope, system_id: str) -> None:
    """`cut-out-least`, `-most`, `lamp-least`, `-most` in the scope of a system, and the same absolute."""
    for number in CUT_OUTS:
        _worst(rows, f"cut-out.{system_id}.{number}", "cut-out", "p cut-out", "cut-out", str(number))
    _worst(rows, f"lamp-pressure.{system_id}", "lamp", "p lamp", "lamp pressure", "")
    for what, symbol, numbers in (("cut-out", "p cut-out", CUT_OUTS), ("lamp", "p lamp", ("",))):
        low, high = (listed(f"{what}-{end}{number}" for number in numbers) for end in ("low", "high"))
        rows.add(ENDS, what=what, symbol=symbol, title=what, low=low, high=high)


def worst_temperatures(rows: Scope) -> None:
    """`coldest-now` and `hottest-now` in the scope of an accumulator."""
    _worst(
        rows, f"gas-temperature.{rows.name}", "gas", "T gas", "gas temperature", "", "coldest", "hottest", "temperature"
    )
    rows.add(TEMPERATURES)


def _worst(
    rows: Scope, ref: str, what: str, symbol: str, title: str, number: str, low: str = "", high: str = "",
    unit: str = "pressure",
) -> None:  # fmt: skip
    keys = {
        f"{name}_{phase}": f"judging.{ref}.{column}_{phase}"
        for name, column in (("read", "si"), ("u", "gauge_u"))
        for phase in ("before", "after")
    }
    doubt_unit = "K" if unit == "temperature" else unit
    given = {"given_low": low or what, "given_high": high or what}
    rows.add(
        WORST, what=what, symbol=symbol, title=title, number=number, unit=unit, doubt_unit=doubt_unit, **given, **keys
    )
