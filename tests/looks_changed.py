"""Changes of what a person sees, made in the markup of a workbook: some make it read otherwise, some don't."""

from __future__ import annotations

import copy
import random
import zipfile
from collections.abc import Callable
from pathlib import Path

from lxml import etree

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
DRAWN = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
BOOK, STYLES, TEXTS = "xl/workbook.xml", "xl/styles.xml", "xl/sharedStrings.xml"


class Markup:
    """The parts of a workbook, to be changed and written."""

    def __init__(self, path: Path) -> None:
        with zipfile.ZipFile(path) as archive:
            self.parts = {name: archive.read(name) for name in archive.namelist()}
        self.roots: dict[str, etree._Element] = {}
        names = [sheet.get("name") for sheet in self.root(BOOK).iter(MAIN + "sheet")]
        self.tabs = {name: f"xl/worksheets/sheet{number}.xml" for number, name in enumerate(names, 1)}

    def root(self, part: str) -> etree._Element:
        if part not in self.roots:
            self.roots[part] = etree.fromstring(self.parts[part])
        return self.roots[part]

    def tab(self, name: str) -> etree._Element:
        return self.root(self.tabs[name])

    def write(self, path: Path) -> Path:
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
            for name, content in self.parts.items():
                archive.writestr(name, etree.tostring(self.roots[name]) if name in self.roots else content)
        return path

    def before(self, name: str, tag: str, *followers: str) -> etree._Element:
        """A new element of a tab, at its place in the order of the schema: before the first of its followers."""
        made = etree.Element(MAIN + tag)
        root = self.tab(name)
        later = next((child for child in root if child.tag.removeprefix(MAIN) in followers), None)
        root.append(made) if later is None else later.addprevious(made)
        return made


_AFTER_CONDITIONAL = ("dataValidations", "hyperlinks", "printOptions", "pageMargins", "pageSetup", "headerFooter")
_TEXT, _NUMBER = "text", "number"
_PLAIN = ("0.00", "0.000", "#,##0.00", "0.0")


_MONEY = ('#,##0.00;-#,##0.00;"–"', '0.00;-0.00;"–"')


def spots(
    markup: Markup, tab: str, kind: str, codes_of_numbers: tuple[str, ...] = (*_PLAIN, *_MONEY)
) -> list[etree._Element]:
    """The cells of a tab that hold a text, or a number with decimals in its drafted look."""
    codes = {item.get("numFmtId"): item.get("formatCode") for item in markup.root(STYLES).iter(MAIN + "numFmt")}
    formats = [codes.get(xf.get("numFmtId"), "") for xf in markup.root(STYLES).find(MAIN + "cellXfs")]
    found = []
    for cell in markup.tab(tab).iter(MAIN + "c"):
        value, is_text = cell.find(MAIN + "v"), cell.get("t") in ("s", "str")
        if value is None or value.text is None or is_text != (kind == _TEXT) or (is_text and value.text == ""):
            continue
        code = formats[int(cell.get("s", "0"))]
        if is_text or code in codes_of_numbers:
            found.append(cell)
    return found


def restyled(markup: Markup, cell: etree._Element, change: Callable[[etree._Element, Markup], None]) -> str:
    """Give a cell a format of its own, like the one that it had but for a change. Returns its address."""
    formats = markup.root(STYLES).find(MAIN + "cellXfs")
    mine = copy.deepcopy(formats[int(cell.get("s", "0"))])
    change(mine, markup)
    cell.set("s", str(len(formats)))
    formats.append(mine)
    return cell.get("r")


def coded(code: str) -> Callable[[etree._Element, Markup], None]:
    def change(xf: etree._Element, markup: Markup) -> None:
        codes = markup.root(STYLES).find(MAIN + "numFmts")
        number = str(1000 + len(codes))
        etree.SubElement(codes, MAIN + "numFmt", numFmtId=number, formatCode=code)
        xf.set("numFmtId", number)

    return change


