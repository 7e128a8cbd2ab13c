"""What makes a good spreadsheet, as rules that a drafted workbook keeps: read from its file, told apart by the Book.

Each rule yields a line for each cell that breaks it, beginning with the rule's name.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from agreement import Drafted
from engines import ALLOWED_FUNCTIONS, Values
from side_by_side import far_neighbors, runs
from written_file import FileSheet, WrittenFile, read_file

from estimator.workbook.book import Cell
from estimator.workbook.form_styles import BAND_FILL, BOX_FILL
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import PlacedBlock, column_letter

ERRORS = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#ERROR!", "#SPILL!", "#CALC!", "#CIRC!")
MOST_CHARACTERS, MOST_LEVELS = 120, 3
# Tables whose rows are of several kinds (checks with one limit or two, looks and numbers, work and parts, causes and
# findings), and of how many.
MOST_KINDS = {
    "judging": 12,
    "looked": 4,
    "standing": 6,
    "said": 10,
    "limit": 9,
    "call": 10,
    "line": 3,
    "part": 2,
    "extra": 3,
    "heard": 3,
    "cause": 5,
    "sum_1": 4,
    "sum_2": 4,
    "held_1": 4,
    "held_2": 4,
    "group": 5,  # systems, pedal, wheels, readings: each its own sets
    "beside": 60,  # each check points at its own columns
    "step": 5,  # a group each
    "test_1": 10,
    "test_2": 10,
    "test_3": 10,
    "test_4": 10,
}
# Hidden: what weighs a hypothesis or a test at one stroke, in matrix products, for a cell each would be ten times the formulas.
MOST_ON = {"Causes": (1300, 9)}
LEAST_CONTRAST = 4.5  # WCAG 2.2, 1.4.3, for text of any size
TYPED_ON = ("Inspection", "After work", "Work", "Estimate", "Journal")
DIGITS_OF = ("ROUND", "ROUNDDOWN", "ROUNDUP", "TRUNC", "FIXED")
# Texts are matched so that nothing in them is taken for a reference, and names of functions such as LOG10 likewise.
_REFERENCE = re.compile(
    r"""(?P<text>"[^"]*")|(?P<name>[A-Z][A-Z0-9.]*\()|(?:(?P<tab>'[^']+'|[A-Za-z]+)!)?"""
    r"""(?P<first>\$?[A-Z]{1,3}\$?[0-9]+)(?::(?P<last>\$?[A-Z]{1,3}\$?[0-9]+))?"""
)
_TOKEN = re.compile(
    r"""(?P<text>"(?:[^"]|"")*")|(?P<name>[A-Z][A-Z0-9.]*(?=\())|(?P<ref>(?:'[^']+'!|[A-Za-z]+!)?\$?[A-Z]{1,3}\$?[0-9]+"""
    r"""(?::\$?[A-Z]{1,3}\$?[0-9]+)?)|(?P<number>[0-9]+\.?[0-9]*(?:E[+-]?[0-9]+)?)|(?P<sign><=|>=|<>|[-+*/^&=<>(),%])"""
    r"""|(?P<space>\s+)|(?P<other>.)"""
)
_CORNER = re.compile(r"(\$?)([A-Z]+)(\$?)([0-9]+)")
# Looks that say their own unit: amounts in the document's currency, hours, shares, days, numbers of things.
_OWN_UNIT = {
    "money": "currency",
    "total": "currency",
    "hours": "h",
    "percent": "%",
    "date": "day",
    "whole": "count",
    "pointer": "place",
}
_UNIT_WORDS = re.compile(
    r"%|\bSI\b|\b[A-Z]{3}$|\bliters\b|\bpercent\b|\bcount\b|\bhours\b|\ba[n]? hour\b|\bin the unit of its check\b"
)
_KNOWN_PARTS = re.compile(
    r"\[Content_Types\]\.xml|_rels/\.rels|docProps/(app|core|custom)\.xml|xl/(workbook|styles|sharedStrings|metadata)\.xml"
    r"|xl/_rels/workbook\.xml\.rels|xl/theme/theme1\.xml|xl/worksheets/(_rels/)?sheet[0-9]+\.xml(\.rels)?"
    r"|xl/(drawings|charts)/(_rels/)?(drawing|chart)[0-9]+\.xml(\.rels)?"
)


