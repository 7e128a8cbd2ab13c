"""The seal of entries: a file beside a workbook that tells which boxes were typed into after they were sealed.

It holds no entry and no key, but an HMAC of each box's key and value, and one of them all.
"""

from __future__ import annotations

import json
import stat
from collections.abc import Mapping
from pathlib import Path

from estimator.errors import Finding
from estimator.files import write_whole
from estimator.records.fields import EntryValue
from estimator.workbook.seal import SealKey

_SCHEMA, _MOST_BYTES, _MOST_NAMED, _SHORT = "1", 2_000_000, 12, 16
_FIX = "compare with a copy from before, and seal the entries again: estimator check --seal KEYFILE --seal-entries"


def seal_path(workbook: Path) -> Path:
    """Where the seal of a workbook's entries lies. >>> seal_path(Path("a.xlsx")).name gives 'a.xlsx.entries-seal'."""
    return workbook.with_name(f"{workbook.name}.entries-seal")


def seal_entries(workbook: Path, document: str, values: Mapping[str, EntryValue], key: SealKey) -> Path:
    """Write the seal of the entries of a workbook beside it. Returns its file. Raises CannotWrite."""
    boxes = _boxes(document, values, key)
    content = {"schema": _SCHEMA, "document": document, "boxes": boxes, "seal": key.seal(document, json.dumps(boxes))}
    path = seal_path(workbook)
    write_whole(path, json.dumps(content, indent=1).encode("utf-8"))
    return path


def entries_seal(
    workbook: Path, document: str, values: Mapping[str, EntryValue], key: SealKey
) -> tuple[str, tuple[Finding, ...]]:
    """What is known of the seal of the entries, in words, "" where there is none; and what was typed since.

    A box that was typed into since is a finding of rule `entries-changed`: no fault of the workbook, but not what was
    sealed. A seal that can't be read, or that another key made, is one too.
    """
    path = seal_path(workbook)
    if not path.exists():
        return "", ()
    try:
        if not stat.S_ISREG(path.stat().st_mode) or path.stat().st_size > _MOST_BYTES:
            raise ValueError
        content = json.loads(path.read_bytes())
        boxes, sealed = dict(content["boxes"]), str(content["seal"])
        whole = content["schema"] == _SCHEMA and content["document"] == document
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        boxes, sealed, whole = {}, "", False
    if not whole or not key.made(sealed, document, json.dumps(boxes)):
        what = f"{path.name}: not a seal of these entries, or made with another key"
        return "the seal of the entries cannot be used", (Finding("entries-changed", "warn", what, _FIX),)
    now = _boxes(document, values, key)
    changed = sorted(name for name in now.keys() | boxes.keys() if now.get(name) != boxes.get(name))
    if not changed:
        return "entries as they were sealed", ()
    more = f" and {len(changed) - _MOST_NAMED} more" if len(changed) > _MOST_NAMED else ""
    what = f"changed since the entries were sealed: {', '.join(changed[:_MOST_NAMED])}{more}"
    return "entries changed since they were sealed", (Finding("entries-changed", "warn", what, _FIX, key=changed[0]),)


def _boxes(document: str, values: Mapping[str, EntryValue], key: SealKey) -> dict[str, str]:
    """A short HMAC of each box that holds something."""
    filled = sorted((name, value) for name, value in values.items() if value != "")
    return {name: key.seal(document, name, repr(value))[:_SHORT] for name, value in filled}
