"""Formulas of one sheet: ordinary ones, array formulas, data tables, and those shared between cells."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from estimator.readback.addresses import area_of
from estimator.readback.budget import LONGEST_FORMULA, Budget
from estimator.readback.values import WrongMarkup

_OUTSIDE_QUOTES = re.compile(r"(?:'[^']*+'|[^':])+|:")
_MOST_BRACKETS = 200  # openpyxl looks through the rest of the formula for each


class FormulaReader:
    """Reads the formulas of one sheet, in the order in which they stand. `budget` says what shared ones may cost."""

    def __init__(self, budget: Budget) -> None:
        self._budget = budget
        self._shared: dict[str, SharedFormula] = {}

    def ordinary(self, text: str) -> str:
        """Return an ordinary formula with its leading "=". Raises WrongMarkup for one that is too long."""
        if len(text) > LONGEST_FORMULA:
            raise WrongMarkup(f"a formula of {len(text):,} characters")
        return "=" + text

    def special(self, form: Mapping[str, str], text: str, row: int, column: int) -> tuple[str | None, str]:
        """Return a formula whose tag has attributes, and the range that it fills.

        form: the attributes. row, column: of the cell. The formula has its leading "=" and is None if there is none;
        the range is "" unless it is an array formula or a data table.
        Raises WrongMarkup for a formula that contradicts itself, UnreadableFile past the budget.
        """
        formula = self.ordinary(text) if text else None
        kind = form.get("t", "normal")
        if kind == "normal":
            return formula, ""
        if kind in ("array", "dataTable"):
            area = area_of(form.get("ref", ""))
            if area is None:
                raise WrongMarkup("a formula for many cells that doesn't say for which")
            self._budget.spend("cells of formulas for many cells", area.size)
        if kind == "array":
            return formula, form["ref"]
        if kind == "dataTable":
            inputs = ",".join(form[name] for name in ("r1", "r2") if name in form)
            return f"=TABLE({inputs})", form["ref"]
        if kind == "shared":
            return self._of_many(form.get("si", ""), formula, row, column), ""
        raise WrongMarkup(f'a formula of the kind "{kind[:20]}"')

    def _of_many(self, number: str, formula: str | None, row: int, column: int) -> str:
        first = self._shared.get(number)
        if first is None:
            if formula is None:
                raise WrongMarkup("a share in a formula that isn't there")
            self._budget.spend("characters in formulas that are shared", len(formula))
            self._shared[number] = SharedFormula(formula, row, column)
            return formula
        self._budget.spend("formulas shared between cells")
        self._budget.spend("references in shared formulas", first.references)
        moved = first.at(row, column)
        self._budget.spend("characters in all the shares", len(moved))
        if formula is not None and formula != moved:
            raise WrongMarkup("a formula of its own and a share in another")
        return moved


class _Reference(NamedTuple):
    text: str


class SharedFormula:
    """A formula that stands in one cell and serves others, its references moved along by openpyxl's translator.

    >>> SharedFormula("=LOG10(A1)*$B$1", 1, 3).at(3, 3)
    '=LOG10(A3)*$B$1'
    """

    def __init__(self, formula: str, row: int, column: int) -> None:
        from openpyxl.formula.tokenizer import Token, Tokenizer, TokenizerError  # type: ignore[import-untyped]

        self._formula, self._row, self._column = formula, row, column
        self._pieces: list[str | _Reference] = []
        if formula.count("[") > _MOST_BRACKETS:
            raise WrongMarkup("a shared formula with too many brackets")
        try:
            tokens = Tokenizer(formula).items
        except (TokenizerError, IndexError, AssertionError):
            raise WrongMarkup("a shared formula that can't be taken apart") from None
        for token in tokens:
            if token.type == Token.OPERAND and token.subtype == Token.RANGE:
                self._add_range(token.value)
            elif token.type == Token.FUNC and ":" in token.value:  # A1:INDEX(
                before, _, name = token.value.rpartition(":")
                self._add_range(before)
                self._pieces.append(f":{name}")
            else:
                self._pieces.append(token.value)
        self.references = sum(isinstance(piece, _Reference) for piece in self._pieces)

    def _add_range(self, text: str) -> None:
        if text.count("!") < 2:
            self._pieces.append(_Reference(text))
            return
        for piece in _OUTSIDE_QUOTES.findall(text):  # Tab!A1:Tab!B2, of which the translator moves only the end
            self._pieces.append(piece if piece == ":" else _Reference(piece))

    def at(self, row: int, column: int) -> str:
        """Return the formula as it reads in another cell. Raises WrongMarkup where a reference would leave the sheet."""
        from openpyxl.formula.translate import Translator, TranslatorError  # type: ignore[import-untyped]

        rows, columns = row - self._row, column - self._column
        if not rows and not columns:
            return self._formula
        try:
            moved = [
                Translator.translate_range(piece.text, rows, columns) if isinstance(piece, _Reference) else piece
                for piece in self._pieces
            ]
        except TranslatorError:
            raise WrongMarkup("a share in a formula whose references leave the sheet") from None
        return "=" + "".join(moved)
