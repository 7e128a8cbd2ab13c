"""Standard uncertainties of several readings, combined into an expanded one."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import listed
from estimator.limits.working import Scope

# fmt: off
EXPANDED = (
    Row("$name", "$symbol", "$title: twice the root of the sum of squares", "{constant.two}*SQRT(SUMSQ($listed))",
        "pressure", "jcgm-100 ilac-g8", "k = 2; each reading's uncertainty in full", guarded="$parts"),
)
# fmt: on


def expanded(rows: Scope, name: str, symbol: str, title: str, parts: Sequence[str]) -> None:
    """A row with U of independent parts, each a row of the scope."""
    rows.add(EXPANDED, name=name, symbol=symbol, title=title, listed=listed(parts), parts=" ".join(parts))


def part_names(phase: str, *middle: str) -> list[str]:
    """The names of the rows of parts of an uncertainty."""
    return [f"u-{name}-{phase}" for name in middle]
