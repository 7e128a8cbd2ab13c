"""What the program says when something is wrong: findings about a workbook, problems of an input, refusals.

A check returns findings and never raises; only the command line decides what fails. A refusal is an exception that
carries one line for people and the exit status it leads to.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Severity = Literal["stop", "warn", "note"]

_NAME = re.compile(r"estimator\b|\S*[._/=]\S")

EXIT_FINDINGS = 1
EXIT_NOT_UNDERSTOOD = 65
EXIT_MISSING = 66
EXIT_FAULT = 70
EXIT_CANNOT_WRITE = 73
EXIT_INTERRUPTED = 130


@dataclass(frozen=True)
class Finding:
    """One thing that a person should know of a workbook: the rule broken, the place, what to do.

    `cause` names the key from which this finding follows; `followers` counts the cells that differ only because this
    one does. `what` is the sentence for people.
    """

    rule: str
    severity: Severity
    what: str
    fix: str = ""
    tab: str = ""
    cell: str = ""
    key: str = ""
    expected: str = ""
    found: str = ""
    unit: str = ""
    source: str = ""
    cause: str = ""
    followers: int = 0

    @property
    def place(self) -> str:
        return f"{self.tab}!{self.cell}" if self.cell else self.tab

    def line(self) -> str:
        return f"{self.severity}: " + sentences(f"{self.place}: {self.what}".removeprefix(": "), self.fix)


@dataclass(frozen=True)
class InputProblem:
    """One mistake in a file that a person wrote: where it stands, what was found, what is allowed, what to do."""

    file: str
    place: str
    found: str
    allowed: str
    fix: str = ""

    def line(self) -> str:
        found = f"{self.place}: {shortened(self.found)}".removeprefix("the file: ")
        return f"{in_one_line(self.file)}: " + sentences(found, shortened(self.allowed), shortened(self.fix))


class EstimatorError(Exception):
    """A refusal in words. The message is one line; `exit_status` is what the command ends with."""

    exit_status = EXIT_NOT_UNDERSTOOD


class DomainError(EstimatorError, ValueError):
    """A physical quantity outside the range for which a formula holds."""


class InputError(EstimatorError):
    """Everything that is wrong with the files a person wrote, all at once."""

    def __init__(self, problems: Iterable[InputProblem], exit_status: int = EXIT_NOT_UNDERSTOOD) -> None:
        self.problems = tuple(problems)
        self.exit_status = exit_status
        super().__init__("\n".join(problem.line() for problem in self.problems))


class UnreadableFile(EstimatorError):
    """A workbook that can't be read, or is refused before it is parsed."""

    def __init__(
        self,
        path: Path | str,
        what: str,
        fix: str,
        *,
        rule: str = "unreadable-file",
        exit_status: int = EXIT_NOT_UNDERSTOOD,
    ) -> None:
        self.path, self.what, self.fix, self.rule, self.exit_status = Path(path), what, fix, rule, exit_status
        super().__init__(sentences(f"{in_one_line(path)}: {what}", fix))


class CannotWrite(EstimatorError):
    """A file that can't be written; whatever stood there before is intact."""

    exit_status = EXIT_CANNOT_WRITE

    def __init__(self, path: Path | str, what: str, fix: str) -> None:
        self.path, self.what, self.fix = Path(path), what, fix
        super().__init__(sentences(f"{in_one_line(path)}: {what}", fix))


class Refused(EstimatorError):
    """An action that the state of a workbook doesn't allow, such as posting one that isn't intact."""

    exit_status = EXIT_FINDINGS

    def __init__(self, message: str, findings: Iterable[Finding] = (), exit_status: int = EXIT_FINDINGS) -> None:
        self.findings = tuple(findings)
        self.exit_status = exit_status
        super().__init__(message)


def sentences(*parts: str) -> str:
    """Parts of a message as sentences, each but the first with a capital; a name of a file or command keeps its letters.

    >>> sentences('a.toml: [body] mass "2" has no unit', "enter a mass", "estimator start writes an example")
    'a.toml: [body] mass "2" has no unit. Enter a mass. estimator start writes an example.'
    """
    first, *rest = (part.rstrip(".") for part in parts if part)
    return ". ".join([first, *(part if _NAME.match(part) else part[:1].upper() + part[1:] for part in rest)]) + "."


def in_one_line(name: Path | str) -> str:
    r"""A file's name in which a line break, which names may hold, is spelled out.

    >>> in_one_line("a\nb.xlsx")
    'a\\nb.xlsx'
    """
    return str(name).replace("\n", "\\n")


def shortened(text: str, most: int = 300) -> str:
    """The text; of a long one, its beginning and its end, which says what is wrong with it.

    >>> shortened('"xxxxxxxxxxxxxxxxxxxxxxx" is no date', 24)
    '"xxxxxxxxxxx… is no date'
    """
    end = most // 2 - 1
    return text if len(text) <= most else f"{text[: most - end - 1]}…{text[-end:]}"


def nearest(word: str, allowed: Iterable[str]) -> str:
    """The allowed word nearest to a mistaken one, as a suggestion, or nothing.

    >>> nearest("cut_ot", ["cut_in", "cut_out"])
    ' (did you mean "cut_out"?)'
    """
    close = difflib.get_close_matches(word, list(allowed), n=1, cutoff=0.6)
    return f' (did you mean "{close[0]}"?)' if close else ""
