"""The result of a check as people read it: grouped by who must act, DO NOT DRIVE first, in 80 columns."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal

from estimator.boxes import keys
from estimator.cli.output import CAUTION, counted, out, plain, wrapped
from estimator.diagnosis.advice.band import NO_ESTIMATE
from estimator.errors import Finding, in_one_line
from estimator.findings import ADVISOR, BOOKKEEPER, MECHANIC, WHO_ACTS
from estimator.limits.judging.driving import GROUNDED, NO_FINDING
from estimator.limits.judging.standing import UNMADE
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
_MOST_ALIKE, _MOST_NAMES, _MOST_SHORT = 12, 60, 3
_FIGURE = re.compile(r"[+-]?[0-9][0-9,.e+-]*(?![^ ])")
# Findings of these rules are many and alike: one line tells of all.
_GATHERED = {
    "not-measured": "not measured or checked",
    "no-limit": "measured, no limit on file",
    "not-measured-after-work": "remeasure",
    "job-undecided": "awaiting a decision",
    "job-not-done": "authorized, not marked done",
    "text-added": "text outside the entry boxes",
}
_LINES = ("job-undecided", "job-not-done")


def print_short(report: Report) -> None:
    """Print what matters of one report on one screen."""
    for text, indent, bold in short_lines(report):
        for line in wrapped(text, indent, f"{indent}  " if indent else ""):
            out(line, bold=bold)


def short_lines(report: Report) -> Iterator[tuple[str, str, bool]]:
    """The short form of a report, a text at a time with its indent and whether it is bold: file, state, what grounds the
    car, next step, money, caution."""
    yield in_one_line(report.file), "", True
    none = "" if report.document or report.state == "unreadable" else ": no record can be read from it"
    if report.document:
        yield f"{report.document} revision {report.revision} · {report.car} · {report.customer}", "  ", False
    if not report.document or report.state != "sound":
        yield f"{_STATES[report.state]}{none}", "  ", True
        yield from _short_list(
            [_told(item) for item in report.findings if _who(item) == _FILE and item.severity != "note"]
        )
    if report.document:
        yield report.driving, "  ", True
        yield from _short_list(_grounds(report))
        made = f"{report.made} of {report.asked} requested checks made"
        yield made, "  ", False
        if report.driving == NO_FINDING:
            yield "This does not mean the car is safe.", "  ", False
            if report.unexamined:
                yield f"not examined: {'; '.join(report.unexamined)}", "  ", False
        yield from _short_list([_told(item) for item in report.findings if _other_stop(item, report)])
        yield from ((_short(line), "  ", False) for line in report.cause_lines[:1])
        yield from ((line, "  ", False) for line in _advised(report))
        if report.to_do:
            yield f"to do: {report.to_do.words} ({report.to_do.who})", "  ", True
        total, proposed = report.agreed["total"], report.proposed["total"]
        yield f"authorized {total} of {proposed} {report.currency} recommended", "  ", False
    if counts := _counts(report):
        yield f"{counts}: --full lists them", "  ", False
    if report.document and report.driving in GROUNDED:
        yield CAUTION, "", False


def _grounds(report: Report) -> list[str]:
    """What is behind DO NOT DRIVE, each a line; checks that weren't made are counted."""
    unmade = {word: [said for said in report.behind if f": {word}" in said] for word in UNMADE}
    counted_ = [f"{counted(len(said), 'check')}: {word}" for word, said in unmade.items() if len(said) > 1]
    many = {one for said in unmade.values() if len(said) > 1 for one in said}
    return [said for said in report.behind if said not in many] + counted_


def _other_stop(finding: Finding, report: Report) -> bool:
    """Whether a finding stops something else than driving, such as posting."""
    driving = keys.check_of(finding.key) in report.concerns or finding.rule == "fluid-mixed"
    return finding.severity == "stop" and _who(finding) != _FILE and not driving


def _short_list(texts: list[str]) -> Iterator[tuple[str, str, bool]]:
    for text in texts[:_MOST_SHORT]:
        yield _short(text), "    ", False
    if len(texts) > _MOST_SHORT:
        yield f"{len(texts) - _MOST_SHORT} more", "    ", False


def _told(finding: Finding) -> str:
    return f"{finding.place}: {finding.what}".removeprefix(": ")


def _counts(report: Report) -> str:
    """How many findings there are for each who acts."""
    number = {who: sum(1 for item in report.findings if _who(item) == who) for who in _HEADINGS}
    return ", ".join(f"{counted(many, 'finding')} for the {who}" for who, many in number.items() if many)


def print_report(report: Report) -> None:
    """Print one report in full."""
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
    for line in _advised(report):
        _lines(line)


def _advised(report: Report) -> Iterator[str]:
    """The next step and the price band."""
    if report.next:
        cost = f", {report.next['cost']} {report.currency} before tax" if report.next["kind"] != "let-be" else ""
        yield f"next: {report.next['title']} ({report.next['kind'].replace('-', ' ')}{cost})"
    if report.price_low:
        low, high = (f"{Decimal(amount):,.0f}" for amount in (report.price_low, report.price_high))
        yield f"this visit may come to {low} to {high} {report.currency}. {NO_ESTIMATE}"


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
