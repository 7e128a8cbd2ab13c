"""What a person sees, against the Book's look: a change that can make a number or word read otherwise is a stop.

Widths, zoom, fonts, sizes that can be read, frames and emphasis are nobody's business; programs that save rewrite them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from estimator.errors import Finding
from estimator.readback.cells import ReadCell, SheetCells, WorkbookCells
from estimator.readback.locate import cell_name
from estimator.readback.looks import LEAST_CONTRAST, LEAST_SIZE, CellLook, areas_of, contrast
from estimator.readback.root_causes import Cause
from estimator.workbook.book import Block, Tab
from estimator.workbook.layout import Layout
from estimator.workbook.page_look import number_format, page_texts, printed, prompts
from estimator.workbook.placed_cells import column_letter
from estimator.workbook.write_drawing import ranges

_FIX = "put the look back, or redraft: that writes it anew"
_PLAIN = re.compile(r"(?:#,##)?0(?:\.(0+))?(E\+0+|%)?")
_QUOTED, _LOCALE, _ESCAPED = re.compile(r'"([-–:./ ])"'), re.compile(r"\[\$-[0-9A-Fa-f]*\]"), re.compile(r"\\(.)")
_YEAR_FIRST = re.compile(r"yyyy\W*mm\W*dd(?:\W*hh?:mm(?::ss)?)?", re.IGNORECASE)
_IN_HEADER = re.compile(r'&(?:"[^"]*"|K[0-9A-F]{6}|K[0-9+-]{5}|[0-9]+|[BIUESXY])')
_HARMLESS_PATTERNS = ("", "none", "solid", "gray125", "gray0625", "lightGray")


@dataclass
class _Seen:
    """Where one change of look was found first, and how often."""

    first: tuple[int, int]
    key: str
    count: int = 1


@dataclass
class TabLook:
    """Gathers the changes of a tab, cell by cell and then as a whole."""

    tab: Tab
    sheet: SheetCells
    workbook: WorkbookCells
    seen: dict[str, _Seen] = field(default_factory=dict)
    folding: frozenset[int] = frozenset()
    known: dict[tuple[str, str, str, bool, type], str] = field(default_factory=dict)
    unlocked: int = 0

    def cell(
        self, part: Block, row: int, column: int, there: ReadCell | None, name: str, boxed: bool, key: str
    ) -> None:
        """Judge how one drafted cell looks. name: of its look in its block."""
        if there is None or there.value in (None, ""):
            return
        style = self.sheet.look.styles.get((row, column), "0")
        question = (style, part.kind, name, boxed, type(there.value))
        said = self.known.get(question)
        if said is None:
            said = self.known[question] = self._said(style, number_format(self.tab, name, boxed=boxed), there.value)
        self.unlocked += bool(not boxed and there.formula is not None and not self._format(style).locked)
        for what in filter(None, (said, self._hidden(row, column))):
            self._note(what, row, column, key)

    def _hidden(self, row: int, column: int) -> str:
        shown = self.sheet.look
        if row in shown.hidden_rows and row not in self.folding:
            return "its row is hidden"
        if shown.hidden_columns and any(first <= column <= last for first, last in shown.hidden_columns):
            return "its column is hidden"
        return "a part of its text is white, struck, raised or tiny" if (row, column) in shown.faint else ""

    def _note(self, what: str, row: int, column: int, key: str) -> None:
        if what in self.seen:
            self.seen[what].count += 1
        else:
            self.seen[what] = _Seen((row, column), key)

    def _format(self, style: str) -> CellLook:
        formats = self.workbook.look.cells
        return formats[int(style)] if style.isdecimal() and int(style) < len(formats) else CellLook()

    def _said(self, style: str, expected: str, value: object) -> str:
        """What a format does to a value that the drafted number format doesn't."""
        found = self._format(style)
        if not same_reading(expected, found.code, value):
            return f'its number format is "{found.code[:60]}", drafted as "{expected}"'
        return _unreadable(found)

    def causes(self, layout: Layout, places: set[tuple[int, int]]) -> Iterator[Cause]:
        """All changes of the tab. places: of all drafted cells."""
        for what, found in self.seen.items():
            more = f" (and {found.count - 1} more cells)" if found.count > 1 else ""
            yield self._cause(f"{what}{more}", found.first, found.key)
        shown = self.sheet.look
        if self.sheet.state != "visible" and not self.tab.hidden:
            yield self._cause("the tab is hidden", (1, 1))
        for what in shown.views:
            yield self._cause(f"the tab shows {what}", (1, 1))
        yield from self._conditional(places)
        yield from self._objects(places, layout)
        yield from self._words(layout)
        yield from self._printed(layout)
        if self.unlocked and self.sheet.protected:
            what = f"{self.unlocked} formulas are not locked: they can be overwritten on a protected tab"
            yield Cause(Finding("look-changed", "note", what, "redraft locks them again", tab=self.sheet.name))

    def _cause(self, what: str, place: tuple[int, int], key: str = "") -> Cause:
        where = cell_name(*place)
        return Cause(Finding("look-changed", "stop", what, _FIX, tab=self.sheet.name, cell=where, key=key))

    def _conditional(self, places: set[tuple[int, int]]) -> Iterator[Cause]:
        formats = self.workbook.look.conditional
        for areas, kind, number in self.sheet.look.rules:
            covered = [place for area in areas for place in area.among(places)]
            if not covered:
                continue
            if kind not in ("expression", "cellIs", "containsText", "beginsWith", "endsWith", "notContainsText"):
                yield self._cause(f"a conditional format ({kind}) changes what cells show", covered[0])
                continue
            given = formats[int(number)] if number.isdecimal() and int(number) < len(formats) else CellLook(code="")
            if given.code and given.code != "General":
                yield self._cause(f'a conditional format shows numbers as "{given.code[:60]}"', covered[0])
            elif said := _unreadable(given):
                yield self._cause(f"by a conditional format, {said}", covered[0])

    def _objects(self, places: set[tuple[int, int]], layout: Layout) -> Iterator[Cause]:
        for area in self.sheet.look.objects:
            if covered := area.among(places):
                yield self._cause("a picture, shape or chart covers drafted cells", covered[0])
        drawn = self.tab.drawing
        said = () if drawn is None else tuple(series.name for series in drawn.series)
        quoted = [found[1:-1] for found in self.sheet.look.chart_ranges if found.startswith('"')]
        for text in (*self.sheet.look.chart_texts, *quoted):
            if text not in said:
                yield self._cause(f'a chart says "{text[:60]}", which was not drafted', (1, 1))
        drafted = set() if drawn is None else set(map(_plain_range, ranges(drawn, layout)))
        for found in self.sheet.look.chart_ranges:
            if not found.startswith('"') and _plain_range(found) not in drafted:
                yield self._cause(f"a chart is drawn from {found[:60]}, which was not drafted", (1, 1))

    def _words(self, layout: Layout) -> Iterator[Cause]:
        allowed = {("", ""), *prompts(self.tab)}
        for areas, title, prompt in self.sheet.look.prompts:
            if (title, prompt) not in allowed:
                place = (areas[0].top, areas[0].left) if areas else (1, 1)
                yield self._cause(f'the prompt of a box says "{f"{title}: {prompt}"[:80]}"', place)
        drafted = _plain_header(page_texts(layout.book, self.tab))
        for text in self.sheet.look.headers:
            if (words := _plain_header(text)) and words not in drafted:
                yield self._cause(f'the page says "{words[:60]}" above or below, which was not drafted', (1, 1))

    def _printed(self, layout: Layout) -> Iterator[Cause]:
        written = self.workbook.defined_names.get(f"{self.sheet.name}!_xlnm.Print_Area", "")
        areas = areas_of(" ".join(part.rpartition("!")[2] for part in written.split(",")))

        def covered(end: tuple[int, int] | None) -> bool:
            return end is not None and any(
                a.top == a.left == 1 and a.bottom >= end[0] and a.right >= end[1] for a in areas
            )

        wanted = printed(layout, self.tab)
        if not areas or wanted is None or covered(wanted):
            return
        last = f"{column_letter(wanted[1])}{wanted[0]}"
        if covered(printed(Layout(layout.book), self.tab)):  # a program left the area where it was
            what = f"rows or columns were inserted, and the last do not print: {written[:60]}, not down to {last}"
            fix = f"set the print area down to {last}, or redraft: that writes it anew"
            yield Cause(Finding("look-changed", "note", what, fix, tab=self.sheet.name, cell="A1"))
        else:
            yield self._cause(f"less is printed than was drafted: {written[:60]}, and not down to {last}", (1, 1))


