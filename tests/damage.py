"""Damage to a workbook of every kind, drawn from a seed; and the judge of what the program then says.

The judge reads the damaged file with lxml alone (written_file), or with openpyxl where that fails.
"""

import random
import re
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from lxml import etree
from openpyxl_judge import judged
from returned_workbooks import cells_by_address, check, with_cells
from written_file import (
    FORMULA,
    MAIN,
    VALUE,
    Edit,
    _text,
    emptied,
    sheet_parts,
    to_formula,
    to_stored,
    to_value,
    unshared,
    without_formula,
)

from estimator.errors import UnreadableFile
from estimator.limits.sheet_arithmetic import serial
from estimator.readback.check import Checked
from estimator.workbook.book import Book, Cell

LETTERS = b"<>/\"'=&; 0159aArstv!-?[]:_.\0\n\xff\xc3"
TYPED = (
    "2,150 psi",
    "152bar",
    "~2200",
    "n/a",
    "OK",
    "",
    " ",
    "=1+1",
    0,
    1,
    -1,
    2200.5,
    1e9,
    46351,
    "authorized",
    "12,5",
)

Content = Mapping[tuple[str, str], tuple[str | None, object]]  # tab and address -> formula, value


# --- kinds of damage: each takes a source of chance, the sound file, its Book and the place of the copy -------------


def flipped(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    content = bytearray(sound)
    for _ in range(rng.choice((1, 1, 2, 8, 64))):
        content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)
    out.write_bytes(content)


