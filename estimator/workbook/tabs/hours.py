"""`Hours`: job lines with what calls for them, decisions, hours alone and in this visit; the steps behind them below."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from estimator.appraisal import Appraisal
from estimator.pricing.decisions import DONE, DONE_WORDS, SINCE
from estimator.pricing.job_lines import JobLine
from estimator.workbook.book import Block, Column, Emphasis, Page, Tab, Value, block
from estimator.workbook.tabs.common import DESK_CAUTIONS, head, list_box, lookup, titled
from estimator.workbook.tabs.extra_lines import DECISION_BOX, extra_work_block, visit_hours_block
from estimator.workbook.tabs.steps import again_block, flag_block, grid_span, own_block, shared_block

DONE_PROMPT = (
    "Once the work is finished. Where readings after work stand already and were taken before it, choose the second: they are "
    "void then."
)
INVENTED = (
    "Hours of the labor tables; each step says on what basis. A shared step is charged once, split among the jobs."
)


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
        widths=(12, 44, 18, 10, 30, 8, 13, 10, 11, 12, 11, 11, 12, 12, 12, 14, 15),
        page=Page(landscape=True, columns=17, until="hour"),
        frozen_to="line",
        filtered="line",
        emphases=(Emphasis("line", "decision", ("undecided",), "bold"),),
    )


def _unit(name: str) -> str:
    """What the heading of a working column says of its unit, where it isn't hours."""
    if name.startswith("weighted") or name == "money_variance":
        return ", amount × h"
    return ", amount" if name == "money_quoted" else ", h²" if "variance" in name else ""


def line_block(appraisal: Appraisal) -> Block:
    def of(name: str) -> Callable[[JobLine], Value]:
        return lambda line: getattr(line.decided, name)

    def work(name: str) -> Callable[[JobLine], Value]:
        return lambda line: getattr(line.decided.work, name)

    def share(case: str) -> str:
        return f"={{quoted_{case}}}+{{hour.z.agreed}}*{{variance_{case}}}*{{hour.per_deviation.{case}}}"

    money = appraisal.record.shop.shop.currency
    return block(
        "line",
        "Job lines",
        [
            Column("label", "line", "label"),
            Column("title", "job", "wrap", value=lambda line: line.line.job.title),
            Column("place", "at", "small", value=lambda line: line.line.place.title),
            Column("asked", "asked for", value=of("asked")),
            Column(
                "called_by",
                "called for by",
                "small",
                '=IFERROR(INDEX({call:check},MATCH({label},{call:active_line},0)),"")',
                value=of("called_by"),
            ),
            Column("safety", "safety", value=lambda line: line.line.job.safety),
            Column("decision", "decision", box=DECISION_BOX, value=of("decision")),
            Column("done", "done", box=list_box("Done", DONE_WORDS, DONE_PROMPT), value=of("done_word")),
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
                "=ROUND(ROUND({money_quoted}+{hour.z.agreed}*({spread_with}-{spread_without}),8),2)",
            ),
            Column("rate", f"{money} an hour", "money", "=" + lookup("rate:per_hour", "{rate_id}", "rate:label")),
            Column("amount_alone", f"alone, {money}", "money", "=ROUND(ROUND({alone}*{rate},8),2)"),
            Column("amount_agreed", f"agreed, {money}", "money", "=ROUND(ROUND({share_agreed}*{rate},8),2)"),
            Column("amount_proposed", f"proposed, {money}", "money", "=ROUND(ROUND({share_proposed}*{rate},8),2)"),
            Column("rate_id", "kind of work", value=lambda line: line.line.job.rate),
            Column("tax_class", "tax class"),
            Column("taxed", "taxed (1)", "whole", "=" + lookup("taxclass:taxed", "{tax_class}", "taxclass:label")),
            Column(
                "tax_agreed", "tax alone, agreed", "money", "=ROUND({amount_agreed}*{setting.tax_rate.value}*{taxed},2)"
            ),
            Column(
                "tax_proposed",
                "tax alone, proposed",
                "money",
                "=ROUND({amount_proposed}*{setting.tax_rate.value}*{taxed},2)",
            ),
            Column(
                "wanted",
                "asked or called for (1)",
                "whole",
                '=IF(OR({asked}="yes",{called_by}<>""),1,0)',
                value=of("wanted"),
            ),
            Column(
                "offered",
                "offered (1)",
                "whole",
                '=IF(OR({decision}="authorized",AND({decision}<>"declined",{wanted}=1,{settled}=0)),1,0)',
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
            Column(
                "agreed", "counts, agreed (1)", "whole", '=IF(AND({decision}="authorized",{included_agreed}=0),1,0)'
            ),
            Column("proposed", "counts, proposed (1)", "whole", "=IF(AND({offered}=1,{included_proposed}=0),1,0)"),
            Column("order", "order", "whole"),
            Column(
                "rank",
                "place in the estimate",
                "whole",
                '=IF({proposed}=1,SUMIFS({line:proposed},{line:order},"<="&{order}),0)',
            ),
            Column("job_id", "job's id", value=lambda line: line.line.job.job_id),
            Column("group", "either or", value=of("group")),
            Column(
                "settled",
                "settled by another of its group (1)",
                "whole",
                '=IF(AND({group}<>"",{decision}<>"authorized"),IF(COUNTIFS({line:group},{group},{line:decision},"authorized")>0,1,0),0)',
                value=of("settled"),
            ),
            Column("earlier", "done before the readings (1)", "whole", value=work("earlier")),
            Column(
                "done_flag",
                "done (1)",
                "whole",
                f'=IF(AND({{earlier}}=0,OR({{done}}="{DONE}",{{done}}="{SINCE}")),1,0)',
                value=work("done_now"),
            ),
            Column(
                "since_flag",
                "done since (1)",
                "whole",
                f'=IF(AND({{earlier}}=0,{{done}}="{SINCE}"),1,0)',
                value=work("done_since"),
            ),
            Column(
                "touched",
                "touched by others (1)",
                "whole",
                "=IF(COUNTIF({extra_work:voiding},{job_id})+COUNTIF({sublet:voiding},{job_id})>0,1,0)",
                value=work("touched"),
            ),
            *_working(appraisal),
        ],
        appraisal.labor.lines,
        note=INVENTED,
        faded_by="offered",
    )


