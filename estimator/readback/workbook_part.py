"""Structure of a workbook: its tabs, its names, the parts of shared texts and formats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from estimator.errors import UnreadableFile
from estimator.readback.budget import LIMITS, one_line
from estimator.readback.elements import MAIN, Element
from estimator.readback.package_parts import Package, Relation
from estimator.readback.signatures import what_the_zip_is

# ECMA-376 part 1, L.4.6 and 22.8: the namespace of relationship identifiers, transitional and strict
_IDENTIFIERS = (
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships}id",
    "http://purl.oclc.org/ooxml/officeDocument/relationships}id",
)
# ECMA-376 part 1, 12.3.23, and MS-OFFMACRO2 2.2: the content types of workbooks, in lower case
_WORKBOOK_TYPES = frozenset(
    (
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
        "application/vnd.openxmlformats-officedocument.spreadsheetml.template.main+xml",
        "application/vnd.ms-excel.sheet.macroenabled.main+xml",
        "application/vnd.ms-excel.template.macroenabled.main+xml",
    )
)
_OTHER_KINDS = ("chartsheet", "dialogsheet", "xlMacrosheet", "xlIntlMacrosheet")
_STATES = ("visible", "hidden", "veryHidden")
_NO_TAB = "-1"
_TABS = {str(number): number for number in range(-1, LIMITS["tabs"])}
_YES = ("1", "true", "on")


@dataclass(frozen=True)
class Tab:
    """One tab: its name, the kind of its part ("worksheet", "chartsheet"), the part, its state."""

    name: str
    kind: str
    part: str
    state: str


@dataclass
class Structure:
    """What the workbook's part says. texts, styles: names of parts, "" where there are none."""

    tabs: list[Tab] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    date1904: bool = False
    texts: str = ""
    styles: str = ""


def relation_id(element: Element) -> str:
    """Return the identifier of the relationship that an element names, or ""."""
    return next((element.attributes[name] for name in _IDENTIFIERS if name in element.attributes), "")


def kind_of_workbook(package: Package) -> str:
    """Return the name of the workbook's part, once it is sure that the file is a workbook. Raises UnreadableFile."""
    main = package.target("", "officeDocument")
    if main not in package:
        raise UnreadableFile(package.budget.path, *what_the_zip_is(package.names, ""))
    types: dict[str, str] = {}
    for element in package.elements("[Content_Types].xml"):
        given = element.attributes
        name = (given.get("PartName") or "." + given.get("Extension", "")).lower()
        kind = given.get("ContentType", "").lower()
        if types.setdefault(name, kind) != kind:
            raise package.budget.damaged(f'two content types are given for "{one_line(name)}"')
    kind = types.get(f"/{main.lower()}") or types.get("." + main.rpartition(".")[2].lower(), "")
    if kind not in _WORKBOOK_TYPES:
        raise UnreadableFile(package.budget.path, *what_the_zip_is(package.names, ""))
    return main


def read_structure(package: Package, main: str) -> Structure:
    """Return what the workbook's part, named `main`, says. Raises UnreadableFile for one that contradicts itself."""
    relations = package.relations(main)
    structure = Structure()
    names: list[tuple[int, str, str]] = []
    for element in package.elements(main, MAIN):
        given = element.attributes
        if element.path == "workbook/sheets/sheet":
            package.budget.spend("tabs")
            structure.tabs.append(_tab(package, given.get("name", ""), given, relations.get(relation_id(element))))
        elif element.path == "workbook/definedNames/definedName":
            package.budget.spend("defined names")
            place = given.get("localSheetId", _NO_TAB)
            names.append((_TABS.get(place, -2), given.get("name", ""), element.text))
        elif element.path == "workbook/workbookPr":
            structure.date1904 = given.get("date1904", "0") in _YES
    structure.texts, structure.styles = package.target(main, "sharedStrings"), package.target(main, "styles")
    if not structure.styles and "xl/styles.xml" in package:
        raise package.budget.damaged("its cell formats are there and nothing points to them")
    _refuse_doubles(package, "tab", [tab.name for tab in structure.tabs])
    _refuse_doubles(package, "content of the tab", [tab.part for tab in structure.tabs])
    structure.names = _named(package, structure.tabs, names)
    return structure


def _tab(package: Package, name: str, given: Mapping[str, str], relation: Relation | None) -> Tab:
    if relation is None or relation.target not in package:
        raise package.budget.damaged(f'the tab "{one_line(name)}" has no content')
    if relation.kind not in ("worksheet", *_OTHER_KINDS):
        raise package.budget.damaged(f'the tab "{one_line(name)}" is of no known kind')
    state = given.get("state", "visible")
    return Tab(name, relation.kind, relation.target, state if state in _STATES else "visible")


def _named(package: Package, tabs: Sequence[Tab], names: Sequence[tuple[int, str, str]]) -> dict[str, str]:
    """Return name -> what it stands for; names: number of the tab that it belongs to or -1, name, text."""
    found: dict[str, str] = {}
    for place, name, text in names:
        if not -1 <= place < len(tabs):
            raise package.budget.damaged(f'the name "{one_line(name)}" belongs to a tab that isn\'t there')
        found[f"{tabs[place].name}!{name}" if place >= 0 else name] = text
    if len(found) != len(names):
        _refuse_doubles(package, "name", [f"{name} ({place})" for place, name, _ in names])
    return found


def _refuse_doubles(package: Package, what: str, names: list[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name.lower() in seen:
            raise package.budget.damaged(f'the {what} "{one_line(name)}" is there twice')
        seen.add(name.lower())