@dataclass(frozen=True)
class Read:
    """A drafted workbook and its file."""

    draft: Drafted
    file: WrittenFile
    layout: Layout
    cells: Mapping[tuple[str, str], Cell]

    @functools.cached_property
    def shapes(self) -> Mapping[tuple[str, str], str]:
        """Each formula with its references as distances from its own cell."""
        return {(tab, address): relative(formula, address) for tab, address, formula in self.formulas()}

    @functools.cached_property
    def drafted_shapes(self) -> Mapping[tuple[str, str], str]:
        """The same of the formulas that the Book has."""
        found = {}
        for place in self.layout.placed.values():
            for row, column, _, formula in self.layout.formulas(place):
                if formula is not None:
                    address = f"{column_letter(column)}{row}"
                    found[place.tab.name, address] = relative(formula.removeprefix("="), address)
        return found

    @functools.cached_property
    def different(self) -> Mapping[str, tuple[str, str, str]]:
        """One formula of each shape, with its place."""
        return {self.shapes[tab, address]: (tab, address, formula) for tab, address, formula in self.formulas()}

    @functools.cached_property
    def empty(self) -> Mapping[tuple[str, str], str]:
        return {
            (place.tab.name, f"{column_letter(at)}{place.first_row}"): f"{place.block.name}..{name}"
            for place in self.layout.placed.values()
            if not place.block.rows
            for name, at in place.column_of.items()
        }

    def sheet(self, tab: str) -> FileSheet:
        return self.file.sheets[tab]

    def formulas(self) -> Iterator[tuple[str, str, str]]:
        for name, sheet in self.file.sheets.items():
            for address, cell in sheet.cells.items():
                if cell.formula is not None:
                    yield name, address, cell.formula


def broken_rules(draft: Drafted, *others: Values) -> list[str]:
    """Every rule that the workbook breaks. `others`: what engines made of its formulas."""
    read = Read(draft, read_file(draft.path), Layout(draft.book), draft.cells)
    found = [f"{rule.__name__}: {line}" for rule in RULES for line in rule(read)]
    return found + [line for values in others for line in broken_values(draft, values)]


def broken_values(draft: Drafted, values: Values) -> list[str]:
    """Formula cells that an engine works out to be an error."""
    typed = _typed(draft.cells)
    return [f"no_error_value: {line}" for line in _errors_in(values) if line.rpartition(": ")[2] not in typed]


def _typed(cells: Mapping[tuple[str, str], Cell]) -> frozenset[object]:
    """What stands in boxes: a person may type what looks like an error, and formulas repeat it."""
    return frozenset(cell.value for cell in cells.values() if cell.box is not None)


# --- formulas ---------------------------------------------------------------------------------------------------------


def only_plain_literals(read: Read) -> Iterator[str]:
    """No number in a formula but 0, 1, powers of ten and arguments that count digits; other constants stand on Basis."""
    for tab, address, formula in read.different.values():
        if wrong := literal_in(formula):
            yield f"{tab}!{address}: {wrong} in {formula}"


def literal_in(formula: str) -> str:
    """The first number in a formula that should stand on Basis, or nothing."""
    calls: list[list[object]] = []
    name = ""
    for match in _TOKEN.finditer(formula):
        kind, token = match.lastgroup, match[0]
        if kind == "name":
            name = token
        elif token == "(":
            calls.append([name, 1])
            name = ""
        elif token == ")":
            calls.pop()
        elif token == "," and calls:
            calls[-1][1] += 1  # type: ignore[operator]
        elif kind == "number":
            digits = bool(calls) and calls[-1][0] in DIGITS_OF and calls[-1][1] == 2
            if not digits and not _is_plain(token):
                return token
        elif kind == "text" and (number := re.fullmatch(r'"[<>=]+(-?[0-9.]+)"', token)) and not _is_plain(number[1]):
            return token
    return ""


def _is_plain(number: str) -> bool:
    """0, 1, or a power of ten."""
    return not Decimal(number) or Decimal(number).normalize().as_tuple()[:2] == (0, (1,))


def only_allowed_functions(read: Read) -> Iterator[str]:
    """Functions that every common program has and works out alike; none is volatile."""
    for tab, address, formula in read.different.values():
        for match in _TOKEN.finditer(formula):
            if match.lastgroup == "other" or (match.lastgroup == "name" and match[0] not in ALLOWED_FUNCTIONS):
                yield f"{tab}!{address}: {match[0]} in {formula}"


