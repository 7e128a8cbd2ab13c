"""`Inspection` and `After work`: what the mechanic measures and sees, a stage a page, the verdict beside each box."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.diagnosis.causes.diagnose import PRESSES
from estimator.limits.judging.check_rows import CheckRow, units_in_texts
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.usual_gauges import UsualGauge
from estimator.limits.judging.verdict_words import BAD, CONTRADICTS, FAULT, LOOK_WORDS, NOT_BELIEVABLE, WHY_WORDS
from estimator.quantities import text_in_units
from estimator.text_width import text_lines
from estimator.workbook.book import Block, Mark, Page, Tab, Value
from estimator.workbook.forms import Form, Placed, count, live, typed, wide, words
from estimator.workbook.tabs.check_status import verdict_cell
from estimator.workbook.tabs.common import (
    CAR_CAUTION,
    PAD,
    PAGE_CAUTIONS,
    PRINTED,
    date_box,
    date_look,
    decimals,
    list_box,
    page_head,
    reading_look,
    words_box,
)
from estimator.workbook.tabs.form_rows import TABS, FormBand, FormPage, FormRow, form_pages
from estimator.workbook.tabs.how_read import how_read_form
from estimator.workbook.tabs.last_visit import LastVisit
from estimator.workbook.tabs.measured_again import again_form
from estimator.workbook.tabs.reading_boxes import believed, reading_box
from estimator.workbook.tabs.said_limits import limit_words, number_said, said_formula

LAST = 10
# First columns of the halves; of the margin: why, gauge, note, and what explains a reading.
HALVES = (3, 7)
_KEPT = "\u00a0"  # a space at which no line ends
WHY, GAUGE, NOTE, EXPLAINED = 12, 14, 16, 18
WIDTHS = (24, 124, 92, 60, 30, 78, 92, 60, 30, 78, 20, 92, 92, 92, 92, 56, 56, 80)
ACT = (*BAD, NOT_BELIEVABLE, CONTRADICTS)
LEGEND = (
    "work: out of it, repair · drive: out of it, DO NOT DRIVE · bold: action needed · white on black: grounds the car. "
    "Limits rounded inwards."
)
# The stages that are printed in the other phase alone.
_ELSEWHERE, _WHEN = {"before": "after_work", "after": "before_work"}, {"before": "Before work", "after": "After work"}


def inspection(appraisal: Appraisal) -> Tab:
    return _tab(appraisal, "before")


def after_work(appraisal: Appraisal) -> Tab:
    return _tab(appraisal, "after")


def _tab(appraisal: Appraisal, phase: str) -> Tab:
    pages = form_pages(appraisal)
    printed = [page for page in pages if not getattr(page.stage, _ELSEWHERE[phase])]
    rest = [page for page in pages if page not in printed]
    writer = _Pages(appraisal, phase)
    blocks = [writer.page(page, first=page is printed[0]) for page in printed]
    below = Form(f"{phase}_below", LAST)
    for page in rest:
        below.row(
            f"more-{page.number}",
            [words(1, f"{_WHEN[phase]}, {page.stage.title.lower()}: where it was read", "b105")],
            20,
        )
        writer.bands(below, page)
    how_read_form(appraisal, below, phase)
    if phase == "after":
        again_form(appraisal, below)
    return Tab(
        name=TABS[phase],
        title="",
        head=blocks[0],
        cautions=(),
        blocks=(*blocks[1:], below.block()),
        widths=WIDTHS,
        page=Page(columns=LAST, until=blocks[-1].name, frozen=1),
        marks=tuple(writer.marks),
    )


class _Pages:
    """Writes the pages of one phase."""

    def __init__(self, appraisal: Appraisal, phase: str) -> None:
        self.appraisal, self.phase = appraisal, phase
        self.judged: dict[str, Judged] = {item.ref: item for item in appraisal.judged}
        self.marks: list[Mark] = []
        self.last = LastVisit.of(appraisal, phase)
        self.beside = {row.check: row.said for row in appraisal.callers.beside} if phase == "before" else {}

    def page(self, page: FormPage, *, first: bool) -> Block:
        number, stage = page.number, page.stage
        form = Form(f"{self.phase}_{number}", LAST)
        title = f"{TABS[self.phase]} {number}: {stage.title}"
        page_head(form, self.appraisal, f"page-{number}", title, LAST, page=not first)
        self._caution(form, page)
        self.bands(form, page)
        self._foot(form, page, first=first)
        return form.block()

    def bands(self, form: Form, page: FormPage) -> None:
        for at, band in enumerate(page.bands, 1):
            form.row(f"gap-{page.number}-{at}", [], 5)
            self._band(form, f"{page.number}-{at}", band)
            for row in band.rows:
                lines = text_lines(self.last.with_title(row), WIDTHS[1] - PAD, 10.5, bold=True)
                form.row(str(row.number), self._row(row), max(28.5, 13.5 * len(lines)), "check")

    def _caution(self, form: Form, page: FormPage) -> None:
        boxes = self.appraisal.entries.pages[str(page.number)]
        lines = text_lines(page.stage.caution, PRINTED - 3 * PAD, 9, bold=True)
        tick = f"{page.stage.tick}:"
        for at, line in enumerate(lines):
            cells = [words(1, f"  {line}", "b9")]
            edges = {0: "frame-top", len(lines) - 1: "frame-bottom"}
            edge = "frame-only" if len(lines) == 1 else edges.get(at, "frame")
            form.row(f"caution-{page.number}-{at + 1}", cells, 12.5, edge)
        box = list_box("Confirmed", ("yes", "no"), f"Before this stage: {page.stage.tick}.")
        key = keys.key("page", str(page.number), f"ready_{self.phase}")
        value = getattr(boxes, f"ready_{self.phase}")
        form.row(
            f"ready-{page.number}",
            [
                words(1, self.last.words, "t9"),
                words(LAST - 1, tick, "b9-right"),
                typed(LAST, key, value, box, "entry-center"),
            ],
            19,
        )

    def _band(self, form: Form, ref: str, band: FormBand) -> None:
        left, right = band.halves
        form.row(
            f"band-{ref}",
            [
                words(1, text_in_units(band.title, units_in_texts(self.appraisal.record.shop.show)), "b105"),
                words(HALVES[0], left, "b105"),
                words(HALVES[1], right, "b105"),
                *self._margin_heads(),
            ],
            17,
            "band",
        )
        gauges = list(band.gauges)
        for at in range(0, len(gauges), 2):
            cells: list[Placed] = [words(1, "gauges" if at == 0 else "", "t9")]
            height = 17.0
            for half, item in zip(HALVES, gauges[at : at + 2], strict=False):
                fitting = tuple(
                    gauge.id
                    for gauge in self.appraisal.record.shop.gauges
                    if gauge.measures == item.rows[0].check.quantity
                )
                box = list_box(
                    "Gauge", fitting, f"The gauge of {', '.join(_titles(item.rows))}; another one: in the margin."
                )
                value = getattr(self.appraisal.entries.usual[item.ref], self.phase)
                title = _gauge_title(item, gauges)
                height = max(height, 17.0, 11.5 * len(text_lines(title, WIDTHS[half - 1] - PAD, 9)) + 1)
                cells.append(words(half, title, "t9-wrap"))
                cells += wide(half + 1, half + 3, keys.key("usual", item.ref, self.phase), value, box, "small-wide")
            form.row(f"gauge-{ref}-{at}", cells, height, "thin")

    def _margin_heads(self) -> Iterator[Placed]:
        heads = {WHY: "reason, left", WHY + 1: "right", GAUGE: "other gauge, left", GAUGE + 1: "right"}
        if self.phase == "before":
            heads |= {EXPLAINED: "by the likeliest cause"} if self.beside else {}
            heads |= {NOTE: "note, left", NOTE + 1: "right"}
        return (words(column, text, "t9") for column, text in heads.items())

    def _row(self, row: FormRow) -> Iterator[Placed]:
        yield count(1, row.number)
        yield words(2, self.last.with_title(row), "check")
        for side, check in enumerate(row.halves):
            if check is not None:
                yield from self._half(HALVES[side], check, self.last.beside(row, check))
                if not check.check.unasked:
                    yield from self._margin(side, check)
        yield from self._explained(row)

    def _explained(self, row: FormRow) -> Iterator[Placed]:
        """What the likeliest cause explains of the latest readings of a row, left and right."""
        refs = [f"{check.check.id}.{check.place.id}" for check in row.halves if check and check.number <= 1]
        cells = [f"{{beside.{ref}.said}}" for ref in refs if ref in self.beside]
        said = [self.beside[ref] for ref in refs if ref in self.beside]
        if cells:
            more = "".join(f'&IF({cell}="","",IF({cells[0]}="","","; ")&{cell})' for cell in cells[1:])
            yield live(EXPLAINED, f'{cells[0]}&""{more}', "; ".join(filter(None, said)), "t9")

    def _half(self, column: int, check: CheckRow, last: str) -> Iterator[Placed]:
        judged = self.judged.get(check.ref)
        box = reading_box(check)
        if judged is not None:
            limits = [name for name, pair in (("work", "service"), ("drive", "danger")) if limit_words(judged, pair)]
            if limits:
                said = "\n".join(limit_words(judged, {"work": "service", "drive": "danger"}[name]) for name in limits)
                yield live(column, "&CHAR(10)&".join(f"{{said.{check.ref}.{name}}}" for name in limits), said, "limit")
            if check.check.id == PRESSES and (stop := self.appraisal.diagnosis.stops.get(check.place.id)):
                yield words(column, f"sound: {stop // 2}\nstop at {stop}", "limit")
            yield words(column + 2, judged.said_unit.strip(), "unit")
            box = replace(box, believed=believed(judged, box))
        elif check.check.kind == "look":
            yield words(column, "\n".join(LOOK_WORDS[:2]), "limit")
        elif check.check.kind == "family":
            yield words(column, f"must be\n{self.appraisal.record.car.fluid.family}", "limit")
        value: Value = self.appraisal.entries.readings[check.ref].value(self.phase)
        look = "entry-words" if judged is None else reading_look(judged.unit)
        unit = "" if judged is None else judged.unit
        yield typed(column + 1, keys.reading(check.ref, self.phase), value, box, look, unit)
        yield self._verdict(column + 3, check, last)

    def _verdict(self, column: int, check: CheckRow, last: str) -> Placed:
        """The verdict; below it what was read before work, or what is judged where that isn't the reading itself."""
        cell, shown = verdict_cell(self.appraisal, check.ref, self.phase), self._verdict_word(check)
        key = f"verdict.{check.ref}.{self.phase}"
        judged = self.judged.get(check.ref)
        if judged is not None and judged.against.before:
            cell = f"{{judging.{check.ref}.beside_{self.phase}}}"
        formula, value = cell, shown
        if self.phase == "after":
            formula, value = self._was(check, cell, shown)
        elif judged is not None and judged.derived.before:
            digits = decimals(judged.unit)
            of = f"judging.{check.ref}"
            figure = said_formula(f"({{{of}.judged_before}}-{{{of}.offset}})/{{{of}.factor}}", digits)
            word = "loss" if "loss" in check.check.judged_as else "corrected"
            formula = f'{cell}&CHAR(10)&IFERROR("{word} "&{figure},"{last}")' if last else ""
            formula = formula or f'{cell}&IFERROR(CHAR(10)&"{word} "&{figure},"")'
            number = judged.shown_in("before")
            second = last if isinstance(number, str) else f"{word} {number_said(number, digits)}"
            value = f"{shown}\n{second}" if second else shown
        elif last:
            formula, value = f'{cell}&CHAR(10)&"{last}"', f"{shown}\n{last}"
        self._mark(key, check, cell)
        return live(column, formula, value, "verdict", key=key)

    def _was(self, check: CheckRow, cell: str, shown: str) -> tuple[str, str]:
        before = f"{{reading.{check.ref}.before}}"
        judged = self.judged.get(check.ref)
        value = self.appraisal.entries.readings[check.ref].before
        if judged is not None:
            digits = decimals(judged.unit)
            formula = f'{cell}&IF(ISNUMBER({before}),CHAR(10)&"was "&{said_formula(before, digits)},"")'
            return formula, f"{shown}\nwas {number_said(value, digits)}" if isinstance(value, float) else shown
        found = verdict_cell(self.appraisal, check.ref, "before")
        was = self.appraisal.standing_of[check.ref].before.verdict == FAULT
        return f'{cell}&IF({found}="{FAULT}",CHAR(10)&"was {FAULT}","")', f"{shown}\nwas {FAULT}" if was else shown

    def _verdict_word(self, check: CheckRow) -> str:
        if check.ref in self.judged:
            return self.judged[check.ref].phases[self.phase].beside
        return self.appraisal.standing_of[check.ref].found(self.phase).verdict

    def _mark(self, key: str, check: CheckRow, cell: str) -> None:
        made = f"{{standing.{check.ref}.made_after}}"
        mine = f"{made}=0" if self.phase == "before" else f"{made}=1"
        if check.check.safety:
            self.marks.append(Mark(key, f"AND({{standing.{check.ref}.concern}}=1,{mine})", "ground"))
        self.marks.append(Mark(key, "OR(" + ",".join(f'{cell}="{word}"' for word in ACT) + ")", "bold"))

    def _margin(self, side: int, check: CheckRow) -> Iterator[Placed]:
        boxes = self.appraisal.entries.readings[check.ref]
        ref = check.ref
        if check.check.measured:
            fitting = tuple(
                gauge.id for gauge in self.appraisal.record.shop.gauges if gauge.measures == check.check.quantity
            )
            box = list_box("Other gauge", fitting, "Where another gauge than the band's gave this reading.")
            yield typed(GAUGE + side, keys.gauge(ref, self.phase), boxes.gauge(self.phase), box, "entry-small")
        why = "why" if self.phase == "before" else "why_after"
        reason = list_box("Reason not measured", WHY_WORDS)
        yield typed(WHY + side, keys.key("reading", ref, why), boxes.reason(self.phase), reason, "entry-small")
        if self.phase == "before":
            box = words_box("Note", "Anything to add; the number of a photo.")
            yield typed(NOTE + side, keys.key("reading", ref, "note"), boxes.note, box, "entry-small")

    def _foot(self, form: Form, page: FormPage, *, first: bool) -> None:
        number, phase = page.number, self.phase
        boxes = self.appraisal.entries.pages[str(number)]
        form.row(f"gap-{number}-notes", [], 3)
        note = wide(
            HALVES[0],
            LAST,
            keys.key("page", str(number), f"note_{phase}"),
            getattr(boxes, f"note_{phase}"),
            words_box("Notes", "Begin each with the number of its check."),
            "note",
        )
        form.row(f"notes-{number}", [words(1, "Notes, by number", "b105"), *note], 29)
        for at, line in enumerate(_how_to(page), 1):
            form.row(f"how-{number}-{at}", [words(1, line, "t9")], 11.5)
        form.row(f"legend-{number}", [words(1, LEGEND, "t9")], 13, "top")
        for at, line in enumerate((*PAGE_CAUTIONS, CAR_CAUTION)[: 3 if first else 2]):
            form.row(f"always-{number}-{at}", [words(1, line, "b9")], 11.5)
        self._signed(form, page, first=first)

    def _signed(self, form: Form, page: FormPage, *, first: bool) -> None:
        number, phase = page.number, self.phase
        visit = self.appraisal.entries.visits[phase]
        initials = getattr(self.appraisal.entries.pages[str(number)], f"initials_{phase}")
        cells: list[Placed] = [
            words(1, "Read by", "b105"),
            words(6, "date", "t9-right"),
            words(LAST - 1, "initials", "t9-right"),
        ]
        if first:
            by = words_box("Measured by", "Name of the mechanic.")
            cells += wide(3, 5, keys.key("visit", phase, "by"), visit.by, by, "entry-wide")
            cells.append(
                typed(
                    7,
                    keys.key("visit", phase, "date"),
                    visit.date,
                    date_box("Date", "The day of the readings."),
                    date_look(self.appraisal),
                )
            )
        else:
            cells.append(live(3, f'{{visit.{phase}.by}}&""', str(visit.by), "t105"))
            cells.append(live(7, f"{{visit.{phase}.day}}", self._day(), date_look(self.appraisal, "date-left")))
        key = keys.key("page", str(number), f"initials_{phase}")
        cells.append(typed(LAST, key, initials, words_box("Initials"), "entry"))
        form.row(f"signed-{number}", cells, 27)

    def _day(self) -> int:
        return next(visit.day for visit in self.appraisal.visits if visit.ref == self.phase)


