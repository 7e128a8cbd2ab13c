"""The long region of a part, as text, when it is written in the plain form; all that is around it, as XML elements."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator

from estimator.readback.elements import Element, ElementParser
from estimator.readback.package_parts import Package
from estimator.readback.values import NotPlain

Outside = Callable[[Element], None]

# ECMA-376 part 1 (transitional, strict), the namespace of all parts that hold sheets
MAIN = frozenset(
    ("http://schemas.openxmlformats.org/spreadsheetml/2006/main", "http://purl.oclc.org/ooxml/spreadsheetml/main")
)
_HEAD_BYTES = 1024 * 1024
_ITEM_BYTES = 2 * 1024 * 1024
_CONTROLS = bytes(set(range(32)) - set(b"\t\n\r"))


def plain_text(package: Package, part: str, region: str, item: str, outside: Outside) -> Iterator[str]:
    """Yield the markup of a region piece by piece, beginning with its bare tag and cut before items.

    region: the path of an element, "worksheet/sheetData"; item: how most of its content begins, "<c "; outside: called
    for each element around it.
    What makes a pattern safe on these pieces: the region's tag has been read as such by an XML parser, in the namespace
    of sheets and without a prefix; there is no other namespace, control character or wrong encoding in them; and
    a comment, a CDATA section or anything else of the kind begins with a "<" that the pattern can't place.
    Raises NotPlain where that isn't so, UnreadableFile as `Package.stream` does.
    """
    parser = ElementParser(package.budget, part, MAIN)
    name = region.rpartition("/")[2].encode()
    opening, closing, cut = b"<" + name, b"</" + name + b">", item.encode()
    stream = package.stream(part)

    def pass_on(elements: list[Element]) -> None:
        for element in elements:
            if element.path.startswith(region + "/"):  # what is between the tags never gets to the parser
                raise NotPlain(f"a second {region}")
            outside(element)

    head, end = b"", 0
    while not end:
        chunk = next(stream, None)
        if chunk is None or len(head) > _HEAD_BYTES:
            raise NotPlain(f"no {region} where it should be")
        head += chunk
        start = head.find(opening)
        end = head.find(b">", start) + 1 if start >= 0 else 0
    elements = parser.feed(head[:end])
    closed = head[end - 2 : end] == b"/>"
    last = elements[-1].path if closed and elements else parser.path
    if parser.unusual or parser.pending or last != region:
        raise NotPlain("unusual markup before its content")
    pass_on(elements)

    rest = head[end:]
    if not closed:
        rest = opening + b">" + rest
        while (place := rest.find(closing)) < 0:
            if (at := rest.rfind(cut)) > 0:
                yield _decoded(package, rest[:at])
                rest = rest[at:]
            chunk = next(stream, None)
            if chunk is None or len(rest) > _ITEM_BYTES:
                raise NotPlain(f"no end of {region} where it should be")
            rest += chunk
        yield _decoded(package, rest[: place + len(closing)])
        rest = rest[place:]
    pass_on(parser.feed(rest))
    for chunk in stream:
        pass_on(parser.feed(chunk))
    pass_on(parser.close())


def _decoded(package: Package, data: bytes) -> str:
    if len(data.translate(None, _CONTROLS)) != len(data):
        raise NotPlain("a control character")
    try:
        text = data.decode()
    except UnicodeDecodeError:
        raise NotPlain("bytes that aren't UTF-8") from None
    package.budget.spend("bytes of text in memory", sys.getsizeof(text))
    if "xmlns" in text or (not text.isascii() and ("\ufffe" in text or "\uffff" in text)):
        raise NotPlain("a namespace or a letter that XML doesn't allow")
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text
