"""The result of a check as people read it: grouped by who must act, DO NOT DRIVE first, in 80 columns."""

from __future__ import annotations

import re
from collections.abc import Iterable

from estimator.boxes import keys
from estimator.cli.output import CAUTION, counted, out, plain, wrapped
from estimator.errors import Finding, in_one_line
from estimator.findings import ADVISOR, BOOKKEEPER, MECHANIC, WHO_ACTS
from estimator.limits.judging.driving import GROUNDED, NO_FINDING
from estimator.readback.report import Report, of_the_workbook

_FILE = "file"
_HEADINGS = {
    _FILE: "File",
    MECHANIC: "For the mechanic (Inspection)",
    ADVISOR: "For the advisor (Work)",
    BOOKKEEPER: "For the bookkeeper (Journal)",
}
_STATES = {"sound": "intact", "unsound": "not intact", "unreadable": "unreadable"}
_MOST_TEXT = 160
_MOST_ALIKE, _MOST_NAMES = 12, 60
_FIGURE = re.compile(r"[+-]?[0-9][0-9,.e+-]*(?![^ ])")
# Findings of these rules are many and alike: one line tells of all.
_GATHERED = {
    "not-measured": "not measured or checked",
    "not-measured-after-work": "remeasure",
    "job-undecided": "awaiting a decision",
    "job-not-done": "authorized, not marked done",
    "text-added": "text outside the entry boxes",
}
_LINES = ("job-undecided", "job-not-done")


def print_report(report: Report) -> None:
    """Print one report."""
    out(in_one_line(report.file), bold=True)
    if report.document:
        _head(report)
    else:
        none = "" if report.state == "unreadable" else ": no record can be read from it"
        out(f"  {_STATES[report.state]}{none}")
    for who, heading in _HEADINGS.items():
        mine = [finding for finding in report.findings if _who(finding) == who]
        if mine:
            out(heading, bold=True)
            _group(mine, report, with_concerns=who == MECHANIC)
    if report.document and report.driving in GROUNDED:
        for line in wrapped(CAUTION):
            out(line)


def _head(report: Report) -> None:
    _lines(f"{report.document} revision {report.revision} · {report.car} · {report.customer}")
    differing = sum(1 + f.followers for f in report.findings if of_the_workbook(f) and f.severity != "note")
    compared = f"{report.compared:,} cells compared, "
    compared += counted(differing, "difference") if differing else "no differences"
    unclear = f", {report.entries['not_understood']} not understood" if report.entries["not_understood"] else ""
    seal = f"; {report.seal}" if report.seal != "not sealed" else ""
    _lines(f"{_STATES[report.state]}: {compared}; {report.entries['read']:,} entries{unclear}{seal}")
    for note in report.notes:
        _lines(note)
    out(f"  {report.driving}", bold=True)
    _lines(f"{report.made} of {report.asked} requested checks made")
    if report.driving == NO_FINDING:
        out("  This does not mean the car is safe.")
    if report.unexamined:
        _lines(f"not examined: {'; '.join(report.unexamined)}")
    for line in report.cause_lines:
        _lines(line)
    total, proposed = report.agreed["total"], report.proposed["total"]
    _lines(f"authorized {total} of {proposed} {report.currency} recommended")


def _place(finding: Finding) -> str:
    """The cell of a finding; with its tab where the heading doesn't name it."""
    return finding.cell if finding.cell and f"({finding.tab})" in _HEADINGS[_who(finding)] else finding.place


def _lines(text: str, indent: str = "  ") -> None:
    for line in wrapped(text, indent, f"{indent}  "):
        out(line)


def _who(finding: Finding) -> str:
    return _FILE if of_the_workbook(finding) else WHO_ACTS.get(finding.rule, _FILE)


def _group(findings: list[Finding], report: Report, *, with_concerns: bool) -> None:
    """What is behind DO NOT DRIVE, then the rest; in each the gravest first, findings that are alike together."""
    driving = [finding for finding in findings if keys.check_of(finding.key) in report.concerns]
    named = {keys.check_of(finding.key) for finding in driving}
    unnamed = [said for ref, said in zip(report.concerns, report.behind, strict=False) if ref not in named]
    unnamed = unnamed if with_concerns else []
    if driving or unnamed:
        out("  DO NOT DRIVE because of:")
        _findings(driving)
        for said in unnamed:
            _lines(said, "    ")
    rest = [finding for finding in findings if finding not in driving]
    if rest and (driving or unnamed):
        out("  Other findings:")
    _findings(rest)


def _findings(findings: Iterable[Finding]) -> None:
    """Findings with one action together, the action once below them."""
    gathered: dict[tuple[str, str], list[Finding]] = {}
    for finding in dict.fromkeys(findings):
        gathered.setdefault((finding.rule, finding.fix), []).append(finding)
    for (rule, fix), group in gathered.items():
        if rule in _GATHERED and len(group) > 1:
            _many(rule, group)
        else:
            for finding in group[:_MOST_ALIKE]:
                _one(finding)
            if len(group) > _MOST_ALIKE:
                _lines(f"{len(group) - _MOST_ALIKE} more like these; --json lists all", "    ")
        if fix:
            _lines(f"Action: {fix}.".replace("..", "."), "      ")


def _many(rule: str, group: list[Finding]) -> None:
    cells = ", ".join(finding.cell for finding in group)
    if rule in _LINES and all(finding.cell for finding in group):
        _lines(f"{len(group)} lines {_GATHERED[rule]}: {cells}", "    ")
        return
    named = [f"{_subject(item)} ({_place(item)})" if item.place else _subject(item) for item in group[:_MOST_NAMES]]
    if len(group) > _MOST_NAMES:
        named.append(f"{len(group) - _MOST_NAMES} more")
    _lines(f"{len(group)} {_GATHERED[rule]}: {'; '.join(named)}", "    ")


def _one(finding: Finding) -> None:
    more = f" ({counted(finding.followers, 'more cell follows', 'more cells follow')})" if finding.followers else ""
    what = finding.what.removesuffix(", DO NOT DRIVE")
    limit, expected = ("limit ", "") if finding.rule in WHO_ACTS else ("", "expected ")
    shown = [
        f"{word}{_short(_with_unit(text, finding.unit))}"
        for word, text in (("" if limit else "found ", finding.found), (limit or expected, finding.expected))
        if text and (_FIGURE.match(text) or text not in finding.what)
    ]
    _lines(
        f"{_place(finding)}: {': '.join([f'{what}{more}', *(['; '.join(shown)] if shown else [])])}".removeprefix(": "),
        "    ",
    )


def _with_unit(text: str, unit: str) -> str:
    """A figure with its unit behind the number.

    >>> _with_unit("805 (by 93%)", "psi"), _with_unit("12 to 15", "mm"), _with_unit("no", "mm")
    ('805 psi (by 93%)', '12 to 15 mm', 'no')
    """
    if not unit or unit in ("count", "1"):
        return text
    found = _FIGURE.match(text)
    if found and not text[-1:].isdecimal():
        return f"{found[0]} {unit}{text[found.end() :]}"
    return f"{text} {unit}" if text[-1:].isdecimal() else text


def _subject(finding: Finding) -> str:
    """What a finding is about: the words before the first colon."""
    if finding.rule == "text-added":
        return f'"{_short(finding.found)}"'
    return finding.what.partition(": ")[0]


def _short(text: str) -> str:
    text = plain(text)
    return text if len(text) <= _MOST_TEXT else f"{text[:_MOST_TEXT]}…"
