"""What the disk and the archive can do wrong, and the refusal that each leads to."""

from __future__ import annotations

import errno
import struct
import zipfile
import zlib
from pathlib import Path

from estimator.errors import EXIT_MISSING, UnreadableFile
from estimator.readback.budget import Budget, one_line

# What zipfile raises on a damaged archive
ZIP_FAULTS = (
    OSError,
    ValueError,
    EOFError,
    IndexError,
    RuntimeError,
    OverflowError,
    struct.error,
    zlib.error,
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
)


def zip_refusal(budget: Budget, fault: Exception) -> UnreadableFile:
    """The refusal that a fault of the disk (exit 66) or of the archive (exit 65) leads to."""
    if isinstance(fault, OSError) and fault.errno not in (None, errno.EINVAL):
        return no_access(budget.path, fault)
    words = one_line(str(fault) or type(fault).__name__)
    return budget.damaged(f"the archive that holds it can't be unpacked ({words})")


def no_access(path: Path, fault: Exception) -> UnreadableFile:
    """The refusal of a file that is missing, locked or gone: exit 66."""
    if isinstance(fault, FileNotFoundError | NotADirectoryError):
        what, fix = "there is no such file", "check the name and the folder"
    elif isinstance(fault, PermissionError):
        what = "it can't be opened: locked by another program, or you may not read it"
        fix = "close it wherever it is open, or have its owner let you read it"
    else:
        what = f"cannot be read there ({one_line(getattr(fault, 'strerror', None) or str(fault))})"
        fix = "check the disk or the network connection, copy the file to this machine and try again"
    return UnreadableFile(path, what, fix, exit_status=EXIT_MISSING)