def one_pattern(read: Read) -> Iterator[str]:
    """One formula in each column of a table; in a working one in each row, the cases side by side."""
    for place in read.layout.placed.values():
        part = place.block
        if part.kind == "form":
            continue  # each of its cells is placed by itself
        varied: list[str] = []
        for at, column in enumerate(part.columns):
            letter = column_letter(place.column_of[column.name])
            shapes = _shapes_of(read, place, at, letter)
            if len(shapes) > 1:
                varied.append(letter)
                typed_over = any(str(shape).startswith(_TYPED_OVER) for shape in shapes)
                if part.kind == "table" and (typed_over or len(shapes) > MOST_KINDS.get(part.name, 1)):
                    yield f"{place.tab.name}!{letter}: {part.name}.{column.name} has {len(shapes)} patterns: {shapes}"
        if part.kind == "working" and len(varied) > 1:
            yield from _rows_of_working(read, place, varied)


_TYPED_OVER = "not as drafted: "


def _shapes_of(read: Read, place: PlacedBlock, at: int, letter: str) -> dict[str | None, str]:
    """The patterns of a column, each with a cell that has it; cells of no concern to their row left out."""
    shapes: dict[str | None, str] = {}
    for row in place.block.rows:
        address, cell = f"{letter}{place.row_of[row.ref]}", row.cells[at]
        if cell.formula is None and cell.value in ("", None):
            continue
        shape = read.shapes.get((place.tab.name, address))
        as_drafted = shape is not None and shape == read.drafted_shapes.get((place.tab.name, address))
        if place.block.kind == "table" and shape is not None:
            shape = _by_kind(cell.formula) if as_drafted and cell.formula else f"{_TYPED_OVER}{shape}"
        if shape is None and row is place.block.rows[0] and len(place.block.rows) > 1:
            continue  # a running column begins with a constant
        shapes.setdefault(shape, address)
    return shapes


def _by_kind(template: str) -> str:
    """A formula by what it names, whichever row that stands in."""
    return re.sub(r"\{(\w+)\.[^{}~]+\.(\w+)(~[^{}]+)?\}", r"{\1.*.\2}", re.sub(r":k[0-9]+\}", ":k}", template))


def _rows_of_working(read: Read, place: PlacedBlock, letters: list[str]) -> Iterator[str]:
    tab, sheet = place.tab.name, read.sheet(place.tab.name)
    for row in place.block.rows:
        places = [f"{letter}{place.row_of[row.ref]}" for letter in letters]
        formulas = {address: sheet.cells[address].formula for address in places if (tab, address) in read.shapes}
        by_place = {read.shapes[tab, address] for address in formulas}
        if len(by_place) > 1 and len({_by_key(read, tab, formula) for formula in formulas.values()}) > 1:
            yield f"{tab}!{place.row_of[row.ref]}: {place.block.name}.{row.ref} has several patterns: {formulas}"


def short_formulas(read: Read) -> Iterator[str]:
    """A formula can be read at a glance: at most 120 characters, and three functions within each other."""
    for tab, address, formula in read.different.values():
        characters, levels = MOST_ON.get(tab, (MOST_CHARACTERS, MOST_LEVELS))
        if len(formula) > characters:
            yield f"{tab}!{address}: {len(formula)} characters: {formula}"
        if (deep := depth_of(formula)) > levels:
            yield f"{tab}!{address}: {deep} deep: {formula}"


def depth_of(formula: str) -> int:
    """How many functions lie within each other.

    >>> depth_of('IF(A1>0,ROUND((B1+1)*2,0),"SUM(MAX(")')
    2
    """
    open_, deepest = [], 0
    for match in re.finditer(r"([A-Z][A-Z0-9.]*)?\(|\)", re.sub('"[^"]*"', "", formula)):
        if match[0] == ")":
            open_.pop()
        else:
            open_.append(bool(match[1]))
        deepest = max(deepest, sum(open_))
    return deepest


