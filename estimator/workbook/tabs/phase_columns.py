"""How a number of one phase was judged, column by column. On the Limits tab."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from estimator.facts.checks import checks
from estimator.limits.judging.distances import Phase
from estimator.limits.judging.judging import Judged
from estimator.limits.rows.conflict_rows import AGAINST
from estimator.quantities import si_unit
from estimator.workbook.book import Column, Value
from estimator.workbook.tabs.common import lookup

# Most checks on whose readings another's verdict rests.
MOST_RESTED_ON = max(len(check.rests_on) for check in checks())

MOST_AGAINST = max(len(names) for names in AGAINST.values())


def in_si(item: Judged) -> str:
    return si_unit(item.unit)


@dataclass(frozen=True)
class PhaseColumns:
    """The columns of one phase, before or after work; PHASE in their formulas stands for it."""

    phase: str

    def of(self, name: str) -> Callable[[Judged], Value]:
        return lambda item: getattr(item.phases[self.phase], name)

    def side(self, pair: str, name: str) -> Callable[[Judged], Value]:
        return lambda item: getattr(getattr(item.phases[self.phase], pair), name)

    def chance(self, side: str) -> Callable[[Judged], Value]:
        return lambda item: item.phases[self.phase].chance_of(side)

    def named(self, text: str) -> str:
        return text.replace("PHASE", self.phase)

    def looked_up(
        self, name: str, heading: str, label: str, of: str, most: int, found: str, none: int = 0
    ) -> list[Column]:
        """What rows elsewhere say, each named by a label of the check, 1 for yes; `none` where there is no label."""
        labels = f"{of.partition(':')[0]}:label"

        def column(number: int) -> Column:
            at = f"{{{label.format(number)}}}"
            return Column(
                f"{name}_{number}_{self.phase}",
                f"{self.phase}: {heading.format(number)} (1)",
                "whole",
                self.named(f'=IF({at}="",{none},{lookup(of, at, labels)})'),
                value=lambda item: (*getattr(item.phases[self.phase], found), *[none] * most)[number - 1],
            )

        return [column(number) for number in range(1, most + 1)]

    def columns(self) -> list[Column]:
        return [
            *self.readings(),
            *self.distances("service"),
            *self.belief(),
            *self.against(),
            *self.no_drive(),
            *self.distances("danger"),
            *self.chances(),
            *self.words(),
        ]

    def readings(self) -> list[Column]:
        """What was read, by which gauge, what is judged, and how uncertain it is."""
        return [
            Column(
                f"si_{self.phase}",
                f"{self.phase}: reading, SI",
                "factor",
                self.named(
                    '=IF(ISNUMBER(INDEX({reading:PHASE},{at})),INDEX({reading:PHASE},{at})*{factor}+{offset},"")'
                ),
                unit=in_si,
                value=self.of("si"),
            ),
            Column(
                f"gauge_at_{self.phase}",
                f"{self.phase}: row of the gauge",
                "whole",
                self.named("=IFERROR(MATCH(INDEX({reading:gauge_PHASE},{at}),{gauge:label},0),0)"),
                value=self.of("gauge_at"),
            ),
            Column(
                f"u_alone_{self.phase}",
                f"{self.phase}: u of the gauge, SI",
                "factor",
                self.named(
                    '=IF({gauge_at_PHASE}=0,"",IF(INDEX({gauge:kind},{gauge_at_PHASE})={quantity},'
                    'INDEX({gauge:u_si},{gauge_at_PHASE}),""))'
                ),
                unit=in_si,
                value=self.of("u_alone"),
            ),
            *self.stated(),
            Column(
                f"judged_{self.phase}",
                f"{self.phase}: judged, SI",
                "factor",
                self.named(
                    '=IF({derived_PHASE}="",{si_PHASE},'
                    + lookup("working:si", "{derived_PHASE}", "working:label")
                    + ")"
                ),
                unit=in_si,
                value=self.of("judged"),
            ),
            Column(
                f"shown_{self.phase}",
                f"{self.phase}: judged",
                "number-3",
                self.named('=IF(ISNUMBER({judged_PHASE}),({judged_PHASE}-{offset})/{factor},"")'),
                value=lambda item: item.shown_in(self.phase),
            ),
            Column(
                f"u_own_{self.phase}",
                f"{self.phase}: U of the reading, SI",
                "factor",
                self.named(
                    "=IF(ISNUMBER({fixed_u}),{fixed_u}*{factor},IF(ISNUMBER({gauge_u_PHASE}),"
                    '{constant.two.value}*{gauge_u_PHASE},""))'
                ),
                unit=in_si,
                value=self.of("u_own"),
            ),
            Column(
                f"u_any_{self.phase}",
                f"{self.phase}: U of what is judged, SI",
                "factor",
                self.named(
                    '=IF({u_from_PHASE}="",{u_own_PHASE},'
                    + lookup("working:si", "{u_from_PHASE}", "working:label")
                    + ")"
                ),
                unit=in_si,
                value=self.of("u_any"),
            ),
            Column(
                f"u_{self.phase}",
                f"{self.phase}: U, SI",
                "factor",
                self.named("=IF({plain}=1,0,{u_any_PHASE})"),
                unit=in_si,
                value=self.of("u"),
            ),
            Column(
                f"u_shown_{self.phase}",
                f"{self.phase}: U",
                "number-3",
                self.named('=IF(ISNUMBER({u_PHASE}),ROUND({u_PHASE}/{factor},6),"")'),
                value=self.of("u_shown"),
            ),
        ]

    def stated(self) -> list[Column]:
        """How it was read, what that adds to the uncertainty, what is stated of it, and all of it together."""

        def said(name: str) -> Callable[[Judged], Value]:
            return lambda item: getattr(item.phases[self.phase].said, name)

        def typed(name: str, heading: str, look: str, of: str) -> Column:
            cell = f"INDEX({{stated:{name}_PHASE}},{{stated_at}})"
            formula = self.named(f'=IF({{stated_at}}=0,"",IF({cell}="","",{cell}))')
            return Column(f"{of}_{self.phase}", f"{self.phase}: {heading}", look, formula, value=said(of))

        by_hand = 'OR({how_PHASE}="bleed-down",AND({how_PHASE}="log",{stated_u_PHASE}=0))'
        share = "({constant.bleed-share.value}*{si_PHASE})"
        bleed = f"SQRT({{constant.bleed-u.value}}*{{constant.bleed-u.value}}+{share}*{share})"
        first = 'IF({how_PHASE}="first charge",{constant.first-charge-u.value},0)'
        both = "{u_alone_PHASE}*{u_alone_PHASE}+{method_u_PHASE}*{method_u_PHASE}"
        return [
            typed("how", "how it was read", "words", "how"),
            typed("u", "u stated, as typed", "number-3", "typed_u"),
            Column(
                f"stated_u_{self.phase}",
                f"{self.phase}: u stated, SI",
                "factor",
                self.named("=IF(ISNUMBER({typed_u_PHASE}),{typed_u_PHASE}*{factor},0)"),
                unit=in_si,
                value=said("u"),
            ),
            Column(
                f"by_hand_{self.phase}",
                f"{self.phase}: counts as a bleed-down by hand (1)",
                "whole",
                self.named(f"=IF({by_hand},1,0)"),
                value=said("by_hand"),
            ),
            Column(
                f"bleed_u_{self.phase}",
                f"{self.phase}: u of a bleed-down by hand, SI",
                "factor",
                self.named(f"=IFERROR({bleed},0)"),
                unit=in_si,
                value=said("bleed_u"),
            ),
            Column(
                f"method_u_{self.phase}",
                f"{self.phase}: u of the way of reading, SI",
                "factor",
                self.named(f"=IF({{by_hand_PHASE}}=1,{{bleed_u_PHASE}},{first})"),
                unit=in_si,
                value=said("method_u"),
            ),
            Column(
                f"gauge_u_{self.phase}",
                f"{self.phase}: u of the reading, SI",
                "factor",
                self.named(f'=IF(ISNUMBER({{u_alone_PHASE}}),MAX(SQRT({both}),{{stated_u_PHASE}}),"")'),
                unit=in_si,
                value=self.of("gauge_u"),
            ),
        ]

    def room(self, pair: str, name: str, limit: str, difference: str) -> Column:
        formula = f'=IF(AND(ISNUMBER({{judged_PHASE}}),ISNUMBER({{{limit}}})),ROUND(({difference})/{{factor}},6),"")'
        heading = f"{self.phase}: room {name}, {pair}"
        return Column(
            f"{pair}_{name}_{self.phase}", heading, "number-3", self.named(formula), value=self.side(pair, name)
        )

    def distances(self, pair: str) -> list[Column]:
        """How far it is from the limits of a pair, and in words."""
        above, below, margin = (f"{{{pair}_{name}_PHASE}}" for name in ("above", "below", "margin"))
        none, held, name = '"no limit on file"', [], f"{pair}_word"
        if pair == "danger":
            none, name = "{danger_none_PHASE}", "danger_held"
            held = [
                Column(
                    f"danger_none_{self.phase}",
                    f"{self.phase}: where no side has a limit to drive",
                    "words",
                    self.named('=IF(ISNUMBER({service_margin_PHASE}),"within limits","no limit on file")'),
                    value=self.of("danger_none"),
                )
            ]
        word = (
            f'=IFERROR(IF(ABS({margin})-{{u_shown_PHASE}}<0,"too close to limit",'
            f'IF({margin}>=0,"within limits","out of limits")),{none})'
        )
        said = Column(f"{name}_{self.phase}", f"{self.phase}: {pair}", "words", self.named(word), value=self.of(name))
        if pair == "danger":
            last = '=IF({no_drive_PHASE}=1,"no limit on file for driving",{danger_held_PHASE})'
            heading = f"{self.phase}: danger, if there is a limit"
            held += [said]
            said = Column(f"danger_word_{self.phase}", heading, "words", self.named(last), value=self.of("danger_word"))
        return [
            self.room(pair, "above", f"{pair}_low", f"{{judged_PHASE}}-{{{pair}_low}}"),
            self.room(pair, "below", f"{pair}_high", f"{{{pair}_high}}-{{judged_PHASE}}"),
            Column(
                f"{pair}_margin_{self.phase}",
                f"{self.phase}: nearest, {pair}",
                "number-3",
                self.named(f'=IF(COUNT({above},{below})=0,"",MIN({above},{below}))'),
                value=self.side(pair, "margin"),
            ),
            *held,
            said,
        ]

    def belief(self) -> list[Column]:
        """The range beyond which it isn't believed; whether it or a reading that it rests on lies outside."""

        def end(name: str, none: str) -> Column:
            label = f"{{believe_{name}_from_PHASE}}"
            return Column(
                f"believe_{name}_{self.phase}",
                f"{self.phase}: believed, {'at least' if name == 'low' else 'at most'}, SI",
                "factor",
                self.named(f'=IF({label}="",{none},{lookup("working:si", label, "working:label")})'),
                unit=in_si,
                value=self.of(f"believe_{name}"),
            )

        def room(name: str, heading: str, difference: str, value: Callable[[Phase], Value]) -> Column:
            formula = self.named(f'=IFERROR(ROUND(({difference})/{{factor}},6),"")')
            heading = f"{self.phase}: room to {heading}"
            return Column(
                f"{name}_{self.phase}", heading, "number-3", formula, value=lambda item: value(item.phases[self.phase])
            )

        odd = self.looked_up(
            "rests_odd", "{} outside belief", "rests_{}", "judging:odd_PHASE", MOST_RESTED_ON, "rested"
        )
        rests = ",".join(f"{{{column.name}}}" for column in odd)
        return [
            end("low", 'IF({quantity}="temperature","",0)'),
            end("high", '""'),
            Column(
                f"top_{self.phase}",
                f"{self.phase}: end of the gauge's scale, SI",
                "factor",
                self.named('=IF(OR({gauge_at_PHASE}=0,ISNUMBER({fixed_u})),"",INDEX({gauge:top_si},{gauge_at_PHASE}))'),
                unit=in_si,
                value=self.of("top"),
            ),
            room("belief_above", "belief, below", "{judged_PHASE}-{believe_low_PHASE}", lambda of: of.belief.above),
            room("belief_below", "belief, above", "{believe_high_PHASE}-{judged_PHASE}", lambda of: of.belief.below),
            room("scale_left", "the end of the scale", "{top_PHASE}-{si_PHASE}", lambda of: of.scale.below),
            Column(
                f"odd_{self.phase}",
                f"{self.phase}: outside belief (1)",
                "whole",
                self.named("=IF(MIN({belief_above_PHASE},{belief_below_PHASE},{scale_left_PHASE})<0,1,0)"),
                value=self.of("odd"),
            ),
            *odd,
            Column(
                f"doubt_{self.phase}",
                f"{self.phase}: not believable (1)",
                "whole",
                self.named(f"=IF(SUM({{odd_PHASE}},{rests})>0,1,0)"),
                value=self.of("doubt"),
            ),
        ]

    def all_in_date(self) -> list[Column]:
        """Whether its gauge, and those of the readings that its verdict rests on, were in date."""
        in_date = self.looked_up(
            "rests_in_date",
            "gauge of {} in date",
            "rests_{}",
            "judging:in_date_PHASE",
            MOST_RESTED_ON,
            "rested_in_date",
            1,
        )
        others = ",".join(f"{{{column.name}}}" for column in in_date)
        return [
            *in_date,
            Column(
                f"all_in_date_{self.phase}",
                f"{self.phase}: all gauges in date (1)",
                "whole",
                self.named(f"=MIN({{in_date_PHASE}},{others})"),
                value=self.of("all_in_date"),
            ),
        ]

    def against(self) -> list[Column]:
        """What it stands for where it is held against other readings, and whether it contradicts one."""
        said = self.looked_up(
            "against_said", "contradicts, {}", "against_{}_PHASE", "working:si", MOST_AGAINST, "against"
        )
        return [
            Column(
                f"held_{self.phase}",
                f"{self.phase}: held against others, SI",
                "factor",
                self.named('=IF(ISNUMBER({u_own_PHASE}),IF(ISNUMBER({again_si}),{again_si},{si_PHASE}),"")'),
                unit=in_si,
                value=self.of("held"),
            ),
            *said,
            Column(
                f"contradicted_{self.phase}",
                f"{self.phase}: contradicts another (1)",
                "whole",
                f"=IF(SUM({','.join(f'{{{column.name}}}' for column in said)})>0,1,0)",
                value=self.of("contradicted"),
            ),
        ]

    def no_drive(self) -> list[Column]:
        """Whether a side that is dangerous by a limit of its own has none, and the service limit doesn't clear it."""

        def unjudged(side: str, room: str) -> Column:
            lacks = f"{{lacks_{side}}}"
            cleared = f"IF({{service_{room}_PHASE}}-{{u_shown_PHASE}}>=0,0,{lacks})"
            return Column(
                f"unjudged_{side}_{self.phase}",
                f"{self.phase}: no limit to drive, {side} (1)",
                "whole",
                self.named(f"=IFERROR({cleared},{lacks})"),
                value=self.of(f"unjudged_{side}"),
            )

        return [
            unjudged("low", "above"),
            unjudged("high", "below"),
            Column(
                f"no_drive_{self.phase}",
                f"{self.phase}: no limit to drive (1)",
                "whole",
                self.named("=MAX({unjudged_low_PHASE},{unjudged_high_PHASE})"),
                value=self.of("no_drive"),
            ),
        ]

    def chances(self) -> list[Column]:
        return [
            *(
                Column(
                    f"chance_{side}_{self.phase}",
                    f"{self.phase}: chance, {side}",
                    "number-4",
                    self.named(
                        f"=IFERROR(IF({{u_shown_PHASE}}>0,"
                        f'NORMSDIST({{constant.two.value}}*{{service_{side}_PHASE}}/{{u_shown_PHASE}}),""),"")'
                    ),
                    value=self.chance(side),
                )
                for side in ("above", "below")
            ),
            Column(
                f"chance_{self.phase}",
                f"{self.phase}: chance that it is within",
                "percent",
                self.named(
                    '=IF(COUNT({chance_above_PHASE},{chance_below_PHASE})=0,"",'
                    "ROUND(SUM({chance_above_PHASE},{chance_below_PHASE})-COUNT({chance_above_PHASE},{chance_below_PHASE})+1,4))"
                ),
                value=self.of("chance"),
            ),
        ]

    def verdict(self, name: str, word: str, heading: str) -> Column:
        numbers = "COUNT({judged_PHASE},{u_shown_PHASE})=COUNTA({judged_PHASE},{u_shown_PHASE})"
        formula = f'=IF({{kind}}="recorded",{{noted_PHASE}},IF({numbers},{{WORD_PHASE}},{{blank_PHASE}}))'
        return Column(
            f"{name}_{self.phase}", heading, "words", self.named(formula.replace("WORD", word)), value=self.of(name)
        )

    def believed(self, pair: str) -> Column:
        """The words of a pair of limits; a good one of what isn't believed says that."""
        word = f"{{{pair}_word_PHASE}}"
        bad = f'OR({word}="out of limits",{word}="too close to limit")'
        return Column(
            f"{pair}_believed_{self.phase}",
            f"{self.phase}: {pair}, if believed",
            "words",
            self.named(f'=IF({{doubt_PHASE}}=0,{word},IF({bad},{word},"not believable"))'),
            value=self.of(f"{pair}_believed"),
        )

    def words(self) -> list[Column]:
        """What is said of it, with the words for a box that stays empty and for a reading that is only recorded."""
        return [
            Column(
                f"blank_{self.phase}",
                f"{self.phase}: if empty",
                "words",
                '=IF({gave_up}=1,"unable to measure","not measured")',
                value=self.of("blank"),
            ),
            Column(
                f"noted_{self.phase}",
                f"{self.phase}: as a record",
                "words",
                self.named('=IF(ISNUMBER({si_PHASE}),IF({doubt_PHASE}=1,"not believable","recorded"),{blank_PHASE})'),
                value=self.of("noted"),
            ),
            self.believed("service"),
            self.believed("danger"),
            self.verdict("verdict", "service_believed", f"{self.phase}: verdict"),
            self.verdict("drive", "danger_believed", f"{self.phase}: to drive"),
            Column(
                f"beside_{self.phase}",
                f"{self.phase}: beside its box",
                "words",
                self.named(
                    '=IF(AND({contradicted_PHASE}=1,OR({verdict_PHASE}="within limits",{verdict_PHASE}="recorded")),'
                    '"contradicts another",{verdict_PHASE})'
                ),
                value=self.of("beside"),
            ),
            Column(
                f"in_date_{self.phase}",
                f"{self.phase}: gauge in date (1)",
                "whole",
                self.named("=IF({gauge_at_PHASE}=0,1,1-INDEX({gauge:overdue_PHASE},{gauge_at_PHASE}))"),
                value=self.of("in_date"),
            ),
        ]
