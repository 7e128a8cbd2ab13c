"""How a number of one phase was judged, column by column; what stands in a row depends on which limits its check has."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import check_ref
from estimator.facts.checks import Check
from estimator.limits.judging.certificates import SERIAL
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.stated import BLEED_DOWN, CERTIFICATE, FIRST_CHARGE, LOG
from estimator.limits.judging.verdict_words import (
    AGAIN,
    CLOSE,
    CONTRADICTS,
    COULD_NOT,
    NO_DRIVE_LIMIT,
    NO_LIMIT,
    NOT_BELIEVABLE,
    NOT_MEASURED,
    OUTSIDE,
    PHASES,
    RECORDED,
    WITHIN,
)
from estimator.quantities import si_unit
from estimator.workbook.book import Column, Value

ROOMS = (("low", "above"), ("high", "below"))
_SHOWN = "in the unit of its check"

Formula = Callable[[Judged], str | None]


def in_si(item: Judged) -> str:
    return si_unit(item.unit)


def some(
    name: str,
    heading: str,
    look: str,
    formula: Formula,
    value: Callable[[Judged], Value],
    unit: str | Callable[[Judged], str] = "",
) -> Column:
    """A column that has cells only where its formula has any."""

    def read(item: Judged) -> Value:
        return "" if formula(item) is None else value(item)

    return Column(name, heading, look, formula, unit=unit, value=read)


def blank_formula(check: Check, phase: str, empty: str, given_up: str) -> str:
    """The word for a box that stays empty."""
    if check.unasked:
        return f'="{empty}"'
    why = "{reading@why}" if phase == "before" else "{reading@why_after}"
    return f'=IF(OR({why}="",{why}="{AGAIN}"),"{empty}","{given_up}")'


def own_side(item: Judged, end: str) -> bool:
    """Whether the do-not-drive limit of an end is another one than the service limit."""
    label = getattr(item.limits, f"danger_{end}")
    return bool(label) and label != getattr(item.limits, f"service_{end}")


def lacking(item: Judged) -> tuple[str, ...]:
    """The ends that are dangerous by a limit of their own."""
    return tuple(end for end, _ in ROOMS if item.row.check.danger(end) == "own")


def drives_apart(item: Judged) -> bool:
    """Whether what concerns driving is judged by other limits than the service limits."""
    same = all(getattr(item.limits, f"danger_{end}") == getattr(item.limits, f"service_{end}") for end, _ in ROOMS)
    return item.row.check.kind != "recorded" and (not same or bool(lacking(item)))


def drive_name(item: Judged, phase: str) -> str:
    """The column that says of a number what concerns driving."""
    return f"drive_{phase}" if drives_apart(item) else f"verdict_{phase}"


@dataclass(frozen=True)
class PhaseColumns:
    """The columns of one phase, before or after work. `held`: the checks whose readings are held against others; `usual`:
    the shared gauge of each check that a gauge gives; `by_label`: the references of working rows."""

    phase: str
    held: frozenset[str]
    usual: Mapping[str, str]
    by_label: Mapping[str, str]

    @classmethod
    def of(cls, appraisal: Appraisal, phase: str) -> PhaseColumns:
        rows = appraisal.workings.rows
        named = " ".join(row.expression for row in rows.values())
        held = {
            item.ref
            for item in appraisal.judged
            if any("{" + keys.held(item.ref, either) + "}" in named for either in PHASES)
        }
        usual = {str(row.ref): item.ref for item in appraisal.shared_gauges for row in item.rows}
        by_label = {row.label: ref for ref, row in rows.items()}
        return cls(phase, frozenset(held), usual, by_label)

    def columns(self) -> list[Column]:
        return [
            *self._readings(),
            *self._rooms("service"),
            self._margin("service"),
            *self._belief(),
            *self._against(),
            *self._rooms("danger"),
            *self._drive(),
            *self._words(),
            *self._dates(),
        ]

    def _column(
        self,
        name: str,
        heading: str,
        look: str,
        formula: Formula,
        value: Callable[[Judged], Value] | None = None,
        unit: str | Callable[[Judged], str] = "",
    ) -> Column:
        """A column of this phase; PHASE in its formula stands for it."""

        def named(item: Judged) -> str | None:
            template = formula(item)
            return None if template is None else template.replace("PHASE", self.phase)

        def read(item: Judged) -> Value:
            found: Value = getattr(item.phases[self.phase], name)
            return found

        return some(f"{name}_{self.phase}", f"{self.phase}: {heading}", look, named, value or read, unit)

    def _figure(self, label: str) -> str:
        """The cell of a working row by its label."""
        return f"{{working.{self.by_label[label]}.si}}"

    def _readings(self) -> list[Column]:
        """What was read, by which gauge, what is judged, and how uncertain it is."""

        def gauge_at(item: Judged) -> str | None:
            if item.ref not in self.usual:
                return None
            own = "{reading@gauge_PHASE}"
            return f'=IFERROR(MATCH(IF({own}="",{{usual.{self.usual[item.ref]}.PHASE}},{own}),{{gauge:label}},0),0)'

        def derived(which: int) -> Formula:
            def formula(item: Judged) -> str | None:
                label = item.derived.labels(self.phase)[which]
                return "=" + self._figure(label) if label else None

            return formula

        def uncertain(item: Judged) -> str:
            if item.derived.u_before:
                u = 'IF(ISNUMBER({u_any_PHASE}),ROUND({u_any_PHASE}/{factor},6),"")'
            elif item.ref in self.usual:
                u = 'IF(ISNUMBER({gauge_u_PHASE}),ROUND({constant.two.value}*{gauge_u_PHASE}/{factor},6),"")'
            else:
                u = "ROUND({fixed_u},6)"
            return f"={u}" if item.row.check.safety else f"=IF({{plain}}=1,0,{u})"

        reading = '=IF(ISNUMBER({reading@PHASE}),{reading@PHASE}*{factor}+{offset},"")'
        return [
            self._column("si", "reading, SI", "factor", lambda _: reading, unit=in_si),
            self._column("gauge_at", "row of the gauge", "whole", gauge_at),
            *self._stated(),
            self._column("judged", "judged, SI", "factor", derived(0), unit=in_si),
            self._blank(),
            self._column("u_any", "U of what is judged, SI", "factor", derived(1), unit=in_si),
            self._column("u_shown", f"U, {_SHOWN}", "number-3", uncertain),
        ]

    def _blank(self) -> Column:
        phase = self.phase
        return Column(
            f"blank_{phase}",
            f"{phase}: if empty",
            "words",
            lambda item: blank_formula(item.row.check, phase, NOT_MEASURED, COULD_NOT),
            value=lambda item: item.phases[phase].blank,
        )

    def _stated(self) -> list[Column]:
        """The uncertainty of its gauge; of a reading that can be made in several ways, what its way adds and what is stated."""

        def gauge_u(item: Judged) -> str | None:
            fits = "INDEX({gauge:kind},{gauge_at_PHASE})={quantity}"
            u = f'IF({fits},INDEX({{gauge:u_si}},{{gauge_at_PHASE}}),"")'
            return f'=IF({{gauge_at_PHASE}}=0,"",{u})' if item.ref in self.usual else None

        def alone(item: Judged) -> str | None:
            return gauge_u(item) if item.row.check.read_by else None

        def with_way(item: Judged) -> str | None:
            if not item.row.check.read_by:
                return gauge_u(item)
            both = "{u_alone_PHASE}*{u_alone_PHASE}+{method_u_PHASE}*{method_u_PHASE}"
            return f'=IF(ISNUMBER({{u_alone_PHASE}}),MAX(SQRT({both}),{{stated_u_PHASE}}),"")'

        def told(name: str, heading: str, look: str, formula: str) -> Column:
            unit = in_si if look == "factor" else ""
            return self._column(
                name,
                heading,
                look,
                lambda item: formula if item.row.check.read_by else None,
                lambda item: getattr(item.phases[self.phase].said, name.removeprefix("stated_")),
                unit,
            )

        how, typed = "{stated@how_PHASE}", "{stated@u_PHASE}"
        share = "({constant.bleed-share.value}*{si_PHASE})"
        bleed = f"SQRT({{constant.bleed-u.value}}*{{constant.bleed-u.value}}+{share}*{share})"
        first = f'IF({how}="{FIRST_CHARGE}",{{constant.first-charge-u.value}},{{open_u_PHASE}})'
        wrong = f'AND({how}="{CERTIFICATE}",{{certified_PHASE}}&""="0")'
        by_hand = f'OR({how}="{BLEED_DOWN}",AND({how}="{LOG}",{{stated_u_PHASE}}=0))'
        return [
            self._column("u_alone", "u of the gauge, SI", "factor", alone, unit=in_si),
            told("stated_u", "u stated, SI", "factor", f"=IF(ISNUMBER({typed}),{typed}*{{factor}},0)"),
            told("by_hand", "counts as a bleed-down by hand (1)", "whole", f"=IF({by_hand},1,0)"),
            told("bleed_u", "u of a bleed-down by hand, SI", "factor", f"=IFERROR({bleed},0)"),
            *self._certificate(),
            told("open_u", "u it leaves open, SI", "factor", f"=IF({wrong},{{constant.uncertified-u.value}},0)"),
            told(
                "method_u",
                "u of the way of reading, SI",
                "factor",
                f"=IF({{by_hand_PHASE}}=1,{{bleed_u_PHASE}},{first})",
            ),
            self._column("gauge_u", "u of the reading, SI", "factor", with_way, unit=in_si),
        ]

    def _certificate(self) -> Iterator[Column]:
        """Whether a bench certificate is of this shell, dated after its removal, and young enough."""

        def shell(item: Judged) -> str:
            plate = check_ref(SERIAL, item.row.place.id)
            before, after = (f"{{{keys.reading(plate, phase)}}}" for phase in PHASES)
            return f'=IF({after}="",{before},{after})&""' if self.phase == "after" else f'={before}&""'

        def of_it(name: str, heading: str, look: str, formula: Callable[[Judged], str]) -> Column:
            return self._column(
                name,
                heading,
                look,
                lambda item: formula(item) if CERTIFICATE in item.row.check.read_by else None,
                lambda item: getattr(item.phases[self.phase].said.certificate, name),
            )

        removed, dated = "{stated@removed_PHASE}", "{stated@dated_PHASE}"
        lag = f"=IF(ISNUMBER({removed}),IFERROR({dated}-{removed},-1),-1)"
        age = f"=IFERROR(INT({{visit.PHASE.day}})-{dated},-1)"
        days = "{lag_PHASE}>=0,{age_PHASE}>=0,{age_PHASE}<={constant.certificate-days.value}"
        in_order = f'=IF(AND({{serial_PHASE}}<>"",{{found_PHASE}}>0,{days}),1,0)'
        serial = '=TRIM(UPPER(SUBSTITUTE({stated@serial_PHASE},"-"," ")))'
        words = '" "&{plate_PHASE}&" "'
        either = f'FIND(" "&{{serial_PHASE}}&" ",{words}),FIND(" "&{{joined_PHASE}}&" ",{words})'
        found = f'=COUNT({either},FIND(","&{{joined_PHASE}}&",",","&{{parts_PHASE}}&","))'
        yield of_it("shell", "read on the shell", "words", shell)
        yield of_it("bare", "the same, bare", "words", lambda _: '=UPPER(SUBSTITUTE({shell_PHASE},"-",""))')
        yield of_it("plate", "its words", "words", lambda _: '=TRIM(SUBSTITUTE({bare_PHASE},","," "))')
        yield of_it("parts", "its parts between commas", "words", lambda _: '=SUBSTITUTE({bare_PHASE}," ","")')
        yield of_it("serial", "words of the serial certified", "words", lambda _: serial)
        yield of_it("joined", "the same without spaces", "words", lambda _: '=SUBSTITUTE({serial_PHASE}," ","")')
        yield of_it("found", "it is words or a part of the one read", "whole", lambda _: found)
        yield of_it("lag", "certificate after removal, days", "whole", lambda _: lag)
        yield of_it("age", "its age, days", "whole", lambda _: age)
        yield of_it("certified", "bench certificate in order (1)", "whole", lambda _: in_order)

    @staticmethod
    def _judged(item: Judged) -> str:
        return "{judged_PHASE}" if item.derived.before else "{si_PHASE}"

    # --- room to the limits -------------------------------------------------------------------------------------------

    @staticmethod
    def _room_names(item: Judged, pair: str) -> list[str]:
        """The columns that hold the room to the limits of a pair."""
        return [
            f"{'danger' if pair == 'danger' and own_side(item, end) else 'service'}_{name}_PHASE"
            for end, name in ROOMS
            if getattr(item.limits, f"{pair}_{end}")
        ]

    def _margin_name(self, item: Judged, pair: str) -> str:
        """The column that holds the least room, "" where there is no limit."""
        rooms = self._room_names(item, pair)
        if len(rooms) > 1 or (rooms and pair == "danger" and lacking(item)):
            return f"{pair}_margin_PHASE"
        return "".join(rooms)

    def _rooms(self, pair: str) -> list[Column]:
        def room(end: str, name: str) -> Column:
            def formula(item: Judged) -> str | None:
                wanted = own_side(item, end) if pair == "danger" else getattr(item.limits, f"service_{end}")
                if not wanted or (pair == "danger" and not drives_apart(item)):
                    return None
                limit, judged = f"{{{pair}_{end}}}", self._judged(item)
                difference = f"{judged}-{limit}" if end == "low" else f"{limit}-{judged}"
                return f'=IF(AND(ISNUMBER({judged}),ISNUMBER({limit})),ROUND(({difference})/{{factor}},6),"")'

            def value(item: Judged) -> Value:
                found: Value = getattr(getattr(item.phases[self.phase], pair), name)
                return found

            return self._column(f"{pair}_{name}", f"room {name}, {pair}, {_SHOWN}", "number-3", formula, value)

        return [room(end, name) for end, name in ROOMS]

    def _margin(self, pair: str) -> Column:
        def formula(item: Judged) -> str | None:
            if self._margin_name(item, pair) != f"{pair}_margin_PHASE":
                return None
            if pair == "danger" and not drives_apart(item):
                return None
            both = ",".join(f"{{{name}}}" for name in self._room_names(item, pair))
            if pair == "danger" and lacking(item):
                return f'=IF(OR(COUNT({both})=0,{{no_drive_PHASE}}=1),"",MIN({both}))'
            return f'=IF(COUNT({both})=0,"",MIN({both}))'

        def value(item: Judged) -> Value:
            phase = item.phases[self.phase]
            if pair == "service":
                return phase.service.margin
            return "" if phase.no_drive else phase.danger.margin

        return self._column(f"{pair}_margin", f"least room, {pair}, {_SHOWN}", "number-3", formula, value)

    # --- belief, contradiction ----------------------------------------------------------------------------------------

    def _belief(self) -> list[Column]:
        """Whether it, or a reading that it rests on, lies outside what is believed or off the gauge's scale."""

        def room(end: str) -> Formula:
            def formula(item: Judged) -> str | None:
                label, judged = item.believable.of(self.phase, end), self._judged(item)
                if label:
                    limit = self._figure(label)
                    difference = f"{judged}-{limit}" if end == "low" else f"{limit}-{judged}"
                    return f'=IFERROR(ROUND(({difference})/{{factor}},6),"")'
                if end == "high" or item.row.check.quantity == "temperature":
                    return None
                return f'=IF(ISNUMBER({judged}),ROUND({judged}/{{factor}},6),"")'

            return formula

        def scale(item: Judged) -> str | None:
            left = "ROUND((INDEX({gauge:top_si},{gauge_at_PHASE})-{si_PHASE})/{factor},6)"
            either = 'OR({gauge_at_PHASE}=0,{si_PHASE}="")'
            return f'=IF({either},"",{left})' if item.ref in self.usual else None

        def doubt(item: Judged) -> str | None:
            others = ",".join(f"{{judging.{ref}.odd_PHASE}}" for ref in item.row.rests_on)
            return f"=IF(SUM({{odd_PHASE}},{others})>0,1,0)" if others else None

        def of(pair: str, name: str) -> Callable[[Judged], Value]:
            return lambda item: getattr(getattr(item.phases[self.phase], pair), name)

        odd = "=IF(MIN({belief_above_PHASE},{belief_below_PHASE},{scale_left_PHASE})<0,1,0)"
        return [
            self._column(
                "belief_above", f"room to belief, low, {_SHOWN}", "number-3", room("low"), of("belief", "above")
            ),
            self._column(
                "belief_below", f"room to belief, high, {_SHOWN}", "number-3", room("high"), of("belief", "below")
            ),
            self._column("scale_left", f"room on the scale, {_SHOWN}", "number-3", scale, of("scale", "below")),
            self._column("odd", "outside belief (1)", "whole", lambda _: odd),
            self._column("doubt", "not believable (1)", "whole", doubt),
        ]

    @staticmethod
    def _doubt(item: Judged) -> str:
        return "{doubt_PHASE}" if item.row.rests_on else "{odd_PHASE}"

    def _against(self) -> list[Column]:
        """What it stands for where it is held against other readings, and whether it contradicts one."""

        def held(item: Judged) -> str | None:
            given = "IF(ISNUMBER({again_si}),{again_si},{si_PHASE})"
            given = f'IF(ISNUMBER({{gauge_u_PHASE}}),{given},"")' if item.ref in self.usual else given
            return f"={given}" if item.ref in self.held else None

        def contradicted(item: Judged) -> str | None:
            said = ",".join(map(self._figure, item.against.of(self.phase)))
            return f"=IF(SUM({said})>0,1,0)" if said else None

        return [
            self._column("held", "held against others, SI", "factor", held, unit=in_si),
            self._column("contradicted", "contradicts another (1)", "whole", contradicted),
        ]

    def _beside(self) -> Column:
        """What stands beside its box: the verdict; where a good reading contradicts another, that."""

        def formula(item: Judged) -> str | None:
            if not item.against.of(self.phase):
                return None
            good = f'OR({{verdict_PHASE}}="{WITHIN}",{{verdict_PHASE}}="{RECORDED}")'
            return f'=IF(AND({{contradicted_PHASE}}=1,{good}),"{CONTRADICTS}",{{verdict_PHASE}})'

        return self._column("beside", "beside its box", "words", formula)

    # --- words --------------------------------------------------------------------------------------------------------

    def _drive(self) -> list[Column]:
        """Whether a side that is dangerous by a limit of its own has none, and the service limit doesn't clear it."""

        def no_drive(item: Judged) -> str | None:
            sides = []
            for end in lacking(item):
                room = f"service_{dict(ROOMS)[end]}_PHASE"
                lacks = f"1-COUNT({{danger_{end}}})"
                cleared = f"({lacks})*IF(IFERROR({{{room}}}-{{u_shown_PHASE}},-1)>=0,0,1)"
                sides.append(cleared if room in self._room_names(item, "service") else lacks)
            return None if not sides else f"=MAX({','.join(sides)})"

        def otherwise(item: Judged) -> str | None:
            if not drives_apart(item):
                return None
            service = self._margin_name(item, "service")
            given = f"ISNUMBER({{{service}}}+{{u_shown_PHASE}})"
            good = f"IF({given},{{good_PHASE}},{{none_PHASE}})" if service else "{none_PHASE}"
            return f"=IF({{no_drive_PHASE}}=1,{{barred_PHASE}},{good})" if lacking(item) else f"={good}"

        def barred(item: Judged) -> str | None:
            if not lacking(item) or not drives_apart(item):
                return None
            doubtful = f'IF({self._doubt(item)}=1,"{NOT_BELIEVABLE}","{NO_DRIVE_LIMIT}")'
            return f"=IF({self._unread(item)},{{blank_PHASE}},{doubtful})"

        return [
            self._column("barred", "if no limit to drive with", "words", barred),
            self._column("no_drive", "no limit to drive with (1)", "whole", no_drive),
            self._margin("danger"),
            self._column("drive_none", "to drive, if no limit", "words", otherwise),
        ]

    def _unread(self, item: Judged) -> str:
        both = f"{self._judged(item)},{{u_shown_PHASE}}"
        return f"COUNT({both})<COUNTA({both})"

    def _words(self) -> list[Column]:
        """What is said of it: in none of its forms is a reading good that isn't believed."""

        def doubting(word: str) -> Formula:
            return lambda item: (
                None if item.row.check.kind == "recorded" else f'=IF({self._doubt(item)}=1,"{NOT_BELIEVABLE}","{word}")'
            )

        def none(item: Judged) -> str | None:
            if item.row.check.kind == "recorded":
                return None
            return (
                f'=IF({self._unread(item)},{{blank_PHASE}},IF({self._doubt(item)}=1,"{NOT_BELIEVABLE}","{NO_LIMIT}"))'
            )

        def word(margin: str, otherwise: str) -> str:
            bad = f'IF({{{margin}}}+{{u_shown_PHASE}}<=0,"{OUTSIDE}","{CLOSE}")'
            return f"=IFERROR(IF({{{margin}}}-{{u_shown_PHASE}}>=0,{{good_PHASE}},{bad}),{otherwise})"

        def verdict(item: Judged) -> str:
            if item.row.check.kind == "recorded":
                noted = f'IF({self._doubt(item)}=1,"{NOT_BELIEVABLE}","{RECORDED}")'
                return f"=IF(ISNUMBER({{si_PHASE}}),{noted},{{blank_PHASE}})"
            margin = self._margin_name(item, "service")
            return word(margin, "{none_PHASE}") if margin else "={none_PHASE}"

        def drive(item: Judged) -> str | None:
            if not drives_apart(item):
                return None
            margin = self._margin_name(item, "danger")
            return word(margin, "{drive_none_PHASE}") if margin else "={drive_none_PHASE}"

        return [
            self._column("good", "if it clears its limits", "words", doubting(WITHIN)),
            self._column("none", "if there is no limit", "words", none),
            self._column("verdict", "verdict", "words", verdict),
            self._column("drive", "to drive", "words", drive),
            self._beside(),
        ]

    def _dates(self) -> list[Column]:
        """Whether its gauge, and those of the readings that it rests on, were in calibration."""

        def in_date(item: Judged) -> str | None:
            late = "INDEX({gauge:overdue_PHASE},{gauge_at_PHASE})"
            return f"=IF({{gauge_at_PHASE}}=0,1,1-{late})" if item.ref in self.usual else None

        def all_in_date(item: Judged) -> str | None:
            others = ",".join(f"{{judging.{ref}.in_date_PHASE}}" for ref in item.row.rests_on)
            return f"=MIN(1,{{in_date_PHASE}},{others})" if others else None

        return [
            self._column("in_date", "gauge in calibration (1)", "whole", in_date),
            self._column("all_in_date", "and those it rests on (1)", "whole", all_in_date),
        ]