def relative(formula: str, address: str) -> str:
    """A formula with its references as distances from its own cell, as R1C1 style has them.

    >>> relative('IF($C7>0,SUM(Hours!$A$2:$A$9),"B7")', "D7")
    'IF(R[0]CC>0,SUM(Hours!R2CA:R9CA),"B7")'
    """
    _, own_letters, _, own_row = _CORNER.fullmatch(address).groups()

    def corner(text: str) -> str:
        fixed_column, letters, fixed_row, row = _CORNER.fullmatch(text).groups()
        column = f"C{letters}" if fixed_column else f"C[{_number(letters) - _number(own_letters)}]"
        return (f"R{row}" if fixed_row else f"R[{int(row) - int(own_row)}]") + column

    def moved(match: re.Match[str]) -> str:
        tab, first, last = match["tab"], match["first"], match["last"]
        if first is None:
            return match[0]
        return (f"{tab}!" if tab else "") + corner(first) + (f":{corner(last)}" if last else "")

    return _REFERENCE.sub(moved, formula)


def _by_key(read: Read, tab: str, formula: str) -> str:
    """A formula with what its references name, the two cases taken as one."""

    def named(match: re.Match[str]) -> str:
        if match["first"] is None:
            return match[0]
        there = (match["tab"] or tab).strip("'")
        corners = [corner.replace("$", "") for corner in (match["first"], match["last"]) if corner]
        return ":".join(_key_at(read, there, corner) for corner in corners)

    return re.sub(r"agreed|proposed", "CASE", _REFERENCE.sub(named, formula))


def _key_at(read: Read, tab: str, address: str) -> str:
    """The key of a cell; in the row where a block without rows would begin, its block and column."""
    cell = read.cells.get((tab, address))
    return read.empty.get((tab, address), address) if cell is None else cell.key


@functools.cache
def _number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


# --- numbers ----------------------------------------------------------------------------------------------------------


def a_unit_for_each_number(read: Read) -> Iterator[str]:
    """Each number's unit is known: from its look, its column's heading, or the unit beside it."""
    for place in read.layout.placed.values():
        if place.block.kind == "form":
            continue  # units stand in cells of their own
        headings = [column.heading for column in place.block.columns]
        beside = [column.name for column in place.block.columns].index("unit") if _has_unit(place) else None
        told: set[str] = set()
        for row in place.block.rows:
            unit = row.cells[beside] if beside is not None else None
            for cell, heading in zip(row.cells, headings, strict=True):
                boxed = cell.box is not None and cell.box.kind == "number"
                if (boxed or isinstance(cell.value, int | float | Decimal)) and not unit_of(cell, heading, unit):
                    if heading not in told:
                        yield f"{place.tab.name}: {cell.key}, {cell.value!r} under {heading!r}"
                    told.add(heading)


def _has_unit(place: PlacedBlock) -> bool:
    return any(column.name == "unit" for column in place.block.columns)


def unit_of(cell: Cell, heading: str, beside: Cell | None) -> str:
    """The unit of a number, or nothing. `beside` is the unit's own cell in its row, which may be a box."""
    words = _UNIT_WORDS.search(heading)
    named = "" if beside is None else "as typed beside it" if beside.box else str(beside.value or "")
    if "variance" in heading or heading.startswith("weighted"):  # a look of hours would be wrong
        return "h²" if "h²" in heading else "amount × h" if "amount × h" in heading else ""
    return cell.unit or _OWN_UNIT.get(cell.look, "") or (words[0] if words else "") or named


def no_error_value(read: Read) -> Iterator[str]:
    """No formula stores an error."""
    errors = frozenset(ERRORS) - _typed(read.cells)
    for name, sheet in read.file.sheets.items():
        for address, cell in sheet.cells.items():
            if cell.kind == "e" or (cell.formula is not None and cell.stored in errors):
                yield f"{name}!{address}: {cell.stored}"


def _errors_in(values: Values) -> Iterator[str]:
    for (tab, address), value in values.items():
        if value in ERRORS or (isinstance(value, float) and not abs(value) < float("inf")):
            yield f"{tab}!{address}: {value}"


# --- boxes and texts --------------------------------------------------------------------------------------------------


