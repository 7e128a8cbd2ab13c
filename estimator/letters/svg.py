"""A drawn SVG made fit to stand inside a page: no style or id of its own that could touch the rest, a title, words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lxml.etree import _Element
    from markupsafe import Markup

SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_URL = re.compile(r"url\(#([^)]+)\)")
_TYPE = re.compile(r"font(-family|-stretch|-variant|-size|-weight)?\s*:[^;]*;?\s*")


def inline(drawn: bytes, name: str, title: str, words: str) -> Markup:
    """The drawing as an element of a page, with `title` and `words` for those who don't see it.

    drawn: a whole SVG document; name: what its ids begin with, unlike that of any other drawing of the page.
    """
    from lxml import etree
    from markupsafe import Markup

    root = etree.fromstring(drawn, etree.XMLParser(resolve_entities=False, no_network=True))
    for element in list(root.iter(f"{SVG}metadata", f"{SVG}style", etree.Comment)):
        parent = element.getparent()
        if parent is not None:
            parent.remove(element)
    _rename(root, name)
    for element in root.iter(f"{SVG}text"):
        _own_type(element)
    attributes = {"viewBox": root.get("viewBox", ""), "role": "img", "aria-labelledby": f"{name}-title {name}-words"}
    plain = etree.Element(f"{SVG}svg", attributes, nsmap={None: SVG[1:-1]})
    for tag, said, text in (("title", "title", title), ("desc", "words", words)):
        etree.SubElement(plain, f"{SVG}{tag}", {"id": f"{name}-{said}"}).text = text
    plain.extend(list(root))
    etree.cleanup_namespaces(plain)
    return Markup(re.sub(r">\s+<", "><", etree.tostring(plain, encoding="unicode")))


def _rename(root: _Element, name: str) -> None:
    """Ids that are referred to begin with the name; the others go."""
    used: set[str] = set()
    for element in root.iter():
        for key, value in element.attrib.items():
            if key == _HREF:
                used.add(str(value).removeprefix("#"))
            used.update(_URL.findall(str(value)))
    for element in root.iter():
        for key, value in list(element.attrib.items()):
            if key == "id":
                if value in used:
                    element.set(key, f"{name}-{value}")
                else:
                    del element.attrib[key]
            elif key == _HREF:
                del element.attrib[key]
                element.set("href", f"#{name}-{str(value).removeprefix('#')}")
            elif "url(#" in str(value):
                element.set(key, _URL.sub(rf"url(#{name}-\1)", str(value)))


def _own_type(element: _Element) -> None:
    """The page's type in place of the drawing's; size and weight stay."""
    style = element.get("style", "")
    size = re.search(r"([\d.]+)px", style)
    bold = re.search(r"\b(bold|700)\b", style)
    rest = _TYPE.sub("", style)
    parts = [f"font-size: {size[1]}px" if size else "", "font-weight: bold" if bold else "", rest.strip("; ")]
    rest = "; ".join(part for part in parts if part)
    element.set("style", rest)