def _working(appraisal: Appraisal) -> list[Column]:
    """What hours and savings rest on: sums over the steps of each line, own and shared."""
    grid = f"{{shared:{grid_span(appraisal)}}}"

    def sums(column: str) -> str:
        return f"SUMPRODUCT({{shared:{column}}},INDEX({grid},0,{{order}}))"

    def sum_of(name: str, column: str) -> Callable[[JobLine], Value]:
        """A column of a sum over the line's steps."""
        return lambda line: getattr(getattr(line.hours, name), column)

    def working(name: str, heading: str, formula: str, value: Callable[[JobLine], Value] | None = None) -> Column:
        return Column(name, heading + _unit(name), "hours", formula, value=value)

    def spread(which: Literal["with", "without"]) -> Callable[[JobLine], Value]:
        return lambda line: line.spread(which)

    return [
        *(
            working(
                f"own_{column}", heading, f"=SUMIFS({{own:{column}}},{{own:line}},{{label}})", sum_of("own", column)
            )
            for column, heading in (
                ("quoted", "own hours"),
                ("expected", "own hours, expected"),
                ("variance", "own variance"),
            )
        ),
        working("all_quoted", "all hours", "={own_quoted}+" + sums("quoted"), sum_of("alone", "quoted")),
        working("all_variance", "all variance", "={own_variance}+" + sums("variance"), sum_of("alone", "variance")),
        *(
            working(
                f"{column}_{case}",
                f"{column}, {case}",
                f"={{{case}}}*({{own_{column}}}+" + sums(f"part_{column}_{case}") + ")",
                sum_of(case, column),
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
            sum_of("sole", "quoted"),
        ),
        working(
            "sole_variance",
            "variance only it needs",
            "={proposed}*({own_variance}+" + sums("sole_variance") + ")",
            sum_of("sole", "variance"),
        ),
        working(
            "variance_without",
            "variance without it",
            '={hour.several.proposed}+SUMIFS({line:sole_variance},{line:label},"<>"&{label})',
        ),
        working("variance_with", "variance with it", "={variance_without}+{sole_variance}"),
        *(
            working(
                f"back_{column}",
                f"shared {column} left to others",
                "={proposed}*" + sums(f"back_{column}"),
                sum_of("back", column),
            )
            for column in ("quoted", "variance")
        ),
        *(
            working(
                f"money_{column}",
                f"labor saved, {column}",
                f"={{proposed}}*({{rate}}*{{own_{column}}}+{sums(f'drop_{column}')})+{{rate}}*{{back_{column}}}",
                sum_of("money", column),
            )
            for column in ("quoted", "variance")
        ),
        working("weighted", "rate times variance", "={rate}*{variance_proposed}"),
        working("weighted_without", "weighted, without it", "={hour.weighted.proposed}-{money_variance}"),
        working("weighted_with", "weighted, with it", "={weighted_without}+{money_variance}"),
        *(
            working(
                f"spread_{which}",
                f"spread of labor {which} it",
                f"=IF({{variance_{which}}}>0,{{weighted_{which}}}/SQRT({{variance_{which}}}),0)",
                spread(which),
            )
            for which in ("with", "without")
        ),
    ]