def text_is_text(read: Read) -> Iterator[str]:
    """Formulas stand where the Book has them and nowhere else; all other text is text, to the letter."""
    for (tab, address), cell in read.cells.items():
        there = read.sheet(tab).cells.get(address)
        if cell.formula is not None:
            if there is None or there.formula is None:
                yield f"{tab}!{address}: {cell.key} has no formula"
        elif there is not None and there.formula is not None:
            yield f"{tab}!{address}: {cell.key} became the formula {there.formula[:60]}"
        elif isinstance(cell.value, str) and cell.value and (there is None or there.text != cell.value):
            yield f"{tab}!{address}: {cell.key} isn't the text {cell.value[:60]!r}"


def boxes_say_what_they_take(read: Read) -> Iterator[str]:
    """Every box has one validation, with a prompt and an error text within the limits of length; nothing else has."""
    boxes = {place for place, cell in read.cells.items() if cell.box is not None}
    kinds = {"number": "decimal", "list": "list", "date": "date", "text": "textLength"}
    for tab, sheet in read.file.sheets.items():
        for address, said in sheet.validations.items():
            if (tab, address) not in boxes:
                yield f"{tab}!{address}: a validation where no box is"
            if len(said) > 1:
                yield f"{tab}!{address}: {len(said)} validations"
    for tab, address in boxes:
        said = read.sheet(tab).validations.get(address)
        if not said:
            yield f"{tab}!{address}: a box without validation"
            continue
        one, box = said[0], read.cells[tab, address].box
        if one.kind != kinds[box.kind]:
            yield f"{tab}!{address}: a {box.kind} box is validated as {one.kind}"
        if not one.shown or not all((*one.titles, *one.messages)):
            yield f"{tab}!{address}: no prompt or no error text"
        if max(map(len, one.titles)) > 32 or max(map(len, one.messages)) > 255 or len(one.source) > 257:
            yield f"{tab}!{address}: too long: {one.titles} {one.messages} {len(one.source)}"


def only_boxes_are_open(read: Read) -> Iterator[str]:
    """Every sheet is protected without a password; boxes are unlocked, all else is locked."""
    for tab, sheet in read.file.sheets.items():
        protection = sheet.protection
        if protection.get("sheet") != "1":
            yield f"{tab}: not protected"
        if {"password", "hashValue", "algorithmName"} & set(protection):
            yield f"{tab}: protected with a password"
        for address, there in sheet.cells.items():
            cell = read.cells.get((tab, address))
            unlocked = read.file.styles[there.style].unlocked
            if unlocked != (cell is not None and cell.box is not None):
                yield f"{tab}!{address}: {'unlocked' if unlocked else 'locked'}"


_ON_EVERY_TAB = (
    "qualified people",
    "ocal codes",
    "epressurize first",
    "both gauges",
    "that a car is safe",
)
_AT_THE_CAR = ("gas", "ye protection", "jet penetrates", "ther circuits on the supply")


def inputs_stand_apart(read: Read) -> Iterator[str]:
    """In a table a column is typed in, worked out or given, never a mixture; tabs that only tell hold no box."""
    for place in read.layout.placed.values():
        tab, sheet = place.tab.name, read.sheet(place.tab.name)
        if place.block.kind == "form":
            boxed = any(cell.box for row in place.block.rows for cell in row.cells)
            if boxed and tab not in TYPED_ON:
                yield f"{tab}: {place.block.name}: a box on a tab that only tells"
            continue
        for column in place.block.columns:
            letter = column_letter(place.column_of[column.name])
            roles: dict[str, str] = {}
            for row in place.block.rows:
                address = f"{letter}{place.row_of[row.ref]}"
                cell, there = read.cells[tab, address], sheet.cells.get(address)
                worked_out = there is not None and there.formula is not None
                if cell.box is None and not worked_out and cell.value in ("", None):
                    continue
                role = "typed in" if cell.box else "worked out" if worked_out else "given"
                running = row is place.block.rows[0] and role == "given" and len(place.block.rows) > 1
                if not running:  # a running column begins with a constant
                    roles.setdefault(role, address)
                if role == "typed in" and tab not in TYPED_ON:
                    yield f"{tab}!{address}: a box on a tab that only tells"
            if place.block.kind == "table" and len(roles) > 1:
                yield f"{tab}!{letter}: {place.block.name}.{column.name} is {roles}"


def nothing_merged(read: Read) -> Iterator[str]:
    """No cells are merged: sorting, filling down and reading aloud go wrong there."""
    for tab, sheet in read.file.sheets.items():
        yield from (f"{tab}!{place}" for place in sheet.merged)


