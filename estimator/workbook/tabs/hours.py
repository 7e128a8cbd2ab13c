"""`Hours`: job lines with what calls for them, decisions, hours alone and in this visit; the steps behind them below."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from estimator.appraisal import Appraisal
from estimator.pricing.decisions import DECISIONS, DONE
from estimator.pricing.job_lines import JobLine, OwnStep, SharedStep, quoted_column
from estimator.workbook.book import Block, Column, Emphasis, Page, Tab, Value, block
from estimator.workbook.tabs.common import DESK_CAUTIONS, head, list_box, lookup, number_box, titled, words_box

DECISION_BOX = list_box("Decision", DECISIONS, "What the customer decided. Only agreed work is done and billed.")
INVENTED = "Hours of the labor tables; each step says on what basis. A shared step is charged once, split among the jobs."


def hours(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Hours",
        title=titled("Hours: jobs, decisions, shared steps", appraisal),
        head=head(appraisal, "Hours"),
        cautions=DESK_CAUTIONS,
        blocks=(
            line_block(appraisal),
            extra_work_block(appraisal),
            visit_hours_block(appraisal),
            own_block(appraisal),
            shared_block(appraisal),
            flag_block(appraisal),
            again_block(appraisal),
        ),
        widths=(12, 44, 18, 8, 30, 8, 12, 10, 10, 10, 10, 10, 12, 12, 12, 12, 12),
        page=Page(landscape=True, columns=17, until="shared"),
        frozen_to="line",
        filtered="line",
        emphases=(Emphasis("line", "decision", ("undecided",), "bold"),),
    )


def line_block(appraisal: Appraisal) -> Block:
    entries = appraisal.entries
    first, last = _ends(appraisal)

    def of(name: str) -> Callable[[JobLine], Value]:
        return lambda line: getattr(line.decided, name)

    def in_case(case: str, name: str) -> Callable[[JobLine], Value]:
        """A figure of the hours of a case; QUOTED stands for the column on which the quote rests."""
        return lambda line: getattr(getattr(line, f"{case}_hours"), name.replace("QUOTED", line.quoted))

    def typed(name: str) -> Callable[[JobLine], Value]:
        return lambda line: entries.get(f"line.{line.ref}.{name}")

    grid = f"{{shared:{first}..{last}}}"

    def sums(column: str) -> str:
        return f"SUMIFS({{shared:{column}}},INDEX({grid},0,{{order}}),1)"

    def counted(name: str) -> Callable[[JobLine], Value]:
        return lambda line: line.counted(name.replace("QUOTED", line.quoted))

    def share(case: str) -> str:
        return f"={{quoted_{case}}}+{{hour.z.agreed}}*{{variance_{case}}}*{{hour.per_deviation.{case}}}"

    def spread(case: str) -> str:
        return f"IF({{variance_{case}}}>0,{{weighted_{case}}}/SQRT({{variance_{case}}}),0)"

    def working(name: str, heading: str, formula: str, value: Callable[[JobLine], Value]) -> Column:
        return Column(name, heading, "hours", formula, value=value)

    money = appraisal.record.shop.shop.currency
    return block(
        "line",
        "Job lines",
        [
            Column("label", "line", "label"),
            Column("title", "job", value=lambda line: line.line.job.title),
            Column("place", "at", value=lambda line: line.line.place.title),
            Column("asked", "asked for", value=of("asked")),
            Column(
                "called_by",
                "called for by",
                "words",
                '=IFERROR(INDEX({call:check},MATCH({label},{call:active_line},0)),"")',
                value=of("called_by"),
            ),
            Column("safety", "safety", value=lambda line: line.line.job.safety),
            Column("decision", "decision", box=DECISION_BOX, value=typed("decision")),
            Column("done", "done", box=list_box("Done", (DONE,), "Once the work is finished."), value=typed("done")),
            Column("alone", "hours alone", "hours", "={all_quoted}+{hour.z.agreed}*SQRT({all_variance})"),
            Column("share_agreed", "hours, agreed work", "hours", share("agreed")),
            Column("share_proposed", "hours, all proposed", "hours", share("proposed")),
            Column(
                "saves_hours",
                "hours saved by leaving it out",
                "hours",
                "={sole_quoted}+{hour.z.agreed}*(SQRT({variance_with})-SQRT({variance_without}))",
            ),
            Column(
                "saves_labor",
                f"labor saved by leaving it out, {money}",
                "money",
                f"=ROUND(ROUND({{money_quoted}}+{{hour.z.agreed}}*({spread('with')}-{spread('without')}),8),2)",
            ),
            Column("rate", f"{money} an hour", "money", "=" + lookup("rate:per_hour", "{rate_id}", "rate:label")),
            Column("amount_alone", f"alone, {money}", "money", "=ROUND(ROUND({alone}*{rate},8),2)"),
            Column("amount_agreed", f"agreed, {money}", "money", "=ROUND(ROUND({share_agreed}*{rate},8),2)"),
            Column("amount_proposed", f"proposed, {money}", "money", "=ROUND(ROUND({share_proposed}*{rate},8),2)"),
            Column("rate_id", "kind of work", value=lambda line: line.line.job.rate),
            Column("tax_class", "tax class"),
            Column("taxed", "taxed (1)", "whole", "=" + lookup("taxclass:taxed", "{tax_class}", "taxclass:label")),
            Column("tax_agreed", "tax alone, agreed", "money", "=ROUND({amount_agreed}*{setting.tax_rate.value}*{taxed},2)"),
            Column(
                "tax_proposed",
                "tax alone, proposed",
                "money",
                "=ROUND({amount_proposed}*{setting.tax_rate.value}*{taxed},2)",
            ),
            Column(
                "offered",
                "offered (1)",
                "whole",
                '=IF(OR({decision}="agreed",AND({decision}<>"declined",OR({asked}="yes",{called_by}<>""))),1,0)',
                value=of("offered"),
            ),
            *(
                Column(
                    f"included_{case}",
                    f"included in another, {case} (1)",
                    "whole",
                    f"=IF(COUNTIFS({{includes:below}},{{label}},{{includes:{case}}},1)>0,1,0)",
                    value=of(f"included_{case}"),
                )
                for case in ("agreed", "proposed")
            ),
            Column("agreed", "counts, agreed (1)", "whole", '=IF(AND({decision}="agreed",{included_agreed}=0),1,0)'),
            Column("proposed", "counts, proposed (1)", "whole", "=IF(AND({offered}=1,{included_proposed}=0),1,0)"),
            Column("order", "order", "whole"),
            Column(
                "rank",
                "place in the estimate",
                "whole",
                '=IF({proposed}=1,SUMIFS({line:proposed},{line:order},"<="&{order}),0)',
            ),
            Column("done_flag", "done (1)", "whole", f'=IF({{done}}="{DONE}",1,0)', value=of("done")),
            working("own_quoted", "own hours", "=SUMIFS({own:quoted},{own:line},{label})", lambda line: line.own_quoted),
            working(
                "own_expected",
                "own hours, expected",
                "=SUMIFS({own:expected},{own:line},{label})",
                lambda line: line.own_expected,
            ),
            working(
                "own_variance",
                "own variance",
                "=SUMIFS({own:variance},{own:line},{label})",
                lambda line: line.own_variance,
            ),
            working("all_quoted", "all hours", "={own_quoted}+" + sums("quoted"), in_case("proposed", "alone_QUOTED")),
            working(
                "all_variance", "all variance", "={own_variance}+" + sums("variance"), in_case("proposed", "alone_variance")
            ),
            *(
                working(
                    f"{column}_{case}",
                    f"{column}, {case}",
                    f"={{{case}}}*({{own_{column}}}+" + sums(f"part_{column}_{case}") + ")",
                    in_case(case, f"share_{'QUOTED' if column == 'quoted' else column}"),
                )
                for case in ("agreed", "proposed")
                for column in ("quoted", "variance", "expected")
                if not (case == "agreed" and column == "expected")
            ),
            Column(
                "share_p80",
                "share of the visit's P80",
                "hours",
                "={expected_proposed}+{constant.z80.value}*{variance_proposed}*{hour.per_deviation.proposed}",
            ),
            working(
                "sole_quoted",
                "hours only it needs",
                "={proposed}*({own_quoted}+" + sums("sole_quoted") + ")",
                counted("sole_QUOTED"),
            ),
            working(
                "sole_variance",
                "variance only it needs",
                "={proposed}*({own_variance}+" + sums("sole_variance") + ")",
                counted("sole_variance"),
            ),
            working(
                "variance_without",
                "variance without it",
                '={hour.several.proposed}+SUMIFS({line:sole_variance},{line:label},"<>"&{label})',
                in_case("proposed", "variance_without"),
            ),
            working(
                "variance_with",
                "variance with it",
                "={variance_without}+{sole_variance}",
                lambda line: line.variance_with,
            ),
            *(
                working(
                    f"back_{column}",
                    f"shared {column} left to others",
                    "={proposed}*" + sums(f"back_{column}"),
                    lambda line, column=column: line.back(column),
                )
                for column in ("quoted", "variance")
            ),
            *(
                working(
                    f"money_{column}",
                    f"labor saved, {column}",
                    f"={{proposed}}*({{rate}}*{{own_{column}}}+{sums(f'drop_{column}')})+{{rate}}*{{back_{column}}}",
                    counted(f"money_{'QUOTED' if column == 'quoted' else column}"),
                )
                for column in ("quoted", "variance")
            ),
            working(
                "weighted", "rate times variance", "={rate}*{variance_proposed}", in_case("proposed", "weighted_variance")
            ),
            working(
                "weighted_without",
                "weighted, without it",
                "={hour.weighted.proposed}-{money_variance}",
                in_case("proposed", "weighted_without"),
            ),
            working(
                "weighted_with",
                "weighted, with it",
                "={weighted_without}+{money_variance}",
                lambda line: line.weighted_with,
            ),
        ],
        appraisal.labor.lines,
        note=INVENTED,
        faded_by="offered",
    )


def extra_work_block(appraisal: Appraisal) -> Block:
    rates = tuple(rate.id for rate in appraisal.record.shop.labor.rates)
    return block(
        "extra_work",
        "Extra work",
        [
            Column("label", "line", "label"),
            Column("description", "work", box=words_box("Work", "What is to be done, in words.")),
            Column("hours", "hours", "hours", box=number_box("Hours", 0, 200)),
            Column("rate_id", "kind of work", box=list_box("Kind of work", rates)),
            Column("decision", "decision", box=DECISION_BOX),
            Column("rate", "an hour", "money", "=IFERROR(" + lookup("rate:per_hour", "{rate_id}", "rate:label") + ",0)"),
            *spare_flags("ISNUMBER({hours})"),
            Column("amount", "amount", "money", "=IF(ISNUMBER({hours}),ROUND({hours}*{rate},2),0)"),
            *case_amounts(),
        ],
        appraisal.extra_work,
        note="Work that opens a hydraulic circuit stands in the list above, so that its checks are made again.",
    )


def spare_flags(filled: str) -> list[Column]:
    """Whether a spare line counts in each case."""
    return [
        Column("agreed", "counts, agreed (1)", "whole", f'=IF(AND({filled},{{decision}}="agreed"),1,0)'),
        Column("proposed", "counts, proposed (1)", "whole", f'=IF(AND({filled},{{decision}}<>"declined"),1,0)'),
    ]


def case_amounts(core: bool = False) -> list[Column]:
    """The amounts of a line in both cases, and the tax that each would have alone."""
    columns = [
        Column("tax_class", "tax class"),
        Column("taxed", "taxed (1)", "whole", "=" + lookup("taxclass:taxed", "{tax_class}", "taxclass:label")),
    ]
    for case in ("agreed", "proposed"):
        columns.append(Column(f"amount_{case}", f"amount, {case}", "money", f"={{amount}}*{{{case}}}"))
        tax = f"=ROUND({{amount_{case}}}*{{setting.tax_rate.value}}*{{taxed}},2)"
        columns.append(Column(f"tax_{case}", f"tax alone, {case}", "money", tax))
        if core:
            columns.append(Column(f"core_{case}", f"core deposit, {case}", "money", f"={{core}}*{{{case}}}"))
            tax = f"=ROUND({{core_{case}}}*{{setting.tax_rate.value}}*{{taxclass.core.taxed}},2)"
            columns.append(Column(f"core_tax_{case}", f"tax on it alone, {case}", "money", tax))
    return columns


def visit_hours_block(appraisal: Appraisal) -> Block:
    formulas = {
        "likely": "SUMIFS({shared:likely},{shared:needed_CASE},\">0\")+SUMIFS({own:likely},{own:CASE},1)",
        "expected": "SUMIFS({shared:expected},{shared:needed_CASE},\">0\")+SUMIFS({own:expected},{own:CASE},1)",
        "variance": "SUMIFS({shared:variance},{shared:needed_CASE},\">0\")+SUMIFS({own:variance},{own:CASE},1)",
        "p80": "{hour.expected.CASE}+{constant.z80.value}*SQRT({hour.variance.CASE})",
        "several": "SUMIFS({shared:variance},{shared:needed_CASE},\">1\")",
        "z": 'IF({setting.basis.value}="p80",{constant.z80.value},0)',
        "per_deviation": "IF({hour.variance.CASE}>0,1/SQRT({hour.variance.CASE}),0)",
        "weighted": "SUM({line:weighted})",
        "quoted": "SUM({line:share_CASE})",
        "alone": "SUMIFS({line:alone},{line:CASE},1)",
    }

    def column(case: str) -> Column:
        return Column(
            case,
            "agreed work" if case == "agreed" else "all that is proposed",
            lambda row: "number-4" if row.ref in ("z", "per_deviation", "variance", "several", "weighted") else "hours",
            lambda row: "=" + formulas[row.ref].replace("CASE", case),
        )

    return block(
        "hour",
        "Hours of the visit",
        [Column("label", "figure", "label"), Column("title", "what it is"), column("agreed"), column("proposed")],
        appraisal.visit_hours,
        kind="working",
    )


def _steps(name: Callable[[Any], Any], quoted: str) -> list[Column]:
    def hours_of(field: str) -> Callable[[Any], Value]:
        return lambda item: getattr(name(item), field)

    return [
        Column("low", "low", "hours", value=hours_of("low")),
        Column("likely", "likely", "hours", value=hours_of("likely")),
        Column("high", "high", "hours", value=hours_of("high")),
        Column(
            "expected",
            "expected",
            "hours",
            "=({low}+{constant.four.value}*{likely}+{high})/{constant.six.value}",
            value=hours_of("expected"),
        ),
        Column(
            "variance",
            "variance",
            "number-4",
            "=(({high}-{low})/{constant.six.value})*(({high}-{low})/{constant.six.value})",
            value=hours_of("variance"),
        ),
        Column(
            "quoted",
            "quoted",
            "hours",
            '=IF({setting.basis.value}="likely",{likely},{expected})',
            value=hours_of(quoted),
        ),
    ]


def own_block(appraisal: Appraisal) -> Block:
    def counts(case: str) -> Column:
        return Column(case, f"{case} (1)", "whole", "=" + lookup(f"line:{case}", "{line}", "line:label"))

    quoted = quoted_column(appraisal.record.shop.labor.basis)

    def hours_of(item: OwnStep) -> Any:
        return item.hours

    return block(
        "own",
        "Steps done for each job",
        [
            Column("label", "step", "label"),
            Column("title", "what is done"),
            Column("place", "at"),
            Column("line", "for"),
            Column("basis", "basis", value=lambda item: item.step.step.basis),
            *_steps(hours_of, quoted),
            counts("agreed"),
            counts("proposed"),
        ],
        appraisal.labor.own,
        faded_by="proposed",
    )


def shared_block(appraisal: Appraisal) -> Block:
    quoted = quoted_column(appraisal.record.shop.labor.basis)
    flags = "{flag.CASE.%s..%s}" % _ends(appraisal)
    grid = "{%s..%s}" % _ends(appraisal)

    def hours_of(item: SharedStep) -> Any:
        return item.proposed

    def needed(case: str) -> Column:
        formula = f"=SUMPRODUCT({grid},{flags.replace('CASE', case)})"
        value = lambda item: getattr(item, case).needed  # noqa: E731
        return Column(f"needed_{case}", f"{case} lines that need it", "whole", formula, value=value)

    def part(column: str, case: str) -> Column:
        formula = f"=IF({{needed_{case}}}>0,{{{column}}}/{{needed_{case}}},0)"
        value = lambda item: item.part(column, case)  # noqa: E731
        return Column(f"part_{column}_{case}", f"part of one line, {column}, {case}", "hours", formula, value=value)

    def saved(column: str) -> list[Column]:
        others = "({needed_proposed}-1)"
        drop = f"{{rate_sum}}/{{needed_proposed}}-IF({{needed_proposed}}>1,{{rate_sum}}/{others},0)"
        return [
            Column(
                f"sole_{column}",
                f"{column} of one line alone",
                "hours",
                f"=IF({{needed_proposed}}=1,{{{column}}},0)",
                value=lambda item: item.sole(column),
            ),
            Column(
                f"drop_{column}",
                f"labor less, {column}",
                "money",
                f"=IF({{needed_proposed}}=0,0,{{{column}}}*({drop}))",
                value=lambda item: item.drop(column),
            ),
            Column(
                f"back_{column}",
                f"{column} left to each other line",
                "hours",
                f"=IF({{needed_proposed}}>1,{{{column}}}/{others},0)",
                value=lambda item: item.back(column),
            ),
        ]

    return block(
        "shared",
        "Steps done once a visit",
        [
            Column("label", "step", "label"),
            Column("title", "what is done", value=lambda item: item.step.step.title),
            Column("place", "at", value=lambda item: item.step.place.title),
            Column("basis", "basis", value=lambda item: item.step.step.basis),
            *_steps(hours_of, quoted),
            needed("agreed"),
            needed("proposed"),
            Column(
                "rate_sum",
                "their rates together",
                "money",
                f"=SUMPRODUCT({grid},{flags.replace('CASE', 'rate')})",
                value=lambda item: item.proposed.rate_sum,
            ),
            part("quoted", "agreed"),
            part("variance", "agreed"),
            part("quoted", "proposed"),
            part("variance", "proposed"),
            part("expected", "proposed"),
            *saved("quoted"),
            *saved("variance"),
            *_grid(appraisal),
        ],
        appraisal.labor.shared,
        note="To the right, 1 under each job line that needs the step.",
        faded_by="needed_proposed",
    )


def _ends(appraisal: Appraisal) -> tuple[str, str]:
    """The first and the last column of a grid of job lines."""
    return "j1", f"j{len(appraisal.labor.lines)}"


def _grid(appraisal: Appraisal) -> list[Column]:
    """A column a job line, with 1 in the rows that have it among their `lines`."""

    def mark(label: str) -> Callable[[Any], Value]:
        return lambda item: 1 if label in item.lines else None

    return [Column(f"j{line.order}", line.label, "whole", value=mark(line.label)) for line in appraisal.labor.lines]


def flag_block(appraisal: Appraisal) -> Block:
    at = "MATCH({|line},{line:label},0)"
    formulas = {
        "line": None,
        "agreed": f"=INDEX({{line:agreed}},{at})",
        "proposed": f"=INDEX({{line:proposed}},{at})",
        "rate": f"={{|proposed}}*INDEX({{line:rate}},{at})",
        "done": f"=INDEX({{line:done_flag}},{at})",
    }

    def column(line: JobLine) -> Column:
        return Column(
            f"j{line.order}",
            line.label,
            lambda row: "label" if row.ref == "line" else "whole",
            lambda row: formulas[row.ref],
            value=lambda row: row.of(line),
        )

    return block(
        "flag",
        "Job lines side by side, for the sums above and below",
        [Column("label", "figure", "label"), *(column(line) for line in appraisal.labor.lines)],
        appraisal.flags,
        kind="working",
    )


def again_block(appraisal: Appraisal) -> Block:
    grid, flags = "{%s..%s}" % _ends(appraisal), "{flag.done.%s..%s}" % _ends(appraisal)
    return block(
        "again",
        "What must be measured again after which job",
        [
            Column("label", "check", "label"),
            Column("voids", "jobs done that void it", "whole", f"=SUMPRODUCT({grid},{flags})"),
            *_grid(appraisal),
        ],
        appraisal.decisions.again,
        note="1 under each job line after which the check is made again.",
    )