def cut(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    place, length = rng.randrange(len(sound)), rng.choice((1, 10, 1000, 50_000, len(sound)))
    out.write_bytes(sound[:place] + sound[place + length :])


def overwritten(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    place, length = rng.randrange(len(sound)), rng.choice((1, 16, 512, 4096))
    new = bytes(length) if rng.random() < 0.5 else sound[-place - 1 :][:length]
    out.write_bytes((sound[:place] + new + sound[place + len(new) :])[: len(sound)])


def parts_mixed(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    """Parts swapped, dropped, emptied, doubled under another name, cut short."""
    parts = _parts(sound)
    one, other = rng.sample(sorted(parts), 2)
    match rng.choice(("swap", "drop", "empty", "double", "cut")):
        case "swap":
            parts[one], parts[other] = parts[other], parts[one]
        case "drop":
            del parts[one]
        case "empty":
            parts[one] = b""
        case "double":
            parts[one] = parts[other]
        case "cut":
            parts[one] = parts[one][: rng.randrange(len(parts[one]) or 1)]
    _pack(out, parts)


def markup_changed(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    """One to three places of a part changed, dropped, doubled or turned around."""
    parts = _parts(sound)
    name = rng.choice(sorted(parts))
    content = parts[name]
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        place, length = rng.randrange(len(content) or 1), rng.choice((1, 2, 5, 20, 60))
        piece = content[place : place + length]
        new = rng.choice((b"", bytes([rng.choice(LETTERS)]), piece * 2, piece[::-1]))
        content = content[:place] + new + content[place + length :]
    parts[name] = content
    _pack(out, parts)


def elements_changed(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    """An element of a sheet or of the workbook dropped, doubled, emptied, moved; an attribute changed."""
    parts = _parts(sound)
    names = [name for name in parts if re.search(r"worksheets/sheet\d+\.xml$|workbook\.xml$|sharedStrings\.xml$", name)]
    name = rng.choice(sorted(names))
    root = etree.fromstring(parts[name])
    elements = [item for item in root.iter() if item.getparent() is not None]
    for _ in range(rng.choice((1, 1, 2, 5))):
        item, other = rng.sample(elements, 2)
        if item.getparent() is None or other.getparent() is None:
            continue
        match rng.choice(("drop", "double", "empty", "move", "attribute", "text")):
            case "drop":
                item.getparent().remove(item)
            case "double":
                item.addnext(etree.fromstring(etree.tostring(item)))
            case "empty":
                item[:] = []
                item.text = None
            case "move" if not _within(other, item):
                other.addnext(item)
            case "attribute" if item.attrib:
                key = rng.choice(sorted(item.attrib))
                item.set(key, rng.choice(("", "0", "1", "7", "A1", "B9", "s", "str", "e", "b", "inlineStr", "zz")))
            case "text":
                item.text = rng.choice(("", "0", "1", "1E5", "-3", "authorized", "A1+1", "nan", "#REF!", "2026-11-25"))
    parts[name] = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    _pack(out, parts)


def cells_changed(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    """One to six cells typed over, emptied or given another formula or stored value; boxes too."""
    places = cells_by_address(book)
    edits: dict[tuple[str, str], Edit] = {}
    for _ in range(rng.choice((1, 1, 2, 6))):
        place = (
            rng.choice(list(places))
            if rng.random() < 0.9
            else (rng.choice(book.tabs).name, f"AZ{rng.randrange(1, 99)}")
        )
        edits[place] = _edit(rng, places.get(place))
    source = out.with_suffix(".source.xlsx")
    source.write_bytes(sound)
    with_cells(source, out, edits)


def boxes_filled(rng: random.Random, sound: bytes, book: Book, out: Path) -> None:
    """Entries typed into some boxes: the rest stays, so that stored values are stale."""
    boxes = [place for place, cell in cells_by_address(book).items() if cell.box is not None]
    source = out.with_suffix(".source.xlsx")
    source.write_bytes(sound)
    with_cells(source, out, {place: to_value(rng.choice(TYPED)) for place in rng.sample(boxes, rng.choice((1, 3, 20)))})


# Kind -> how many of a hundred
KINDS: dict[Callable[..., None], int] = {
    flipped: 22,
    cut: 8,
    overwritten: 8,
    parts_mixed: 12,
    markup_changed: 18,
    elements_changed: 14,
    cells_changed: 14,
    boxes_filled: 4,
}


def damaged(seed: int, sound: bytes, book: Book, out: Path) -> str:
    """Write the damaged copy of a seed. Returns its kind."""
    rng = random.Random(f"damage {seed}")
    (kind,) = rng.choices(list(KINDS), list(KINDS.values()))
    kind(rng, sound, book, out)
    return kind.__name__


def _edit(rng: random.Random, cell: Cell | None) -> Edit:
    choices: list[Edit] = [to_value(rng.choice(TYPED)), emptied]
    if cell is not None and cell.formula is not None:
        choices += [
            to_stored(rng.choice((0, 1, 12.5, "authorized", "#REF!"))),
            without_formula,
            to_formula(rng.choice(("1+1", "A1", "SUM(B1:B9)"))),
        ]
    elif cell is not None:
        choices.append(to_formula("1+1"))
    return rng.choice(choices)


def _parts(sound: bytes) -> dict[str, bytes]:
    import io

    with zipfile.ZipFile(io.BytesIO(sound)) as book:
        return {name: book.read(name) for name in book.namelist()}


def _pack(out: Path, parts: Mapping[str, bytes]) -> None:
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as book:
        for name, content in parts.items():
            book.writestr(name, content)


def _within(item: etree._Element, other: etree._Element) -> bool:
    return item is other or other in item.iterancestors()


# --- the judge --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Verdict:
    """What the program said of a damaged copy, and what is wrong with that."""

    state: str
    faults: tuple[str, ...]
    judged: bool = False


def judge(path: Path, sound: Content, book: Book) -> Verdict:
    """Check a copy, and hold what is said against an independent reading of it."""
    try:
        checked = check(path)
    except UnreadableFile as refusal:
        words = str(refusal)
        wrong = [] if refusal.what and refusal.fix and "\n" not in words else [f"no words in one line: {words!r}"]
        wrong += [] if refusal.exit_status in (65, 66) else [f"exit status {refusal.exit_status}"]
        return Verdict("unreadable", tuple(wrong))
    if checked.state == "unsound" and checked.entries is None:
        return Verdict(checked.state, ())
    present = content_of(path)
    if present is None:
        return Verdict(checked.state, ("nobody else can read it",) if checked.state == "sound" else ())
    faults = list(_wrong_boxes(checked, present))
    if checked.state == "sound":
        faults += _differences(checked, present, sound, book)
    return Verdict(checked.state, tuple(faults), True)


def content_of(path: Path) -> Content | None:
    """Formula and value of each cell that holds something, read without the program; None where that can't be done."""
    try:
        with zipfile.ZipFile(path) as book:
            texts = "xl/sharedStrings.xml"
            shared = [_text(item) for item in etree.fromstring(book.read(texts))] if texts in book.namelist() else []
            sheets = {name: unshared(etree.fromstring(book.read(part))) for name, part in sheet_parts(book).items()}
        found: dict[tuple[str, str], tuple[str | None, object]] = {}
        for tab, root in sheets.items():
            for cell in root.find(MAIN + "sheetData").iter(MAIN + "c"):
                formula, value = cell.findtext(FORMULA), _value(cell, shared)
                if value != "" or formula is not None:
                    found[tab, cell.get("r")] = (formula, value)
        return found
    except Exception:  # whatever lxml and zipfile raise: then it is openpyxl's turn
        return _by_openpyxl(path)


def _value(cell: etree._Element, shared: list[str]) -> object:
    kind, stored = cell.get("t", "n"), cell.findtext(VALUE) or ""
    if kind == "inlineStr":
        return _text(cell)
    if kind == "s":
        return shared[int(stored)]
    return float(stored) if kind == "n" and stored else stored


def _by_openpyxl(path: Path) -> Content | None:
    from estimator.workbook.placed_cells import column_letter

    try:
        book = judged(path)
    except Exception:  # what openpyxl raises on damage is anything
        return None
    return {
        (tab, f"{column_letter(column)}{row}"): (
            cell.formula and cell.formula.removeprefix("="),
            float(cell.value) if isinstance(cell.value, int | float) else cell.value or "",
        )
        for tab, sheet in book.sheets.items()
        for (row, column), cell in sheet.cells.items()
    }


def _wrong_boxes(checked: Checked, present: Content) -> list[str]:
    """Boxes whose reported value isn't what stands in the file at the cell reported."""
    wrong = []
    for box in checked.entries.boxes:
        _, value = present.get((box.tab, box.cell), (None, ""))
        reported = float(serial(box.value)) if isinstance(box.value, date) else box.value
        if reported is None:
            same = value == "" or not box.understood  # a row that stands twice isn't read
        elif isinstance(reported, str) and isinstance(value, str):
            truth = {"1": "TRUE", "0": "FALSE"}.get(value, value)
            same = reported.casefold() in (value.casefold(), truth.casefold())
        else:
            same = reported == value
        if not same:
            wrong.append(f"{box.key} at {box.tab}!{box.cell}: {reported!r} reported, {value!r} is there")
    return wrong


def _differences(checked: Checked, present: Content, sound: Content, book: Book) -> list[str]:
    """Cells of a copy called sound that aren't as in the sound one, boxes and what was reported as added left out."""
    if any(finding.rule in ("cell-moved", "text-changed") for finding in checked.integrity):
        return []  # notes: rows, columns or tabs went elsewhere, and this judge knows places alone
    boxes = {place for place, cell in cells_by_address(book).items() if cell.box is not None}
    added = {(item.tab, item.cell) for item in checked.findings if item.rule == "text-added"}
    tabs = {item.tab for item in checked.findings if item.rule == "text-added" and not item.cell}
    return [
        f"called sound, but {place} holds {present.get(place)}, was {sound.get(place)}"
        for place in present.keys() | sound.keys()
        if place not in boxes and place not in added and place[0] not in tabs and not _same(present, sound, place)
    ]


def _same(present: Content, sound: Content, place: tuple[str, str]) -> bool:
    one, other = present.get(place, (None, "")), sound.get(place, (None, ""))
    if one[0] != other[0]:
        return False
    if isinstance(one[1], float) and isinstance(other[1], float):
        least = 1.0 if place[0] == "Causes" else 1e-6  # probabilities count to six decimals
        return abs(one[1] - other[1]) <= 1e-9 * max(abs(one[1]), abs(other[1]), least)
    return one[1] == other[1]
