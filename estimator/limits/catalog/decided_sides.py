"""Which row decides on each side of a check: the stricter of the maker's and the computed or published ones.

A danger side without a limit of its own is the service side, where the catalog of checks has it so; a service limit is
never laxer than that of danger.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from estimator.facts.checks import Check
from estimator.limits.judging.judging import Conflict
from estimator.limits.row_table import CANNOT, Row
from estimator.limits.rows.common_rows import listed
from estimator.limits.rows.methods import SIDE_WORDS, Context, Found
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.limits.working import WorkingRow
from estimator.places import Place

# fmt: off
STRICTER = (
    Row("$check-$side-decides", "$words, the stricter", "the stricter of the limits that there are",
        f'IF(COUNT($rows)=0,"{CANNOT}",$stricter($rows))', "$unit", plain=True, without="$without"),
)
# fmt: on


@dataclass
class DecidedSides:
    """The sides of a check at a place. `given` are the maker's rows by side, `members` the rows that any side rests on."""

    context: Context
    check: Check
    place: Place
    found: Found
    given: Mapping[str, str]
    members: dict[str, None] = field(default_factory=dict)

    def ref(self, side: str) -> str:
        """The reference of the row that decides; "" for none."""
        kind, _, end = side.partition("_")
        refs = self._dangers(end) if kind == "danger" else self._services(end)
        if kind == "danger" and not refs and self.check.danger(end) == "service":
            return self.ref(f"service_{end}")
        self.members.update(dict.fromkeys(refs))
        return self._stricter(side, refs) if len(refs) > 1 else (refs or [""])[0]

    def conflicts(self) -> tuple[Conflict, ...]:
        """Where the maker's limit lies on the unsafe side of another."""
        return tuple(self._conflicts())

    def _computed(self, side: str) -> str:
        """What the method found; "" where the maker's figure takes its place."""
        replaced = side in self.found.estimates and side in self.given
        return "" if replaced else self.found.sides.get(side, "")

    def _computed_danger(self, end: str) -> str:
        """The method's limit of danger: its service limit where the catalog has that serve as one."""
        serves = self.check.danger(end) == "service"
        return self._computed(f"danger_{end}") or (self._computed(f"service_{end}") if serves else "")

    def _dangers(self, end: str) -> list[str]:
        given = self.given.get(f"danger_{end}", "")
        return _each(self._computed_danger(end) if given else self._computed(f"danger_{end}"), given)

    def _services(self, end: str) -> list[str]:
        """The service limits of a side, and those of danger that another hand gave: theirs may be stricter."""
        service, danger = f"service_{end}", f"danger_{end}"
        own = _each(self._computed(service), self.given.get(service, ""))
        one_hand = set(own) <= set(self.given.values()) and not self._computed(danger)
        one_hand = one_hand or (set(own) <= set(self.found.sides.values()) and danger not in self.given)
        return own if own and one_hand else _each(*own, *self._dangers(end))

    def _stricter(self, side: str, refs: list[str]) -> str:
        rows = self.context.workings.scope(self.place.id)
        name = f"{self.check.id}-{side.replace('_', '-')}-decides"
        scoped = [ref.replace(".", ":", 1) for ref in refs]
        rows.add(
            STRICTER,
            check=self.check.id,
            side=side.replace("_", "-"),
            words=f"{SIDE_WORDS[side]}: {self.check.title}",
            rows=listed(scoped),
            without=" ".join(scoped),
            stricter="MAX" if side.endswith("low") else "MIN",
            unit=self.check.quantity or "count",
        )
        return f"{rows.name}.{name}"

    def _conflicts(self) -> Iterator[Conflict]:
        for side, ref in self.given.items():
            kind, _, end = side.partition("_")
            others = _each(self._computed_danger(end), self._computed(side) if kind == "service" else "")
            laxer = [row for other in others if self._laxer(end, self._row(ref), row := self._row(other))]
            if laxer:
                worst = (max if end == "low" else min)(laxer, key=lambda row: float(row.si))
                yield Conflict(side, self._row(ref).label, worst.label)

    def _row(self, ref: str) -> WorkingRow:
        return self.context.workings.rows[ref]

    @staticmethod
    def _laxer(end: str, maker: WorkingRow, other: WorkingRow) -> bool:
        if isinstance(maker.si, str) or isinstance(other.si, str):
            return False
        room = sheet_round((other.si - maker.si) / other.factor, 6)
        return room > 0 if end == "low" else room < 0


def _each(*refs: str) -> list[str]:
    return list(dict.fromkeys(ref for ref in refs if ref))
