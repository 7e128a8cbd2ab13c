"""How a workbook shows its cells: formats of cells, hidden rows and columns, conditional formats, what lies over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple, TypeVar

from estimator.readback.addresses import Area, area_of
from estimator.readback.elements import MAIN, Attributes, Element
from estimator.readback.package_parts import Package, Relation
from estimator.readback.values import text_value

Item = TypeVar("Item")
_YES = ("1", "true", "on")
_X14 = "http://schemas.microsoft.com/office/spreadsheetml/2009/9/main}"
_EXTENDED = f"worksheet/extLst/ext/{_X14}conditionalFormattings/{_X14}conditionalFormatting/{_X14}cfRule"
_RULE, _VALIDATION = "worksheet/conditionalFormatting/cfRule", "worksheet/dataValidations/dataValidation"
_VIEW, _COLUMN = "worksheet/sheetViews/sheetView", "worksheet/cols/col"
_HEADERS = tuple(
    f"worksheet/headerFooter/{name}{what}" for name in ("odd", "even", "first") for what in ("Header", "Footer")
)
WANTED = (_RULE, _EXTENDED, _VALIDATION, _VIEW, _COLUMN, "worksheet/sheetFormatPr", *_HEADERS)
# ECMA-376 part 1, 18.8.30 and 18.8.27: built-in number formats, and the first colors of the indexed palette
_BUILT_IN = {"0": "General", "1": "0", "2": "0.00", "3": "#,##0", "4": "#,##0.00", "9": "0%", "10": "0.00%"}
_BUILT_IN |= {"11": "0.00E+00", "49": "@"}
_PALETTE = ("000000", "FFFFFF", "FF0000", "00FF00", "0000FF", "FFFF00", "FF00FF", "00FFFF")
_THEME = ("lt1", "dk1", "lt2", "dk2", *(f"accent{number}" for number in range(1, 7)))
# What can still be read: WCAG 2.2, 1.4.3 asks 3 of large letters; the points are common practice, no source.
LEAST_CONTRAST, LEAST_SIZE = 3.0, 6.0
_NARROW, _FLAT = 0.5, 3.0  # of a column in digits, of a row in points: nothing can be read there


class CellLook(NamedTuple):
    """How cells of a format look. ink and fill: RRGGBB, "" for none said, "?" for one that isn't known."""

    code: str = "General"
    ink: str = ""
    fill: str = ""
    pattern: str = ""
    size: float = 11.0
    marks: tuple[str, ...] = ()  # struck, raised, filled (repeated), turned (right to left)
    locked: bool = True


@dataclass
class SheetLook:
    """What of a tab shows otherwise than its cells say."""

    styles: dict[tuple[int, int], str] = field(default_factory=dict)
    faint: set[tuple[int, int]] = field(default_factory=set)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    rules: list[tuple[tuple[Area, ...], str, str]] = field(default_factory=list)
    prompts: list[tuple[tuple[Area, ...], str, str]] = field(default_factory=list)
    headers: list[str] = field(default_factory=list)
    views: list[str] = field(default_factory=list)
    objects: list[Area] = field(default_factory=list)
    chart_texts: list[str] = field(default_factory=list)
    chart_ranges: list[str] = field(default_factory=list)

    def row(self, number: int, given: Attributes) -> None:
        """Note a row that can't be seen."""
        if given.get("hidden") in _YES or ("ht" in given and _number(given["ht"], 99.0) < _FLAT):
            self.hidden_rows.add(number)

    def take(self, element: Element) -> None:
        """Note what an element beside the cells says."""
        given, path = element.attributes, element.path
        if path == _RULE:
            areas = areas_of(element.parent.get("sqref", ""))
            self.rules.append((areas, given.get("type", ""), given.get("dxfId", "")))
        elif path == _EXTENDED:
            self.rules.append(((Area(1, 1, 1_048_576, 16_384),), given.get("type", "") + " of 2009", ""))
        elif path == _COLUMN:
            if given.get("hidden") in _YES or _number(given.get("width", "9"), 9.0) < _NARROW:
                first, last = (int(_number(given.get(name, "0"), 0)) for name in ("min", "max"))
                self.hidden_columns.append((first, last))
        elif path == _VALIDATION:
            title, words = (text_value(given.get(name, "")) for name in ("promptTitle", "prompt"))
            self.prompts.append((areas_of(given.get("sqref", "")), title, words))
        elif path in _HEADERS:
            self.headers.append(element.text)
        elif path == _VIEW:
            self.views += ["formulas instead of values"] if given.get("showFormulas") in _YES else []
            self.views += ["no zeros"] if given.get("showZeros", "1") not in _YES else []
        elif given.get("zeroHeight") in _YES:
            self.views.append("rows hidden unless said")

    def drawn(self, package: Package, relations: Mapping[str, Relation]) -> None:
        """Note where pictures and shapes lie, what charts say and what they are drawn from. relations: of the tab's part."""
        for relation in relations.values():
            if relation.kind == "drawing" and relation.target:
                corners: list[int] = []
                for element in package.elements(relation.target):
                    name = element.path.rpartition("/")[2].rpartition("}")[2]
                    if name in ("row", "col") and element.text.strip().isdecimal():
                        corners.append(int(element.text) + 1)
                    elif name.endswith("Anchor"):
                        left, top, *end = corners[:4] if len(corners) >= 2 else [1, 1]
                        right, bottom = end if len(end) == 2 else (left, top)
                        self.objects.append(Area(top, left, bottom, right))
                        corners = []
                for chart in package.relations(relation.target).values():
                    if chart.target and chart.kind == "chart":
                        self._chart(package, chart.target)

    def _chart(self, package: Package, part: str) -> None:
        for element in package.elements(part):
            name = element.path.rpartition("/")[2].rpartition("}")[2]
            if (name == "t" and element.text.strip()) or (name == "v" and "tx/v" in element.path.replace("chart}", "")):
                self.chart_texts.append(element.text.strip())
            elif name == "f" and element.text.strip():
                self.chart_ranges.append(element.text.strip())