def inked(**parts: dict[str, str]) -> Callable[[etree._Element, Markup], None]:
    """A font like the cell's, with these elements in the place of its own."""

    def change(xf: etree._Element, markup: Markup) -> None:
        fonts = markup.root(STYLES).find(MAIN + "fonts")
        font = copy.deepcopy(fonts[int(xf.get("fontId", "0"))])
        for name, given in parts.items():
            for old in font.findall(MAIN + name):
                font.remove(old)
            font.insert(0, etree.Element(MAIN + name, given))
        xf.set("fontId", str(len(fonts)))
        fonts.append(font)

    return change


def filled(color: str, pattern: str = "solid") -> Callable[[etree._Element, Markup], None]:
    def change(xf: etree._Element, markup: Markup) -> None:
        fills = markup.root(STYLES).find(MAIN + "fills")
        fill = etree.SubElement(etree.SubElement(fills, MAIN + "fill"), MAIN + "patternFill", patternType=pattern)
        etree.SubElement(fill, MAIN + "fgColor", rgb=color)
        xf.set("fillId", str(len(fills) - 1))

    return change


def aligned(**given: str) -> Callable[[etree._Element, Markup], None]:
    def change(xf: etree._Element, _: Markup) -> None:
        alignment = xf.find(MAIN + "alignment")
        alignment = etree.SubElement(xf, MAIN + "alignment") if alignment is None else alignment
        alignment.attrib.update(given)

    return change


Change = Callable[[Markup, str, random.Random], None]


def cell(
    kind: str, *changes: Callable[[etree._Element, Markup], None], codes: tuple[str, ...] = (*_PLAIN, *_MONEY)
) -> Change:
    """One of these changes to a cell that holds a text or a number; of Limits where a tab has none."""

    def change(markup: Markup, tab: str, rng: random.Random) -> None:
        found = spots(markup, tab, kind, codes) or spots(markup, "Limits", kind, codes)
        restyled(markup, rng.choice(found), rng.choice(changes))

    return change


def row(**given: str) -> Change:
    def change(markup: Markup, tab: str, rng: random.Random) -> None:
        rng.choice(spots(markup, tab, _TEXT)).getparent().attrib.update(given)

    return change


def column(**given: str) -> Change:
    def change(markup: Markup, tab: str, rng: random.Random) -> None:
        columns = markup.tab(tab).find(MAIN + "cols")
        rng.choice(list(columns)[:3]).attrib.update(given)

    return change


def conditional(kind: str, look: dict[str, dict[str, str]], inside: str = "") -> Change:
    def change(markup: Markup, tab: str, rng: random.Random) -> None:
        dxfs = markup.root(STYLES).find(MAIN + "dxfs")
        dxf = etree.SubElement(dxfs, MAIN + "dxf")
        for path, given in look.items():
            parent = dxf
            for step in path.split("/"):
                parent = etree.SubElement(parent, MAIN + step)
            parent.attrib.update(given)
        area = markup.before(tab, "conditionalFormatting", *_AFTER_CONDITIONAL)
        area.set("sqref", rng.choice(spots(markup, tab, _TEXT)).get("r"))
        rule = etree.SubElement(area, MAIN + "cfRule", type=kind, priority="9000", dxfId=str(len(dxfs) - 1))
        if kind == "expression":
            etree.SubElement(rule, MAIN + "formula").text = "TRUE"
        else:
            etree.SubElement(rule, MAIN + inside)

    return change


def attribute(part: str, path: str, **given: str) -> Change:
    """Attributes of an element of a part, or of the tab where part is ""."""

    def change(markup: Markup, tab: str, _: random.Random) -> None:
        root = markup.root(part) if part else markup.tab(tab)
        root.find("/".join(MAIN + step for step in path.split("/"))).attrib.update(given)

    return change


def state(markup: Markup, tab: str, rng: random.Random) -> None:
    """The tab hidden; another one where it was drafted hidden."""
    shown = [sheet for sheet in markup.root(BOOK).iter(MAIN + "sheet") if "state" not in sheet.attrib]
    mine = [sheet for sheet in shown if sheet.get("name") == tab] or shown
    rng.choice(mine).set("state", rng.choice(("hidden", "veryHidden")))


