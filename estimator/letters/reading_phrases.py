"""A reading and its limits in words: what is shown of it in the prose and in the table alike."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.letters.formats import figure, number, unit_after
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import BAD, COULD_NOT, COULD_NOT_CHECK
from estimator.limits.judging.visual_checks import Looked
from estimator.quantities import from_si, limits_in_words


@dataclass(frozen=True)
class Shown:
    """What is shown of a reading: its words, the typed figure where another is judged, the verdict, whether it is bad."""

    text: str
    typed: str = ""
    verdict: str = ""
    bad: bool = False
    own_words: bool = False


@dataclass(frozen=True)
class Subject:
    """A check at its place with all that is known of it."""

    standing: Standing
    judged: Judged | None
    looked: Looked | None

    @property
    def title(self) -> str:
        return self.standing.row.check.title

    @property
    def place(self) -> str:
        """Where it stands; with its number where a check has several readings there."""
        row = self.standing.row
        place = "" if row.place.kind == "car" else row.place.title
        return f"{place}, reading {row.number}".removeprefix(", ") if row.check.repeats > 1 else place

    def verdict(self, phase: str) -> str:
        return self.standing.found(phase).verdict

    def shown(self, phase: str) -> Shown:
        """What was read in a phase."""
        verdict = self.verdict(phase)
        bad = verdict in BAD
        if self.looked is not None:
            kind, words = self.looked.row.check.kind, self.looked.words(phase)
            return Shown(
                words if kind in ("family", "text") else "", "", verdict, bad, own_words=kind in ("family", "text")
            )
        assert self.judged is not None
        found, unit = self.judged.phases[phase], self.judged.unit
        if isinstance(found.si, str):
            return Shown("", "", verdict, bad)
        typed = figure(from_si(found.si, unit), unit)
        if not self.judged.derived.labels(phase)[0]:
            return Shown(typed, "", verdict, bad)
        text = "not known" if isinstance(found.judged, str) else figure(from_si(found.judged, unit), unit)
        return Shown(text, typed, verdict, bad)

    def uncertainty(self, phase: str) -> str:
        """How far a reading may be off (U), in the shown unit."""
        if self.judged is None or isinstance(u := self.judged.phases[phase].u_shown, str):
            return ""
        return f"±{number(float(format(u, '.2g')))}{unit_after(self.judged.unit)}"

    def side(self, phase: str) -> str:
        """On which side of its limits a reading lies, or nearer to which: "low", "high", "" where that isn't known."""
        if self.judged is None:
            return ""
        service = self.judged.phases[phase].service
        above, below = service.above, service.below
        if isinstance(above, str):
            return "" if isinstance(below, str) else "high"
        return "low" if isinstance(below, str) or above <= below else "high"

    def wanted(self, kind: str = "service") -> str:
        """The limits of a kind (service, danger) in words, or nothing."""
        if self.judged is None:
            return self.looked.wanted_family if self.looked and self.looked.row.check.kind == "family" else ""
        low, high = (self.judged.values[f"{kind}_{side}"] for side in ("low", "high"))
        unit = self.judged.unit
        words = limits_in_words(low, high, unit)
        return f"{words}{unit_after(unit)}" if words else ""

    def not_driven(self) -> str:
        """Beyond which limits the car must not be driven, in words, or nothing."""
        words = self.wanted("danger")
        for beginning, beyond in (("at least ", "below "), ("at most ", "above ")):
            if words.startswith(beginning):
                return f"do not drive {beyond}{words.removeprefix(beginning)}"
        return f"do not drive outside {words}" if words else ""

    @property
    def judged_as(self) -> str:
        """What is judged in place of the reading."""
        if self.judged is None or not self.judged.derived.before:
            return ""
        return self.standing.row.check.judged_as


def subjects(appraisal: Appraisal) -> tuple[Subject, ...]:
    """Every check of the car, in the order of the work."""
    judged = {item.ref: item for item in appraisal.judged}
    looked = {item.ref: item for item in appraisal.looked}
    return tuple(Subject(item, judged.get(item.ref), looked.get(item.ref)) for item in appraisal.standings)


def gave_up(verdict: str) -> bool:
    return verdict in (COULD_NOT, COULD_NOT_CHECK)