@dataclass(frozen=True)
class BookLook:
    """Formats of cells and of conditional formats by number, and how the workbook works out and shows."""

    cells: tuple[CellLook, ...] = (CellLook(),)
    conditional: tuple[CellLook, ...] = ()
    settings: tuple[str, ...] = ()


def faint_run(name: str, given: Attributes) -> bool:
    """Whether a property of a run of letters makes them white, struck, raised or tiny."""
    color = given.get("rgb", "")[-6:].upper()
    white = name == "color" and (
        given.get("theme") == "0" or (color != "" and contrast(color, "FFFFFF") < LEAST_CONTRAST)
    )
    small = name == "sz" and _number(given.get("val", "11"), 11.0) < LEAST_SIZE
    return (
        white or small or (name in ("strike", "vertAlign") and given.get("val", "1") not in ("0", "false", "baseline"))
    )


def contrast(one: str, other: str) -> float:
    """The contrast of two colors (RRGGBB), from 1 to 21 (WCAG 2.2, relative luminance and contrast ratio)."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(color: str) -> float:
    try:
        parts = [int(color[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    except ValueError:
        return 0.0
    red, green, blue = (x / 12.92 if x <= 0.04045 else ((x + 0.055) / 1.055) ** 2.4 for x in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def areas_of(text: str) -> tuple[Area, ...]:
    """The ranges of a list of them."""
    return tuple(area for part in text.replace("$", "").split() if (area := area_of(part)))


def _number(text: str, otherwise: float) -> float:
    try:
        return float(text)
    except ValueError:
        return otherwise


def _theme(package: Package, part: str) -> dict[str, str]:
    """The colors of a theme by name."""
    found: dict[str, str] = {}
    for element in package.elements(part) if part in package else ():
        names = [step.rpartition("}")[2] for step in element.path.split("/")]
        if len(names) > 2 and names[-3] == "clrScheme" and names[-1] in ("srgbClr", "sysClr"):
            found[names[-2]] = element.attributes.get("lastClr") or element.attributes.get("val", "")
    return found


class _Styles:
    """Fonts, fills and formats of the part of styles, gathered as its elements end."""

    def __init__(self, theme: Mapping[str, str]) -> None:
        self.theme = theme
        self.codes = dict(_BUILT_IN)
        self.fonts: list[CellLook] = []
        self.fills: list[tuple[str, str]] = []
        self.cells: list[CellLook] = []
        self.conditional: list[CellLook] = []
        self._parts: dict[str, Attributes] = {}

    def color(self, given: Attributes | None) -> str:
        if given is None or given.get("auto") in _YES:
            return ""
        if "rgb" in given:
            return given["rgb"][-6:].upper()
        number = int(_number(given.get("theme", given.get("indexed", "99")), 99))
        if "theme" in given:
            known = self.theme.get(_THEME[number], "") if number < len(_THEME) else ""
            return _tinted(known.upper(), _number(given.get("tint", "0"), 0.0)) if known else "?"
        if number in (64, 65):
            return "" if number == 64 else "FFFFFF"
        return _PALETTE[number % 8] if number < 16 else "?"

    def font(self, prefix: str) -> CellLook:
        parts = {path.removeprefix(prefix): given for path, given in self._parts.items() if path.startswith(prefix)}
        marks = tuple(
            mark
            for mark, path in (("struck", "strike"), ("raised", "vertAlign"))
            if path in parts and parts[path].get("val", "1") not in ("0", "false", "baseline")
        )
        return CellLook(
            ink=self.color(parts.get("color")), size=_number(parts.get("sz", {}).get("val", "11"), 11.0), marks=marks
        )

    def fill(self, prefix: str, solid: str) -> tuple[str, str]:
        pattern = self._parts.get(f"{prefix}patternFill", {}).get("patternType", solid)
        name = "bgColor" if solid else "fgColor"
        gradient = f"{prefix}gradientFill" in self._parts
        return self.color(self._parts.get(f"{prefix}patternFill/{name}")), "gradient" if gradient else pattern

    def take(self, element: Element) -> None:
        path, given = element.path.removeprefix("styleSheet/"), element.attributes
        self._parts[path] = given
        if path == "numFmts/numFmt":
            self.codes[given.get("numFmtId", "")] = text_value(given.get("formatCode", ""))
        elif path == "fonts/font":
            self.fonts.append(self.font("fonts/font/"))
        elif path == "fills/fill":
            self.fills.append(self.fill("fills/fill/", ""))
        elif path == "cellXfs/xf":
            self.cells.append(self._cell(given))
        elif path == "dxfs/dxf":
            fill, pattern = self.fill("dxfs/dxf/fill/", "solid")
            code = text_value(self._parts.get("dxfs/dxf/numFmt", {}).get("formatCode", ""))
            look = self.font("dxfs/dxf/font/")
            self.conditional.append(look._replace(code=code, fill=fill, pattern=pattern))
        else:
            return
        self._parts = {}

    def _cell(self, given: Attributes) -> CellLook:
        font = _at(self.fonts, given.get("fontId", "0"), CellLook())
        fill, pattern = _at(self.fills, given.get("fillId", "0"), ("", ""))
        alignment = self._parts.get("cellXfs/xf/alignment", {})
        marks = font.marks
        marks += ("filled",) if alignment.get("horizontal") == "fill" else ()
        marks += ("turned",) if alignment.get("readingOrder") == "2" else ()
        locked = self._parts.get("cellXfs/xf/protection", {}).get("locked", "1") in _YES
        number = given.get("numFmtId", "0")
        return font._replace(
            code=self.codes.get(number, f"format {number}"), fill=fill, pattern=pattern, marks=marks, locked=locked
        )


def _at(items: list[Item], number: str, otherwise: Item) -> Item:
    return items[int(number)] if number.isdecimal() and int(number) < len(items) else otherwise


def _tinted(color: str, tint: float) -> str:
    """A color lighter (tint above 0) or darker, by ECMA-376 part 1, 18.8.19, on each part of it alike."""
    parts = [int(color[place : place + 2], 16) for place in (0, 2, 4)]
    return "".join(f"{round(x * (1 + tint) if tint < 0 else x + (255 - x) * tint):02X}" for x in parts)


def read_looks(package: Package, main: str, styles: str) -> BookLook:
    """Return how a workbook shows its cells. main: the part of the workbook; styles: that of its formats, or ""."""
    settings = []
    for element in package.elements(main, MAIN):
        if element.path == "workbook/calcPr":
            given = element.attributes
            settings += ["calculation is manual"] if given.get("calcMode") == "manual" else []
            settings += ["precision as displayed"] if given.get("fullPrecision", "1") not in _YES else []
    gathered = _Styles(_theme(package, package.target(main, "theme")))
    for element in package.elements(styles, MAIN) if styles else ():
        gathered.take(element)
    return BookLook(tuple(gathered.cells) or (CellLook(),), tuple(gathered.conditional), tuple(settings))