def book_causes(workbook: WorkbookCells) -> Iterator[Cause]:
    """Settings of the whole workbook that make numbers read otherwise."""
    for what in workbook.look.settings:
        yield Cause(Finding("look-changed", "stop", f"in this workbook, {what}", "set it back, recalculate, save"))


def same_reading(expected: str, code: str, value: object) -> bool:
    """Whether a value reads under a number format as it does under the drafted one, or in more detail.

    >>> same_reading("0.00", "0.000", 1.5), same_reading("0.00", "0", 1.5), same_reading("0.00", ";;;", 1.5)
    (True, False, False)
    """
    code = _plain_code(code)
    if code in ("General", _plain_code(expected)) or isinstance(value, bool):
        return True
    if isinstance(value, str):
        return code == "@" or ("@" not in code and code.count(";") < 3)
    if _sections(code) == _sections(_plain_code(expected)):
        return True
    if _YEAR_FIRST.fullmatch(expected):
        return _YEAR_FIRST.fullmatch(code) is not None
    drafted, found = _PLAIN.fullmatch(_plain_code(expected)), _PLAIN.fullmatch(code)
    if found is None or (drafted is None and expected not in ("General", "@")):
        return False
    if drafted is None:
        return found[2] is None and isinstance(value, int)
    return found[2] == drafted[2] and len(found[1] or "") >= len(drafted[1] or "")


