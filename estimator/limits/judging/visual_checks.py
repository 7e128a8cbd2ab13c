"""Checks that aren't numbers: what was looked at, chosen or written down."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.boxes.keys import CheckRef
from estimator.limits.judging.box_values import Reading
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.verdict_words import (
    COULD_NOT,
    COULD_NOT_CHECK,
    FAULT,
    LOOK_WORDS,
    NO_FAULT,
    NOT_CHECKED,
    NOT_MEASURED,
    RECORDED,
)
from estimator.records.fields import UNKNOWN_FAMILY


@dataclass(frozen=True)
class Looked:
    """A check that isn't a number: what was said of it, before and after work."""

    row: CheckRow
    before: Reading
    after: Reading
    wanted_family: str

    @property
    def ref(self) -> CheckRef:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label

    def gave_up(self, phase: str) -> bool:
        """Whether somebody says why it wasn't made; of what is unasked nobody does."""
        return not self.row.check.unasked and (self.before if phase == "before" else self.after).gave_up

    def unlooked(self, phase: str) -> str:
        return COULD_NOT_CHECK if self.gave_up(phase) else NOT_CHECKED

    def unwritten(self, phase: str) -> str:
        return COULD_NOT if self.gave_up(phase) else NOT_MEASURED

    def blank(self, phase: str) -> str:
        """What is said of a box that stays empty."""
        return self.unwritten(phase) if self.row.check.kind == "text" else self.unlooked(phase)

    def word_at(self, phase: str) -> int:
        """The place of what stands there among the words for a look, from 1; 0 for anything else."""
        words = self.words(phase).casefold()
        return LOOK_WORDS.index(words) + 1 if words in LOOK_WORDS else 0

    def as_look(self, phase: str) -> str:
        place = self.word_at(phase)
        return LOOK_WORDS[place - 1] if place else self.unlooked(phase)

    def no_family(self, phase: str) -> int:
        """Whether nothing stands there, or nothing is known to compare it with."""
        return int(not self.words(phase) or self.wanted_family == UNKNOWN_FAMILY)

    def as_family(self, phase: str) -> str:
        if self.no_family(phase):
            return self.unlooked(phase)
        return NO_FAULT if self.words(phase).casefold() == self.wanted_family else FAULT

    def as_text(self, phase: str) -> str:
        return RECORDED if self.words(phase) else self.unwritten(phase)

    def verdict(self, phase: str) -> str:
        kind = self.row.check.kind
        if kind == "look":
            return self.as_look(phase)
        return self.as_family(phase) if kind == "family" else self.as_text(phase)

    def words(self, phase: str) -> str:
        return (self.before if phase == "before" else self.after).words
