"""The parts of a workbook, streamed: bytes, XML elements and relationships, all of it under a budget."""

from __future__ import annotations

import posixpath
import zipfile
from collections.abc import Collection, Iterator
from typing import NamedTuple
from xml.parsers import expat

from estimator.readback.budget import Budget, one_line
from estimator.readback.faults import ZIP_FAULTS, zip_refusal

CHUNK_BYTES = 64 * 1024
_TOKEN_BYTES = 1024 * 1024  # longest tag, comment or attribute
_TEXT_BYTES = 64 * 1024  # expat hands over longer texts in pieces of this size
_PIECES = 64
_DEEPEST = 100
_NAME_LENGTH = 256
# Element -> what may stand directly in it, for those whose content is read one by one (ECMA-376 part 1, sml.xsd, and
# part 2). Anything else there would go unread, or shift what is counted.
_RICH_TEXT, _RUN = frozenset(("t", "r", "rPh", "phoneticPr")), frozenset(("t", "rPr"))
_CHILDREN = {
    "worksheet/sheetData": frozenset(("row",)),
    "worksheet/sheetData/row": frozenset(("c", "extLst")),
    "worksheet/sheetData/row/c": frozenset(("f", "v", "is", "extLst")),
    "worksheet/sheetData/row/c/is": _RICH_TEXT,
    "worksheet/sheetData/row/c/is/r": _RUN,
    "sst": frozenset(("si", "extLst")),
    "sst/si": _RICH_TEXT,
    "sst/si/r": _RUN,
    "comments/commentList": frozenset(("comment",)),
    "comments/commentList/comment/text": _RICH_TEXT,
    "comments/commentList/comment/text/r": _RUN,
    "workbook/sheets": frozenset(("sheet",)),
    "workbook/definedNames": frozenset(("definedName",)),
    "styleSheet/numFmts": frozenset(("numFmt",)),
    "styleSheet/cellXfs": frozenset(("xf",)),
    "Relationships": frozenset(("Relationship",)),
    "Types": frozenset(("Default", "Override")),
}
# What may stand only once in the element around it
_ONCE = frozenset(
    (
        "worksheet/sheetData/row/c/f",
        "worksheet/sheetData/row/c/v",
        "worksheet/sheetData/row/c/is",
        "worksheet/sheetData/row/c/is/t",
        "worksheet/sheetData/row/c/is/r/t",
        "sst/si/t",
        "sst/si/r/t",
        "comments/commentList/comment/text",
        "comments/commentList/comment/text/t",
        "comments/commentList/comment/text/r/t",
    )
)


class Element(NamedTuple):
    """A finished XML element.

    path: local names from the root, "worksheet/sheetData/row"; an element of another namespace than the root's is
    "namespace}name" in it. text: its own, if it has no children. parent: the attributes of the element around it.
    """

    path: str
    attributes: dict[str, str]
    text: str
    parent: dict[str, str]


class Relation(NamedTuple):
    """What a part says of another: the kind ("worksheet"), and the other's name; "" for what lies outside the file."""

    kind: str
    target: str


class Package:
    """The parts of one open workbook. `budget` says what reading them may cost."""

    def __init__(self, archive: zipfile.ZipFile, parts: dict[str, zipfile.ZipInfo], budget: Budget) -> None:
        self._archive = archive
        self._parts = parts
        self.budget = budget

    def __contains__(self, part: str) -> bool:
        return part.lower() in self._parts

    @property
    def names(self) -> list[str]:
        return list(self._parts)

    def stream(self, part: str) -> Iterator[bytes]:
        """The unpacked bytes of a part. Raises UnreadableFile for one that is missing, damaged or too big."""
        if part not in self:
            raise self.budget.damaged(f'its part "{one_line(part)}" is missing')
        try:
            with self._archive.open(self._parts[part.lower()]) as file:
                while chunk := file.read(CHUNK_BYTES):
                    self.budget.spend("bytes of markup", len(chunk))
                    self.budget.check_time()
                    yield chunk
        except ZIP_FAULTS as fault:
            raise zip_refusal(self.budget, fault) from fault

    def elements(self, part: str, namespaces: Collection[str] = ()) -> Iterator[Element]:
        """The elements of a part, each when it ends, innermost first; namespaces: those that its root may have."""
        parser = ElementParser(self, part, namespaces)
        for chunk in self.stream(part):
            yield from parser.feed(chunk)
        yield from parser.close()

    def relations(self, part: str) -> dict[str, Relation]:
        """Identifier -> relationship of a part ("" for the whole file); nothing outside the file is ever opened."""
        folder, name = posixpath.split(part)
        source = posixpath.join(folder, "_rels", f"{name}.rels")
        found: dict[str, Relation] = {}
        if source not in self:
            return found
        for element in self.elements(source):
            if element.path == "Relationships/Relationship":
                self.budget.spend("relationships")
                given = element.attributes
                target = posixpath.normpath(posixpath.join("/", folder, given.get("Target", ""))).lstrip("/")
                inside = given.get("TargetMode", "Internal") == "Internal"
                kind = given.get("Type", "").rpartition("/")[2]
                found[given.get("Id", "")] = Relation(kind, target if inside else "")
        return found