def names_fit_sheets(read: Read) -> Iterator[str]:
    """A tab's name has 1 to 31 characters, none of them []:*?/\\, no apostrophe at an end, and is its own."""
    names = [name.casefold() for name in read.file.sheets]
    for name in read.file.sheets:
        if not 1 <= len(name) <= 31 or re.search(r"[\[\]:*?/\\]|^'|'$", name) or names.count(name.casefold()) > 1:
            yield repr(name)


def text_stands_out(read: Read) -> Iterator[str]:
    """Ink on its ground has a contrast of 4.5 to 1, whatever a condition puts on top."""
    used = {cell.style for sheet in read.file.sheets.values() for cell in sheet.cells.values()}
    for number in sorted(used):
        style = read.file.styles[number]
        for over in (style, *read.file.emphases):
            ink, ground = over.ink or style.ink or "000000", over.fill or style.fill or "FFFFFF"
            if contrast(ink, ground) < LEAST_CONTRAST:
                yield f"style {number}: #{ink} on #{ground}: {contrast(ink, ground):.1f}"


def two_fills(read: Read) -> Iterator[str]:
    """Two fills in all, one where a person types and one for headings; and black for what grounds the car."""
    used = {cell.style for sheet in read.file.sheets.values() for cell in sheet.cells.values()}
    fills = {style.fill for style in (*(read.file.styles[number] for number in used), *read.file.emphases)}
    yield from sorted(fills - {"", BOX_FILL[1:], BAND_FILL[1:], "000000"})


def contrast(one: str, other: str) -> float:
    """The contrast of two colors (WCAG 2.2, definition of contrast ratio).

    >>> round(contrast("FFFFFF", "000000"), 2), round(contrast("777777", "FFFFFF"), 2)
    (21.0, 4.48)
    """
    lights = sorted(_light(color) for color in (one, other))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def _light(color: str) -> float:
    shares = [int(color[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def cautions_stand(read: Read) -> Iterator[str]:
    """Each tab that someone acts on says who may do the work, to release the pressure first, and that nothing is safe;
    those that are read at the car say more."""
    for tab, sheet in read.file.sheets.items():
        said = " ".join(cell.text for cell in sheet.cells.values() if cell.text)
        wanted = () if tab == "Record" else _ON_EVERY_TAB
        for words in (*wanted, *(_AT_THE_CAR if tab in ("Summary", "Inspection", "Limits") else ())):
            if words not in said:
                yield f"{tab}: nothing says {words!r}"


def nothing_foreign(read: Read) -> Iterator[str]:
    """No macros, no links to elsewhere, no parts but sheets and their charts; names belong to the sheets."""
    for part in read.file.parts:
        if not _KNOWN_PARTS.fullmatch(part):
            yield part
    yield from read.file.external
    for name, target in read.file.names.items():
        if not name.startswith("_xlnm.") or "[" in target or "#" in target:
            yield f"{name} = {target}"
    for tab, address, formula in read.formulas():
        if "[" in formula or "|" in formula:
            yield f"{tab}!{address}: {formula}"


def references_are_unique(read: Read) -> Iterator[str]:
    """The printed reference of a row is its own within its block, capitals apart: formulas look rows up by it."""
    for place in read.layout.placed.values():
        if place.block.kind == "form":
            continue
        labels = [str(row.cells[0].value).casefold() for row in place.block.rows]
        yield from (
            f"{place.tab.name}: {place.block.name} {label!r}" for label in set(labels) if labels.count(label) > 1
        )


def no_far_neighbors(read: Read) -> Iterator[str]:
    """No column rests on its neighbor by a long way: LibreOffice takes that for a circle."""
    yield from far_neighbors(runs(read.formulas(), read.shapes))


RULES: tuple[Callable[[Read], Iterator[str]], ...] = (
    only_plain_literals,
    only_allowed_functions,
    short_formulas,
    one_pattern,
    no_far_neighbors,
    a_unit_for_each_number,
    no_error_value,
    text_is_text,
    boxes_say_what_they_take,
    only_boxes_are_open,
    cautions_stand,
    nothing_foreign,
    references_are_unique,
    inputs_stand_apart,
    nothing_merged,
    names_fit_sheets,
    text_stands_out,
    two_fills,
)
