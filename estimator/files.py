"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from estimator.errors import CannotWrite


def write_whole(path: Path | str, content: bytes, verify: Callable[[Path], None] | None = None) -> None:
    """Write `content` at `path`, so that any reader sees the old file or the new one, never a part.

    A temporary file in the same folder is written, flushed to the disk and renamed over `path`; then the folder is
    flushed. A crash leaves at most a file named `.<name>.<letters>.part`, which nothing reads. Missing folders
    are made; a link to nothing is refused. verify: called with the temporary file before it takes its place; whatever
    it raises keeps the old file.

    Raises CannotWrite (exit 73) with what stood in the way; the file that was there before is intact.
    """
    path = Path(path)
    _refuse_dangling(path)
    part: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:80]}.", suffix=".part")
        part = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if verify is not None:
            verify(part)
        part.chmod(_mode(path))
        part.replace(path)
        part = None
        _flush_folder(path.parent)
    except OSError as error:
        raise CannotWrite(
            path,
            f"the file couldn't be written: {error.strerror or error}",
            "make sure that the folder exists, has room, lets you write, and that no other program holds the file open",
        ) from error
    finally:
        if part is not None:
            with contextlib.suppress(OSError):
                part.unlink()


def refuse_existing(path: Path, *, force: bool = False) -> None:
    """Raises CannotWrite (exit 73) where something stands at `path` already, unless `force`; a link to nothing always."""
    _refuse_dangling(path)
    if path.exists() and not force:
        raise CannotWrite(path, "file already exists", "choose another name with -o, or overwrite it with --force")


def refuse_output(path: Path, *, force: bool = False) -> None:
    """The same for a file that a person names, whose folder must be there. Raises CannotWrite."""
    if not path.parent.is_dir():
        what = "not a folder" if path.parent.exists() else "no such folder"
        raise CannotWrite(path.parent, what, f"create it, or give another name for {path.name}")
    refuse_existing(path, force=force)


def _refuse_dangling(path: Path) -> None:
    """A link whose file is gone belongs to someone, on a disk that may come back: it is never replaced."""
    if path.is_symlink() and not path.exists():
        fix = "restore what it points to, or give another name"
        raise CannotWrite(path, f"a link to {os.readlink(path)}, which is not there", fix)


def _mode(path: Path) -> int:
    """The rights of the file that is replaced, or those that a new file would get."""
    try:
        return path.stat().st_mode & 0o777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _flush_folder(folder: Path) -> None:
    """Make the rename last over a power cut, where the system can flush a folder (Windows and some shares can't)."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
