"""XML elements from a stream, by a parser that cannot be made to expand, nest or wait."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple
from xml.parsers import expat

from estimator.errors import UnreadableFile
from estimator.readback.budget import Budget, one_line

# ECMA-376 part 1 (transitional, strict): the namespace of all parts that hold sheets
MAIN = frozenset(
    ("http://schemas.openxmlformats.org/spreadsheetml/2006/main", "http://purl.oclc.org/ooxml/spreadsheetml/main")
)
_TOKEN_BYTES = 1024 * 1024  # longest tag, comment or attribute
_TEXT_BYTES = 64 * 1024  # expat hands over longer texts in pieces of this size
_PIECES = 64
_DEEPEST = 100
_NAME_LENGTH = 256
_MOST_ATTRIBUTES = 100
_MOST_NAMES = 2_000  # of elements and attributes in one part
_WIDEST = 4  # bytes that a letter can take in memory
# Element -> what may stand directly in it, for those whose content is read one by one (ECMA-376 part 1, sml.xsd, and
# part 2). Anything else there, a text too, would go unread, or shift what is counted.
_RICH_TEXT, _RUN = frozenset(("t", "r", "rPh", "phoneticPr")), frozenset(("t", "rPr"))
_CHILDREN: dict[str, frozenset[str]] = {
    "worksheet/sheetData": frozenset(("row",)),
    "worksheet/sheetData/row": frozenset(("c", "extLst")),
    "worksheet/sheetData/row/c": frozenset(("f", "v", "is", "extLst")),
    "worksheet/sheetData/row/c/f": frozenset(()),
    "worksheet/sheetData/row/c/v": frozenset(()),
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


Attributes = dict[str, str]


class Element(NamedTuple):
    """A finished XML element.

    path: local names from the root, "worksheet/sheetData/row"; an element of another namespace than the root's is
    "namespace}name" in it. text: its own, if it has no children. parent: the attributes of the element around it.
    """

    path: str
    attributes: Attributes
    text: str
    parent: Attributes


class Place:
    """A kind of element: where elements of one name stand within those of another.

    last_around: the attributes of the element in which the last of them stood.
    """

    __slots__ = ("children", "last_around", "no_text", "once", "path", "wanted")

    def __init__(self, path: str, wanted: bool) -> None:
        self.path, self.wanted, self.once, self.no_text = path, wanted, path in _ONCE, bool(_CHILDREN.get(path))
        self.children: dict[str, Place] = {}
        self.last_around: Attributes | None = None


class ElementParser:
    """An XML parser that takes no document type, thus no entities, and no depth or length beyond reason.

    budget: limits of the parsing. part: name of the part, for messages. namespaces: allowed for the root; () allows
    all. wanted: paths of the elements to keep; () keeps all.
    """

    def __init__(
        self, budget: Budget, part: str, namespaces: Collection[str] = (), wanted: Collection[str] = ()
    ) -> None:
        self.budget, self.part = budget, one_line(part)
        self._namespaces, self._wanted = namespaces, wanted
        self._namespace = ""
        self._attributes: list[Attributes] = [{}]
        self._places = [Place("", wanted=False)]
        self._done: list[Element] = []
        self._pieces: list[str] = []
        self._leaf = False
        self._fed = self._count = 0
        self._names: dict[str, str] = {}  # every name that the parser has met
        parser = self._parser = expat.ParserCreate(None, "}", self._names)
        parser.buffer_text, parser.buffer_size = True, _TEXT_BYTES
        parser.StartElementHandler, parser.EndElementHandler = self._start, self._end
        parser.CharacterDataHandler = self._pieces.append
        parser.StartDoctypeDeclHandler = self._doctype
        parser.StartNamespaceDeclHandler = self._declared

    def elements(self, chunks: Iterable[bytes]) -> Iterator[Element]:
        """Yield the elements of a whole part, each when it ends, innermost first. Raises UnreadableFile."""
        for chunk in chunks:
            yield from self.feed(chunk)
        yield from self.close()

    def feed(self, data: bytes) -> list[Element]:
        """Parse more of the part. Returns the elements that ended. Raises UnreadableFile."""
        self._fed += len(data)
        self.budget.spend("bytes of text in memory", len(data) * (1 if data.isascii() else _WIDEST))
        self._parse(data, False)
        if self._fed - self._parser.CurrentByteIndex > _TOKEN_BYTES:  # a tag or comment whose end hasn't come yet
            raise self.budget.over_size(f"it holds a tag or comment of more than {_TOKEN_BYTES:,} bytes")
        if len(self._pieces) > _PIECES:
            raise self.budget.over_size(f"it holds a text of more than {_PIECES * _TEXT_BYTES:,} characters")
        if len(self._names) > _MOST_NAMES:
            raise self.budget.over_size(f'its part "{self.part}" has names without end')
        done, self._done = self._done, []
        self.budget.spend("XML elements", self._count)
        self._count = 0
        return done

    def close(self) -> list[Element]:
        """Say that the part has ended. Returns the last elements. Raises UnreadableFile if something is left open."""
        self._parse(b"", True)
        return self._done

    def _parse(self, data: bytes, last: bool) -> None:
        try:
            self._parser.Parse(data, last)
        except (expat.ExpatError, ValueError, LookupError) as fault:
            raise self.budget.damaged(f'its part "{self.part}" is not well-formed XML ({fault})') from fault

    def _start(self, name: str, attributes: Attributes) -> None:
        if self._pieces:
            self._refuse_text()
            self._pieces.clear()
        place = self._places[-1].children.get(name) or self._first_of(self._places[-1], name)
        if place.once:
            if place.last_around is self._attributes[-1]:
                raise self._twice(place.path)
            place.last_around = self._attributes[-1]
        if len(attributes) > _MOST_ATTRIBUTES:
            raise self.budget.over_size(f'its part "{self.part}" has an endless tag')
        self._places.append(place)
        self._attributes.append(attributes)
        self._count += 1
        self._leaf = True

    def _first_of(self, around: Place, name: str) -> Place:
        """Check an element of a kind that hasn't been seen in this place yet."""
        if not around.path:
            self._namespace = name.rpartition("}")[0]
            if self._namespaces and self._namespace not in self._namespaces:
                raise self.budget.damaged(f'its part "{self.part}" isn\'t what it should be')
        local = name.removeprefix(self._namespace + "}")
        if len(self._places) > _DEEPEST:
            raise self.budget.over_size(f'its part "{self.part}" nests elements too deep')
        if len(local) > _NAME_LENGTH:
            raise self.budget.over_size(f'its part "{self.part}" has an endless name')
        allowed = _CHILDREN.get(around.path)
        if allowed is not None and local not in allowed:
            raise self.budget.damaged(f'its part "{self.part}" holds an element "{one_line(local)}" out of place')
        path = f"{around.path}/{local}" if around.path else local
        place = around.children[name] = Place(path, wanted=not self._wanted or path in self._wanted)
        return place

    def _twice(self, path: str) -> UnreadableFile:
        return self.budget.damaged(f'its part "{self.part}" holds an element "{_last(path)}" twice in one place')

    def _refuse_text(self) -> None:
        """Refuse text since the last tag, in an element that holds only others."""
        if self._places[-1].no_text and "".join(self._pieces).strip(" \t\r\n"):
            raise self.budget.damaged(
                f'its part "{self.part}" holds a text in an element "{_last(self._places[-1].path)}", where none may stand'
            )

    def _end(self, name: str) -> None:
        if self._pieces:
            self._refuse_text()
        place, attributes = self._places.pop(), self._attributes.pop()
        if place.wanted:
            text = "".join(self._pieces) if self._leaf else ""
            self._done.append(tuple.__new__(Element, (place.path, attributes, text, self._attributes[-1])))
        self._pieces.clear()
        self._leaf = False

    def _doctype(self, *_: object) -> None:
        raise self.budget.damaged(f'its part "{self.part}" declares a document type, which no workbook does')

    def _declared(self, _prefix: str | None, uri: str | None) -> None:
        if len(uri or "") > _NAME_LENGTH:
            raise self.budget.over_size(f'its part "{self.part}" has an endless name')


def _last(path: str) -> str:
    return path.rpartition("/")[2]