def _plain_code(code: str) -> str:
    """A number format without what programs write about the same: locales, escapes and quotes of marks, a text part."""
    code = _ESCAPED.sub(r"\1", _QUOTED.sub(r"\1", _LOCALE.sub("", code)))
    code = code.removesuffix(";@") if code != ";@" else code
    return "General" if code.casefold() in ("general", "standard") else code


def _sections(code: str) -> list[str]:
    """What a number format says of numbers above, below and at zero; programs write an empty part in several ways."""
    return [part.replace('""', "") for part in (code.split(";") + [""] * 3)[: max(3, code.count(";") + 1)]][:3]


def _unreadable(found: CellLook) -> str:
    if found.marks:
        return f"its text is {' and '.join(found.marks)}"
    if found.size < LEAST_SIZE:
        return f"its letters are of {found.size:g} points"
    if found.pattern not in _HARMLESS_PATTERNS:
        return f"a pattern ({found.pattern}) behind its text"
    ink, ground = found.ink or "000000", found.fill if found.pattern == "solid" and found.fill else "FFFFFF"
    if "?" not in (ink, ground) and contrast(ink, ground) < LEAST_CONTRAST:
        return f"its text can hardly be told from what is behind it ({ink} on {ground})"
    return ""


def _plain_range(text: str) -> str:
    """A range without its dollars and quotes; of a single cell its address alone."""
    return re.sub(r"^=|['$]", "", re.sub(r"!(\S+):\1$", r"!\1", text))


def _plain_header(text: str) -> str:
    return re.sub(r"\s+", "", _IN_HEADER.sub("", text.replace("&&", "\x00"))).replace("\x00", "&&")
