"""Standard uncertainties of several readings, combined into an expanded one."""

from __future__ import annotations

import math
from collections.abc import Iterable

from estimator.limits.common_rows import cite
from estimator.limits.verdict_words import COVERAGE
from estimator.limits.working import Scope


def expanded(rows: Scope, name: str, symbol: str, title: str, parts: Iterable[str]) -> None:
    """A row with U of independent parts, each a row of the scope."""
    parts = tuple(parts)
    rows.row(
        name,
        symbol,
        f"{title}: twice the root of the sum of squares",
        f"{{constant.two}}*SQRT(SUMSQ({','.join(f'{{{part}}}' for part in parts)}))",
        lambda *u: COVERAGE * math.sqrt(sum(one * one for one in u)),
        *parts,
        unit="pressure",
        source=cite("jcgm-100", "ilac-g8"),
        valid="k = 2; each reading's uncertainty in full",
        guarded=parts,
    )


def part_names(phase: str, *middle: str) -> list[str]:
    """The names of the rows of parts of an uncertainty."""
    return [f"u-{name}-{phase}" for name in middle]
