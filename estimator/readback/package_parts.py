"""The parts of a workbook, streamed: bytes, XML elements and relationships, all of it under a budget."""

from __future__ import annotations

import posixpath
import zipfile
from collections.abc import Collection, Iterator
from typing import NamedTuple

from estimator.readback.budget import Budget, one_line
from estimator.readback.elements import Element, ElementParser
from estimator.readback.io_refusals import ZIP_FAULTS, zip_refusal

CHUNK_BYTES = 64 * 1024
# ECMA-376 part 1, annex A, and part 4: what the types of relationships begin with, strict and transitional
_STANDARD = (
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships/",
    "http://purl.oclc.org/ooxml/officeDocument/relationships/",
)
# MS-XLSX 2.1: types beyond the standard -> their kind
_BEYOND = {
    f"http://schemas.microsoft.com/office/{rest}": rest.rpartition("/")[2]
    for rest in (
        "2006/relationships/xlMacrosheet",
        "2006/relationships/xlIntlMacrosheet",
        "2017/10/relationships/threadedComment",
    )
}


class Relation(NamedTuple):
    """What a part says of another.

    kind: "worksheet", "sharedStrings"; "" for a type that isn't known as a whole. target: the other's name; "" for what
    lies outside the file.
    """

    kind: str
    target: str


def kind_of(relationship_type: str) -> str:
    """Return the kind of a relationship by its whole type, or "" for a type that isn't known.

    >>> kind_of("http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles"), kind_of("urn:x/styles")
    ('styles', '')
    """
    for beginning in _STANDARD:
        kind = relationship_type.removeprefix(beginning)
        if kind != relationship_type:
            return "" if "/" in kind else kind
    return _BEYOND.get(relationship_type, "")


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
        """Yield the unpacked bytes of a part. Raises UnreadableFile for one that is missing, damaged or too big."""
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
        """Yield the elements of a part, each when it ends, innermost first; namespaces: those that its root may have."""
        return ElementParser(self.budget, part, namespaces).elements(self.stream(part))

    def relations(self, part: str) -> dict[str, Relation]:
        """Return identifier -> relationship of a part ("" for the whole file); nothing outside the file is ever opened."""
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
                name = given.get("Id", "")
                if name in found:
                    raise self.budget.damaged(
                        f'its part "{one_line(source)}" holds the identifier "{one_line(name)}" twice'
                    )
                found[name] = Relation(kind_of(given.get("Type", "")), target if inside else "")
        return found

    def target(self, part: str, *kinds: str) -> str:
        """Return the name of the one part to which `part` has a relationship of one of these kinds, "" for none.

        Raises UnreadableFile for more than one: programs would differ in which of them they show.
        """
        targets = [relation.target for relation in self.relations(part).values() if relation.kind in kinds]
        if len(targets) > 1:
            where = f'its part "{one_line(part)}"' if part else "it"
            raise self.budget.damaged(f'{where} names {len(targets)} parts as its "{kinds[0]}", where one may stand')
        return targets[0] if targets else ""