def _gauge_title(item: UsualGauge, others: Sequence[UsualGauge]) -> str:
    """What a band's gauge is for: its quantity, or the check where the band has several gauges of one quantity."""
    alike = [other for other in others if other.quantity == item.quantity]
    return item.quantity if len(alike) < 2 else _titles(item.rows)[0]


def _titles(rows: tuple[CheckRow, ...]) -> list[str]:
    return list(dict.fromkeys(row.check.title for row in rows))


def _how_to(page: FormPage) -> list[str]:
    """How each check is made, by its number, in lines that fit on a page."""
    said: dict[str, list[int]] = {}
    for band in page.bands:
        for row in band.rows:
            check = (row.halves[0] or row.halves[1]).check  # type: ignore[union-attr]
            said.setdefault(check.how, []).append(row.number)
    texts = [f"{_numbers(numbers)} ".replace(" ", _KEPT) + how for how, numbers in said.items()]
    return text_lines(f"{_KEPT}· ".join(texts), PRINTED - PAD, 9)


def _numbers(numbers: list[int]) -> str:
    """Numbers as a reader says them.

    >>> _numbers([4]), _numbers([4, 5]), _numbers([4, 5, 6])
    ('4', '4, 5', '4–6')
    """
    if len(numbers) > 2 and numbers == list(range(numbers[0], numbers[-1] + 1)):
        return f"{numbers[0]}–{numbers[-1]}"
    return ", ".join(map(str, numbers))
