"""XML elements out of a stream, by a parser that can't be made to expand, nest or wait."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple
from xml.parsers import expat

from estimator.readback.budget import Budget, one_line

_TOKEN_BYTES = 1024 * 1024  # longest tag, comment or attribute
_TEXT_BYTES = 64 * 1024  # expat hands over longer texts in pieces of this size
_PIECES = 64
_DEEPEST = 100
_NAME_LENGTH = 256
_MOST_ATTRIBUTES = 100
_MOST_NAMES = 200
_WIDEST = 4  # bytes that a letter can take in memory
# Element -> what may stand directly in it, for those whose content is read one by one (ECMA-376 part 1, sml.xsd, and
# part 2). Anything else there, a text too, would go unread, or shift what is counted.
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


class _Place:
    """Where elements of one name stand within those of another; `last_around`: what the last of them stood in."""

    __slots__ = ("children", "last_around", "no_text", "once", "path")

    def __init__(self, path: str) -> None:
        self.path, self.once, self.no_text = path, path in _ONCE, path in _CHILDREN
        self.children: dict[str, _Place] = {}
        self.last_around: dict[str, str] | None = None


class ElementParser:
    """An XML parser that takes no document type, thus no entities, and no depth or length beyond reason.

    budget: what the parsing may cost. part: where the bytes come from, for messages. namespaces: those that the root
    may have, all if there are none. unusual: a comment, a CDATA section,
    a processing instruction or an encoding other than UTF-8 was seen.
    """

    def __init__(self, budget: Budget, part: str, namespaces: Collection[str] = ()) -> None:
        self.budget, self.part = budget, one_line(part)
        self.unusual = False
        self._namespaces = namespaces
        self._namespace = ""
        self._attributes: list[dict[str, str]] = [{}]
        self._places = [_Place("")]
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
        self.budget.spend("bytes of text in memory", len(data) * (1 if data.isascii() else _WIDEST))
        self._parse(data, False)
        if self.pending > _TOKEN_BYTES:
            raise self.budget.over_size(f"it holds a tag or comment of more than {_TOKEN_BYTES:,} bytes")
        if len(self._pieces) > _PIECES:
            raise self.budget.over_size(f"it holds a text of more than {_PIECES * _TEXT_BYTES:,} characters")
        done, self._done = self._done, []
        self.budget.spend("XML elements", len(done))
        return done

    @property
    def path(self) -> str:
        """The path of the innermost element that is open, "" outside of all."""
        return self._places[-1].path

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
        around = self._attributes[-1]
        if self._pieces:
            self._refuse_text()
        place = self._places[-1].children.get(name) or self._first_of(self._places[-1], name)
        if place.once:
            if place.last_around is around:
                raise self.budget.damaged(
                    f'its part "{self.part}" holds an element "{_last(place.path)}" twice in one place'
                )
            place.last_around = around
        if len(attributes) > _MOST_ATTRIBUTES:
            raise self.budget.over_size(f'its part "{self.part}" has an endless tag')
        self._places.append(place)
        self._attributes.append(attributes)
        self._pieces.clear()
        self._leaf = True

    def _first_of(self, around: _Place, name: str) -> _Place:
        """Check an element of a kind that hasn't been seen in this place yet."""
        if not around.path:
            self._namespace = name.rpartition("}")[0]
            if self._namespaces and self._namespace not in self._namespaces:
                raise self.budget.damaged(f'its part "{self.part}" isn\'t what it should be')
        local = name.removeprefix(self._namespace + "}")
        if len(self._places) > _DEEPEST:
            raise self.budget.over_size(f'its part "{self.part}" nests elements too deep')
        if len(local) > _NAME_LENGTH or len(around.children) >= _MOST_NAMES:
            raise self.budget.over_size(f'its part "{self.part}" has an endless name, or names without end')
        allowed = _CHILDREN.get(around.path)
        if allowed and local not in allowed:
            raise self.budget.damaged(f'its part "{self.part}" holds an element "{one_line(local)}" out of place')
        place = around.children[name] = _Place(f"{around.path}/{local}" if around.path else local)
        return place

    def _refuse_text(self) -> None:
        """Text that has come since the last tag, in an element that holds others only."""
        if self._places[-1].no_text and "".join(self._pieces).strip(" \t\r\n"):
            raise self.budget.damaged(
                f'its part "{self.part}" holds a text in an element "{_last(self._places[-1].path)}", where none may stand'
            )

    def _end(self, name: str) -> None:
        if self._pieces:
            self._refuse_text()
        text = "".join(self._pieces) if self._leaf else ""
        attributes = self._attributes.pop()
        element = tuple.__new__(Element, (self._places.pop().path, attributes, text, self._attributes[-1]))
        self._done.append(element)
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


def _last(path: str) -> str:
    return path.rpartition("/")[2]
