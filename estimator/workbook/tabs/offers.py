"""The items of the estimate, one a row, and what each saves. On Workings."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging.verdict_words import COULD_NOT, COULD_NOT_CHECK
from estimator.pricing.job_lines import JobLine
from estimator.pricing.offers import BESIDE, CHOOSE, Item, either_or, instead_words
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.tabs.common import Pair
from estimator.workbook.tabs.lines import shared_sum
from estimator.workbook.tabs.said_limits import fixed

# What the customer reads after a check that has no result, by its latest verdict.
UNSURE = {
    COULD_NOT: ", cannot be checked",
    COULD_NOT_CHECK: ", cannot be checked",
}
# The same in the sheet: `called_by` is the check, `told` what is wrong with it, `latest` its verdict.
UNSURE_FORMULA = "IFERROR({called_by}&INDEX({unsure:said},MATCH({latest},{unsure:label},0)),TOLD)"


def customer_words(called_by: str, latest: str, told: str) -> str:
    """What is wrong with what calls for a job, to the customer."""
    return called_by + UNSURE[latest] if latest in UNSURE else told


def unsure_block() -> Block:
    rows = [Pair(f"{number}", verdict, said) for number, (verdict, said) in enumerate(UNSURE.items(), 1)]
    columns = [Column("label", "verdict", "label"), Column("said", "behind the check", value=lambda row: row.value)]
    return block("unsure", "Checks without a result, to the customer", columns, rows)


def why_words(item: Item, reason: str) -> str:
    """Why an item is on the estimate, to the customer."""
    if reason:
        return reason + ("; requested" if item.asked else "")
    return "Requested" if item.asked else "Recommended by us" if item.title else ""


def latest_of(appraisal: Appraisal) -> dict[str, str]:
    """Return the latest verdict of the check that calls for each item, by the item's reference; "" for none."""
    latest = {item.label: item.latest for item in appraisal.standings}
    return {item.ref: latest.get(item.called_by, "") for item in appraisal.offers}


def told_of(appraisal: Appraisal) -> dict[str, str]:
    """Return what is wrong with each check, to the customer, by the check's label."""
    return {item.label: item.row.told for item in appraisal.standings}


def reasons(appraisal: Appraisal) -> dict[str, str]:
    """Return what calls for each item, in the customer's words, by the item's reference."""
    told, latest = told_of(appraisal), latest_of(appraisal)

    def reason(item: Item) -> str:
        if not item.called_by:
            return ""
        words = customer_words(item.called_by, latest[item.ref], told.get(item.called_by, item.called_by))
        return f"Reason: {words}"

    return {item.ref: reason(item) for item in appraisal.offers}


def more_words(item: Item) -> str:
    """What is said of an item beside its reason."""
    said = f"{BESIDE}safety work" if item.safety == "yes" else ""
    said += f"{BESIDE}rebuilt parts" if item.rebuilt else ""
    return said + (f"{BESIDE}core deposit {fixed(float(item.core), 2)}" if item.core > 0 else "")


def _instead(appraisal: Appraisal) -> Callable[[Item], str]:
    """What could be done instead of an item."""
    others = either_or(appraisal.plan, appraisal.labor.lines)
    return lambda item: instead_words(others.get(item.job.line.ref, ())) if item.job else ""


def said_of(appraisal: Appraisal) -> dict[str, str]:
    """Return the line below each item, by the item's reference."""
    why, instead = reasons(appraisal), _instead(appraisal)

    def said(item: Item) -> str:
        other = instead(item)
        return why_words(item, why[item.ref]) + more_words(item) + other + (CHOOSE if other else "")

    return {item.ref: said(item) for item in appraisal.offers}


def offer_block(appraisal: Appraisal) -> Block:
    why, latest, told = reasons(appraisal), latest_of(appraisal), told_of(appraisal)

    def line(column: str) -> str:
        return f"INDEX({{line:{column}}},{{line_at}})"

    def of_line(name: str, heading: str, column: str, look: str, value: Callable[[Item], Value]) -> Column:
        return Column(name, heading, look, f'=IFERROR({line(column)}&"","")', value=value)

    def of_both(name: str, heading: str, column: str, look: str = "money") -> Column:
        other = f"IFERROR(INDEX({{extra:{name}}},{{extra_at}})+0,0)"
        return Column(name, heading, look, f"=IFERROR({line(column)}+0,{other})")

    def of_call(name: str) -> str:
        return f'=IFERROR(INDEX({{call:{name}}},MATCH({{job}},{{call:active_line}},0))&"","")'

    return block(
        "offer",
        "Items of the estimate",
        [
            Column("label", "item", "label"),
            Column("number", "number", "whole"),
            Column("line_at", "row of the job", "whole", '=IFERROR(MATCH({number},{line:rank},0),"")'),
            Column("extra_at", "row of another line", "whole", '=IFERROR(MATCH({number},{extra:rank},0),"")'),
            Column(
                "title",
                "work or part",
                "words",
                f'=IFERROR({line("title")},IFERROR(INDEX({{extra:title}},{{extra_at}}),""))',
            ),
            Column(
                "job",
                "line of the job",
                "words",
                f'=IFERROR({line("label")},"–")',
                value=lambda item: item.job.line.label if item.job else "–",
            ),
            Column("called_by", "recommended because of", "words", of_call("check")),
            of_line("asked", "requested", "asked", "words", lambda item: item.asked),
            of_line("safety", "safety", "safety", "words", lambda item: item.safety),
            Column(
                "latest",
                "its latest verdict",
                "words",
                '=IFERROR(INDEX({standing:latest},MATCH({called_by},{standing:label},0)),"")',
                value=lambda item: latest[item.ref],
            ),
            Column(
                "reason",
                "reason, to the customer",
                "words",
                '=LEFT("Reason: ",100*LEN({called_by}))&' + UNSURE_FORMULA.replace("TOLD", "{told}"),
                value=lambda item: why[item.ref],
            ),
            Column(
                "why",
                "why",
                "words",
                '=IF({reason}="",IF({asked}="yes","Requested",IF({title}="","","Recommended by us")),'
                '{reason}&IF({asked}="yes","; requested",""))',
                value=lambda item: why_words(item, why[item.ref]),
            ),
            of_both("core", "core deposits", "core"),
            Column(
                "rebuilt",
                "rebuilt parts",
                "whole",
                f"=IFERROR({line('rebuilt')},0)",
            ),
            Column(
                "more",
                "and what else",
                "words",
                f'=IF({{safety}}="yes","{BESIDE}safety work","")&IF({{rebuilt}}>0,"{BESIDE}rebuilt parts","")'
                f'&IF({{core}}>0,"{BESIDE}core deposit "&FIXED({{core}},2),"")',
                value=more_words,
            ),
            *_savings(appraisal),
            Column(
                "told",
                "the same, to the customer",
                "words",
                "=IFERROR(INDEX({standing:told},MATCH({called_by},{standing:label},0)),{called_by})",
                value=lambda item: told.get(item.called_by, item.called_by),
            ),
            of_both("labor", "labor", "amount_proposed"),
            of_both("parts", "parts", "parts"),
            Column("sublet", "sublet work", "money", "=IFERROR(INDEX({extra:sublet},{extra_at})+0,0)"),
            Column("amount", "before tax", "money", "=ROUND({labor}+{parts}+{sublet},2)"),
            of_line("instead", "or instead of it", "instead", "words", _instead(appraisal)),
            of_both("agreed", "authorized (1)", "agreed", "whole"),
        ],
        appraisal.offers,
        note="Done alone: in a visit of its own. Saved if declined: the visit with it less the visit without it.",
    )