def prompt(markup: Markup, _: str, rng: random.Random) -> None:
    boxes = list(markup.tab("Inspection").iter(MAIN + "dataValidation"))
    rng.choice(boxes).set(rng.choice(("prompt", "promptTitle")), "Skip this one")


def header(markup: Markup, tab: str, rng: random.Random) -> None:
    """Other words below the page; a tab that prints no page has none until now."""
    footer = next(markup.tab(tab).iter(MAIN + "oddFooter"), None)
    if footer is None:
        page = markup.before(tab, "headerFooter", "rowBreaks", "colBreaks", "drawing", "legacyDrawing", "tableParts")
        footer = etree.SubElement(page, MAIN + "oddFooter")
    drafted = footer.text or "&R"
    footer.text = rng.choice(("&LThis car is good to drive", "&CLY-999 revision 7", f"{drafted} approved"))


def print_area(markup: Markup, _: str, rng: random.Random) -> None:
    areas = [item for item in markup.root(BOOK).iter(MAIN + "definedName") if item.get("name") == "_xlnm.Print_Area"]
    mine = rng.choice([item for item in areas if "$A$1:" in item.text])
    name = mine.text.partition("!")[0]
    mine.text = rng.choice((f"{name}!$A$1:$B$5", f"{name}!$A$9:$K$3000", f"{name}!$A$1:$A$3000"))


def chart(markup: Markup, _: str, rng: random.Random) -> None:
    """A frame of the chart named otherwise, or a title over it."""
    part = rng.choice([name for name in markup.parts if name.startswith("xl/charts/chart")])
    root = markup.root(part)
    names = [item for item in root.iter() if item.tag == f"{CHART}v" and item.getparent().tag == f"{CHART}tx"]
    parent = next(root.iter(f"{CHART}chart"))
    mine = rng.choice((*names, parent))
    if mine is parent:
        for name in ("title", "tx", "rich"):
            made = etree.Element(CHART + name)
            parent.insert(0, made)
            parent = made
        for name in ("p", "r", "t"):
            mine = parent = etree.SubElement(parent, DRAWN + name)
    mine.text = "All readings within limits"


def drawn_from(markup: Markup, _: str, rng: random.Random) -> None:
    """A series of the chart drawn from other cells: its points stand elsewhere, or carry another number."""
    part = rng.choice([name for name in markup.parts if name.startswith("xl/charts/chart")])
    mine = rng.choice(list(markup.root(part).iter(f"{CHART}f")))
    mine.text = rng.choice((mine.text.replace("$C$", "$B$"), "'Summary'!$A$1", f"{mine.text[:-1]}0")) + "1"


def over(markup: Markup, _: str, rng: random.Random) -> None:
    """A chart of the Summary drawn over its first rows."""
    root = markup.root("xl/drawings/drawing1.xml")
    start = rng.choice([item for item in root.iter() if item.tag.endswith("}from")])
    for item in start:
        if item.tag.endswith(("}row", "}col")):
            item.text = "0"


