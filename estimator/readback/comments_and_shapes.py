"""What people attach to a tab without typing into a cell: comments, threads of comments, text in drawn shapes."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.readback.addresses import row_and_column
from estimator.readback.budget import one_line
from estimator.readback.elements import MAIN, Element
from estimator.readback.package_parts import Package, Relation
from estimator.readback.values import text_value

_DRAWN = ("openxmlformats.org/drawingml/2006/main}", "ooxml/drawingml/main}")


def comments_of(package: Package, relations: Iterable[Relation]) -> dict[tuple[int, int], str]:
    """Row and column -> comment. A thread stands for the comment that holds its copy, one line for each answer.

    relations: of the tab's part. Raises UnreadableFile for a part that can't be read.
    """
    notes: dict[tuple[int, int], list[str]] = {}
    threads: dict[tuple[int, int], list[str]] = {}
    for relation in relations:
        if relation.kind == "comments":
            text = ""
            for element in package.elements(relation.target, MAIN):
                if element.path.endswith(("comment/text/t", "comment/text/r/t")):
                    text += element.text
                elif element.path == "comments/commentList/comment":
                    _add(package, notes, element.attributes, text)
                    text = ""
        elif relation.kind == "threadedComment":
            for element in package.elements(relation.target):
                if element.path == "ThreadedComments/threadedComment/text":
                    _add(package, threads, element.parent, element.text)
    return {place: "\n".join(texts) for place, texts in (notes | threads).items()}


def _add(package: Package, found: dict[tuple[int, int], list[str]], attributes: dict[str, str], text: str) -> None:
    package.budget.spend("comments")
    place = row_and_column(attributes.get("ref", ""))
    if not place:
        raise package.budget.damaged(f'a comment at "{one_line(attributes.get("ref", ""))}", which is no cell')
    found.setdefault(place, []).append(text_value(text))


def shape_texts(package: Package, relations: Iterable[Relation]) -> tuple[str, ...]:
    """The text of each drawn shape or text box of a tab; its paragraphs are lines."""
    found: list[str] = []
    for relation in relations:
        if relation.kind == "drawing" and relation.target:
            text = ""
            for element in package.elements(relation.target):
                if _is_drawn(element, "t"):
                    text += element.text
                elif _is_drawn(element, "p"):
                    text += "\n"
                elif element.path.endswith("/txBody") and text.strip():
                    found.append(text.strip())
                    text = ""
    return tuple(found)


def _is_drawn(element: Element, name: str) -> bool:
    return element.path.endswith(tuple(namespace + name for namespace in _DRAWN))