class ElementParser:
    """An XML parser that takes no document type, thus no entities, and no depth or length beyond reason.

    package, part: where the bytes come from, for the budget and the messages; namespaces: those that the root may
    have, all if there are none. path: of each element that is open. unusual: a comment, a CDATA section,
    a processing instruction or an encoding other than UTF-8 was seen.
    """

    def __init__(self, package: Package, part: str, namespaces: Collection[str] = ()) -> None:
        self.budget, self.part = package.budget, one_line(part)
        self.path: list[str] = []
        self.unusual = False
        self._namespaces = namespaces
        self._namespace = ""
        self._attributes: list[dict[str, str]] = [{}]
        self._around: dict[str, dict[str, str]] = {}
        self._done: list[Element] = []
        self._pieces: list[str] = []
        self._leaf = False
        self._fed = 0
        parser = self._parser = expat.ParserCreate(namespace_separator="}")
        parser.buffer_text, parser.buffer_size = True, _TEXT_BYTES
        parser.StartElementHandler, parser.EndElementHandler = self._start, self._end
        parser.CharacterDataHandler = self._pieces.append
        parser.StartDoctypeDeclHandler = self._doctype
        parser.StartNamespaceDeclHandler = self._declared
        parser.XmlDeclHandler = self._declaration
        parser.CommentHandler = parser.StartCdataSectionHandler = parser.ProcessingInstructionHandler = self._note

    def feed(self, data: bytes) -> list[Element]:
        """Parse more of the part. Returns the elements that ended. Raises UnreadableFile."""
        self._fed += len(data)
        self._parse(data, False)
        if self.pending > _TOKEN_BYTES:
            raise self.budget.over_size(f"it holds a tag or comment of more than {_TOKEN_BYTES:,} bytes")
        if len(self._pieces) > _PIECES:
            raise self.budget.over_size(f"it holds a text of more than {_PIECES * _TEXT_BYTES:,} characters")
        done, self._done = self._done, []
        return done

    @property
    def pending(self) -> int:
        """Bytes of a tag or comment whose end hasn't come yet."""
        return self._fed - self._parser.CurrentByteIndex

    def close(self) -> list[Element]:
        """Say that the part has ended. Returns the last elements. Raises UnreadableFile if something is left open."""
        self._parse(b"", True)
        return self._done

    def _parse(self, data: bytes, last: bool) -> None:
        try:
            self._parser.Parse(data, last)
        except (expat.ExpatError, ValueError, LookupError) as fault:
            raise self.budget.damaged(f'its part "{self.part}" is not well-formed XML ({fault})') from fault

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if not self.path:
            self._namespace = name.rpartition("}")[0]
            if self._namespaces and self._namespace not in self._namespaces:
                raise self.budget.damaged(f'its part "{self.part}" isn\'t what it should be')
        local = name.removeprefix(self._namespace + "}")
        if len(self.path) >= _DEEPEST or len(local) > _NAME_LENGTH:
            raise self.budget.over_size(f'its part "{self.part}" nests too deep or has an endless name')
        allowed = _CHILDREN.get(self.path[-1]) if self.path else None
        if allowed and local not in allowed:
            raise self.budget.damaged(f'its part "{self.part}" holds an element "{one_line(local)}" out of place')
        path = f"{self.path[-1]}/{local}" if self.path else local
        if path in _ONCE:
            if self._around.get(path) is self._attributes[-1]:
                raise self.budget.damaged(f'its part "{self.part}" holds an element "{local}" twice in one place')
            self._around[path] = self._attributes[-1]
        self.path.append(path)
        self._attributes.append(attributes)
        self._pieces.clear()
        self._leaf = True

    def _end(self, name: str) -> None:
        text = "".join(self._pieces) if self._leaf else ""
        if text:
            self.budget.spend("bytes of text in memory", len(text))
        self._done.append(Element(self.path.pop(), self._attributes.pop(), text, self._attributes[-1]))
        self._pieces.clear()
        self._leaf = False

    def _doctype(self, *_: object) -> None:
        raise self.budget.damaged(f'its part "{self.part}" declares a document type, which no workbook does')

    def _declared(self, _prefix: str | None, uri: str | None) -> None:
        if len(uri or "") > _NAME_LENGTH:
            raise self.budget.over_size(f'its part "{self.part}" has an endless name')

    def _declaration(self, _version: str, encoding: str | None, _standalone: int) -> None:
        self.unusual |= (encoding or "utf-8").lower() != "utf-8"

    def _note(self, *_: object) -> None:
        self.unusual = True