def faint_run(markup: Markup, tab: str, rng: random.Random) -> None:
    """A word of a text made white, struck or tiny."""
    mine = rng.choice([item for item in spots(markup, tab, _TEXT) if item.get("t") == "s"])
    said = markup.root(TEXTS)[int(mine.find(MAIN + "v").text)]
    text = "".join(item.text or "" for item in said.iter(MAIN + "t"))
    for child in list(said):
        said.remove(child)
    for number, piece in enumerate((text[: len(text) // 2], text[len(text) // 2 :])):
        run = etree.SubElement(said, MAIN + "r")
        if number:
            name, given = rng.choice((("color", {"rgb": "FFFFFFFF"}), ("strike", {}), ("sz", {"val": "1"})))
            etree.SubElement(etree.SubElement(run, MAIN + "rPr"), MAIN + name, given)
        etree.SubElement(run, MAIN + "t", {"{http://www.w3.org/XML/1998/namespace}space": "preserve"}).text = piece


_HIDING = (
    ";;;",
    "0",
    '"798"',
    "0,",
    "0.0,,",
    "0%",
    '[>10]"good";0.000',
    '0.000"0"',
    "0.00E+00",
    '"9"0.000',
    "?/?",
    "[=0]0;0",
)
_WORDS = (
    ";;;",
    '0;0;0;"within limits"',
    '@" (good)"',
    '0;0;0;"";',
    '"good";"good";"good";"good"',
    "General;General;General;",
)

# What makes a number or a word read otherwise.
BAD: dict[str, Change] = {
    "a number's format": cell(_NUMBER, *map(coded, _HIDING)),
    "a text's format": cell(_TEXT, *map(coded, _WORDS)),
    "white on white": cell(
        _TEXT,
        inked(color={"rgb": "FFFFFFFF"}),
        inked(color={"theme": "0"}),
        inked(color={"indexed": "9"}),
        inked(color={"rgb": "FFFDFDFD"}),
        inked(color={"theme": "1", "tint": "0.98"}),
        filled("FF000000"),
        filled("FF101010"),
    ),
    "a pattern over it": cell(_TEXT, filled("FF000000", "darkGray"), filled("FF000000", "darkTrellis")),
    "struck, tiny, raised": cell(
        _NUMBER, inked(strike={}), inked(sz={"val": "1"}), inked(vertAlign={"val": "superscript"})
    ),
    "repeated or turned": cell(_TEXT, aligned(horizontal="fill"), aligned(readingOrder="2")),
    "a hidden row": row(hidden="1"),
    "a flat row": row(ht="1", customHeight="1"),
    "a hidden column": column(hidden="1"),
    "a narrow column": column(width="0.1"),
    "a hidden tab": state,
    "a conditional format that blanks": conditional("expression", {"numFmt": {"numFmtId": "999", "formatCode": ";;;"}}),
    "a conditional format in white": conditional("expression", {"font/color": {"rgb": "FFFFFFFF"}}),
    "icons for numbers": conditional("iconSet", {"font": {}}, "iconSet"),
    "bars for numbers": conditional("dataBar", {"font": {}}, "dataBar"),
    "a prompt": prompt,
    "a footer": header,
    "less printed": print_area,
    "a chart's words": chart,
    "a chart's ranges": drawn_from,
    "a picture over cells": over,
    "formulas shown": attribute("", "sheetViews/sheetView", showFormulas="1"),
    "no zeros": attribute("", "sheetViews/sheetView", showZeros="0"),
    "precision as displayed": attribute(BOOK, "calcPr", fullPrecision="0"),
    "manual calculation": attribute(BOOK, "calcPr", calcMode="manual"),
    "a word in white": faint_run,
}
# What is nobody's business.
HARMLESS: dict[str, Change] = {
    "more decimals": cell(_NUMBER, coded("0.00000"), coded("#,##0.00000"), coded("General"), codes=_PLAIN),
    "another font": cell(_TEXT, inked(name={"val": "Arial"}), inked(sz={"val": "16"}), inked(b={}), inked(i={})),
    "dark ink, light fill": cell(
        _TEXT, inked(color={"rgb": "FF003366"}), filled("FFFFFFCC"), inked(color={"theme": "1"})
    ),
    "another place in the cell": cell(_TEXT, aligned(horizontal="center"), aligned(wrapText="1"), aligned(indent="3")),
    "a wider column": column(width="40"),
    "a higher row": row(ht="60", customHeight="1"),
    "zoom": attribute("", "sheetViews/sheetView", zoomScale="70"),
    "gridlines": attribute("", "sheetViews/sheetView", showGridLines="1"),
    "a conditional fill": conditional("expression", {"fill/patternFill/bgColor": {"rgb": "FFFFFF99"}}),
    "margins": attribute("", "pageMargins", left="1", right="1"),
}
