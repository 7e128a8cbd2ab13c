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
        return ElementParser(self.budget, part, namespaces).elements(self.stream(part))

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
