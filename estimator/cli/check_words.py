"""The result of a check as people read it: grouped by who must act, what concerns driving first, in 80 columns."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from estimator.boxes import keys
from estimator.cli.output import CAUTION, counted, out, plain, wrapped
from estimator.errors import Finding, in_one_line
from estimator.findings import ADVISOR, BOOKKEEPER, MECHANIC, WHO_ACTS
from estimator.limits.judging.driving import DO_NOT_DRIVE, GROUNDED
from estimator.readback.report import Report, of_the_workbook

_KEEPER = "whoever keeps the file"
_ORDER = (_KEEPER, MECHANIC, ADVISOR, BOOKKEEPER)
_MOST_TEXT = 160
_MOST_ALIKE, _MOST_NAMES = 12, 60
_FIGURE = re.compile(r"[+-]?[0-9][0-9.e+-]*(?![^ ])")
# Findings of these rules are many and alike: one line tells of all.
_GATHERED = ("not-measured", "not-measured-after-work", "job-undecided", "job-not-done", "text-added")


def print_report(report: Report) -> None:
    """Print one report."""
    out(in_one_line(report.file), bold=True)
    if report.document:
        _head(report)
    else:
        out("  unreadable" if report.state == "unreadable" else f"  {report.state}: no record can be read from it")
    for who in _ORDER:
        mine = [finding for finding in report.findings if _who(finding) == who]
        if mine:
            out()
            out(f"For the {who}" if who != _KEEPER else "For whoever keeps the file", bold=True)
            _group(mine, set(report.concerns))
    if report.document and report.driving in GROUNDED:
        out()
        for line in wrapped(CAUTION):
            out(line)


def _head(report: Report) -> None:
    for line in wrapped(
        f"{report.document} revision {report.revision} · {report.car} · {report.customer}", "  ", "    "
    ):
        out(line)
    differing = sum(1 + f.followers for f in report.findings if of_the_workbook(f) and f.severity != "note")
    compared = f"{report.compared:,} cells compared"
    out(f"  {report.state}: {compared}, {counted(differing, 'differs', 'differ') if differing else 'none differs'}")
    if report.seal != "not sealed":
        out(f"  {report.seal}")
    for note in report.notes:
        for line in wrapped(note, "  ", "    "):
            out(line)
    out()
    out(f"  {report.driving}", bold=True)
    kept = f"; {counted(len(report.behind), 'thing keeps', 'things keep')} it off the road" if report.behind else ""
    out(f"  {report.made} of {report.asked} checks made{kept}")
    for said in report.behind if report.driving == DO_NOT_DRIVE else ():
        for line in wrapped(said, "    ", "      "):
            out(line)
    if report.unexamined:
        for line in wrapped(f"nobody examined: {', '.join(report.unexamined)}", "  ", "    "):
            out(line)
    boxes = report.entries
    unclear = f", {boxes['not_understood']} not understood" if boxes["not_understood"] else ""
    out(f"  {boxes['read']:,} boxes filled in, {boxes['empty']:,} empty{unclear}")
    total, proposed = report.agreed["total"], report.proposed["total"]
    out(f"  agreed {total} of {proposed} {report.currency} proposed")


def _who(finding: Finding) -> str:
    return _KEEPER if of_the_workbook(finding) else WHO_ACTS.get(finding.rule, _KEEPER)


def _group(findings: list[Finding], concerns: set[str]) -> None:
    """What concerns driving, then the rest; in each the gravest first, findings that are alike together."""
    driving = [finding for finding in findings if keys.check_of(finding.key) in concerns]
    for title, part in (("keeps the car off the road", driving), ("", [f for f in findings if f not in driving])):
        if part and title:
            out(f"  {title}:")
        elif part and driving:
            out("  besides:")
        _findings(part)


def _findings(findings: Iterable[Finding]) -> None:
    gathered: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        alike = (finding.tab, finding.fix) if finding.rule in _GATHERED else (finding.line(),)
        gathered.setdefault((finding.rule, *alike), []).append(finding)
    printed: Counter[str] = Counter()
    for (rule, *_), group in gathered.items():
        printed[rule] += 1
        if printed[rule] > _MOST_ALIKE:
            continue
        if len(group) > 1:
            _many(group)
        else:
            _one(group[0])
    for rule, number in printed.items():
        if number > _MOST_ALIKE:
            out(f"    {rule.replace('-', ' ')}: {number - _MOST_ALIKE} more like these; --json lists all")


def _many(group: list[Finding]) -> None:
    first = group[0]
    listed = [f"{_subject(item)} ({item.cell})" if item.cell else _subject(item) for item in group[:_MOST_NAMES]]
    if len(group) > _MOST_NAMES:
        listed.append(f"{len(group) - _MOST_NAMES} more")
    title = f"{first.tab}: {first.rule.replace('-', ' ')} ({len(group)})".removeprefix(": ")
    _print([title, *wrapped(" · ".join(listed), "        ")], first.fix)


def _one(finding: Finding) -> None:
    more = f" ({counted(finding.followers, 'more cell follows', 'more cells follow')})" if finding.followers else ""
    what = f"{finding.place}: {finding.what}{more}".removeprefix(": ")
    first = list(wrapped(what, "    ", "        "))
    lines = [first[0].strip(), *first[1:]]
    shown = [
        f"{word} {_short(_with_unit(text, finding.unit))}"
        for word, text in (("found", finding.found), ("expected", finding.expected))
        if text and (_FIGURE.match(text) or text not in finding.what)
    ]
    if shown:
        lines += wrapped("; ".join(shown), "        ")
    _print(lines, finding.fix)


def _with_unit(text: str, unit: str) -> str:
    """A figure with its unit behind the number.

    >>> _with_unit("805.6 (by 93 %)", "psi"), _with_unit("at least 12, at most 15", "mm"), _with_unit("no", "mm")
    ('805.6 psi (by 93 %)', 'at least 12, at most 15 mm', 'no')
    """
    if not unit or unit in ("count", "1"):
        return text
    if found := _FIGURE.match(text):
        return f"{found[0]} {unit}{text[found.end() :]}"
    return f"{text} {unit}" if text[-1:].isdecimal() else text


def _print(lines: list[str], fix: str) -> None:
    out(f"    {lines[0]}")
    for line in lines[1:]:
        out(line)
    for line in wrapped(f"to do: {fix}", "        ", "        ") if fix else ():
        out(line)


def _subject(finding: Finding) -> str:
    """What a finding is about: the words before the first colon."""
    if finding.rule == "text-added":
        return f'"{_short(finding.found)}"'
    return finding.what.partition(": ")[0]


def _short(text: str) -> str:
    text = plain(text)
    return text if len(text) <= _MOST_TEXT else f"{text[:_MOST_TEXT]}…"
