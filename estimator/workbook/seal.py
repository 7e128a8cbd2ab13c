"""The optional seal of a workbook: an HMAC-SHA256 over what its Record tab carries, with a key that the shop keeps.

A digest shows accidents: whoever changes the record can work out a new digest. A seal can't be made without the key.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from estimator.errors import EXIT_MISSING, EXIT_NOT_UNDERSTOOD, EstimatorError

KEY_VARIABLE = "ESTIMATOR_SEAL_KEY"
NOT_SEALED = "not sealed"
_SHORTEST, _LONGEST = 16, 4096  # bytes


class NoKey(EstimatorError):
    """A key that can't be had or can't be one. The message never holds any of it."""

    def __init__(self, message: str, exit_status: int = EXIT_NOT_UNDERSTOOD) -> None:
        self.exit_status = exit_status
        super().__init__(message)


@dataclass(frozen=True)
class SealKey:
    """A key. Neither printing nor logging it shows it. `warning`: what is wrong with how it is kept, or ""."""

    secret: bytes = field(repr=False)
    warning: str = ""

    def seal(self, *parts: str) -> str:
        """The seal of texts in this order, in hexadecimal (HMAC-SHA256, RFC 2104 and FIPS 180-4)."""
        message = json.dumps(["estimator seal", *parts], ensure_ascii=True).encode("ascii")
        return hmac.new(self.secret, message, hashlib.sha256).hexdigest()

    def made(self, seal: str, *parts: str) -> bool:
        """Whether this key made a seal of these texts. Takes the same time wherever the two differ."""
        return hmac.compare_digest(self.seal(*parts).encode("ascii"), seal.encode("utf-8", "replace"))


def seal_key(file: Path | None = None, environment: Mapping[str, str] = os.environ) -> SealKey | None:
    """The shop's key: what `file` holds, else what the variable ESTIMATOR_SEAL_KEY holds, else none.

    Blanks and line breaks around a key are no part of it. A key has 16 to 4,096 bytes; openssl rand -hex 32 makes one.
    Raises NoKey: exit 66 for a file that can't be read, 65 for a key that is too short or too long.
    """
    if file is None:
        text = environment.get(KEY_VARIABLE)
        return None if text is None else _key(text.encode("utf-8", "surrogateescape"), f"the variable {KEY_VARIABLE}")
    try:
        with file.open("rb") as opened:
            mode = os.fstat(opened.fileno()).st_mode
            content = opened.read(_LONGEST + 2)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "its name can't be one"
        fix = "give the file that holds the shop's key; it may be made by: openssl rand -hex 32 > seal.key"
        raise NoKey(f"{file}: key file cannot be read ({why}). {fix}", EXIT_MISSING) from None
    warning = ""
    if os.name == "posix" and mode & (stat.S_IRWXG | stat.S_IRWXO):
        warning = f"{file}: others on this machine can read or change the key file. Run: chmod 600 {file}"
    return _key(content, str(file), warning)


def _key(content: bytes, where: str, warning: str = "") -> SealKey:
    secret = content.strip()
    if not _SHORTEST <= len(secret) <= _LONGEST:
        size = "is too short" if len(secret) < _SHORTEST else "is too long"
        allowed = f"{_SHORTEST} to {_LONGEST:,} bytes, so that nobody can guess it"
        raise NoKey(f"{where}: the key {size}. Allowed: {allowed}. Create one: openssl rand -hex 32")
    return SealKey(secret, warning)