def _savings(appraisal: Appraisal) -> list[Column]:
    def column(
        name: str, heading: str, formula: str, read: Callable[[JobLine], Value], look: str = "hours", unused: Value = ""
    ) -> Column:
        def value(item: Item) -> Value:
            return read(item.job.line) if item.job else unused

        return Column(name, heading, look, f'=IFERROR({formula},"")', value=value)

    def line(name: str) -> str:
        return f"INDEX({{line:{name}}},{{line_at}})"

    def sums(name: str) -> str:
        return shared_sum(appraisal, name, "{line_at}")

    return [
        column("rate", "an hour", line("rate"), lambda of: of.rate, "money"),
        column("all_quoted", "all hours", f"{line('own_quoted')}+{sums('quoted')}", lambda of: of.hours.alone.quoted),
        column(
            "all_variance",
            "all variance, h²",
            f"{line('own_variance')}+{sums('variance')}",
            lambda of: of.hours.alone.variance,
            "number-4",
        ),
        column(
            "alone", "hours if done alone", "{all_quoted}+{hour.z.agreed}*SQRT({all_variance})", lambda of: of.alone
        ),
        column(
            "amount_alone",
            "labor if done alone",
            "ROUND(ROUND({alone}*{rate},8),2)",
            lambda of: of.amount_alone,
            "money",
        ),
        column(
            "sole_quoted",
            "hours only it needs",
            f"{line('own_quoted')}+{sums('sole_quoted')}",
            lambda of: of.hours.sole.quoted,
        ),
        column(
            "variance_without",
            "variance without it, h²",
            '{hour.several.proposed}+SUMIFS({line:sole_variance},{line:order},"<>"&{line_at})+0*{line_at}',
            lambda of: of.variance_without,
            "number-4",
        ),
        column(
            "variance_with",
            "variance with it, h²",
            f"{{variance_without}}+{line('sole_variance')}",
            lambda of: of.variance_with,
            "number-4",
        ),
        column(
            "saves_hours",
            "hours saved if declined",
            "{sole_quoted}+{hour.z.agreed}*(SQRT({variance_with})-SQRT({variance_without}))",
            lambda of: of.saves_hours,
        ),
        *(
            column(
                f"back_{name}",
                f"own {name} and shared left to others" + (", h²" if name == "variance" else ""),
                f"{line(f'own_{name}')}+{sums(f'back_{name}')}",
                lambda of, name=name: getattr(of.hours.own, name) + getattr(of.hours.back, name),  # type: ignore[misc]
            )
            for name in ("quoted", "variance")
        ),
        *(
            column(
                f"money_{name}",
                f"labor saved, {name}, amount × h" if name == "variance" else "labor saved, amount",
                f"{{rate}}*{{back_{name}}}+{sums(f'drop_{name}')}",
                lambda of, name=name: getattr(of.hours.money, name),  # type: ignore[misc]
            )
            for name in ("quoted", "variance")
        ),
        column(
            "weighted_without",
            "weighted, without it, amount × h",
            "{hour.weighted.proposed}-{money_variance}",
            lambda of: of.weighted_without,
        ),
        *(
            column(
                f"spread_{which}",
                f"weighted spread {which} it, amount × h",
                f"IF({{variance_{which}}}>0,({{weighted_without}}{more})/SQRT({{variance_{which}}}),0)",
                lambda of, which=which: of.spread(which),  # type: ignore[misc]
            )
            for which, more in (("with", "+{money_variance}"), ("without", ""))
        ),
        column(
            "saves_labor",
            "labor saved if declined",
            "ROUND(ROUND({money_quoted}+{hour.z.agreed}*({spread_with}-{spread_without}),8),2)",
            lambda of: of.saves_labor,
            "money",
        ),
    ]
