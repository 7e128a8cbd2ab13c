"""The limits of each check in words, as a form has room for them: rounded inwards. On Workings."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import NO_DRIVE_LIMIT
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.common import decimals

# What stands before a limit that has one side.
_START = {"low": " ≥ ", "high": " ≤ "}
NAMES = {"service": "work", "danger": "drive"}
_NONE = NO_DRIVE_LIMIT.removesuffix(" for driving")


def number_said(value: float, digits: int) -> str:
    """A number as the shop writes it, at most so many decimals: thousands apart where its unit is whole, else no zeros at its
    end.

    >>> number_said(1057.6, 0), number_said(0.084, 2), number_said(480.0, 1)
    ('1,058', '0.08', '480')
    """
    near = sheet_round(value, digits)
    return f"{near:.15g}" if digits else f"{near:,.0f}"


def said_formula(number: str, digits: int, rounded: str = "ROUND") -> str:
    """The same of a formula. rounded: how it is rounded.

    >>> said_formula("A1", 0), said_formula("A1", 2), said_formula("A1", 0, "ROUNDUP")
    ('FIXED(A1,0)', 'ROUND(A1,2)&""', 'FIXED(ROUNDUP(A1,0),0)')
    """
    if digits:
        return f'{rounded}({number},{digits})&""'
    return f"FIXED({number if rounded == 'ROUND' else f'{rounded}({number},0)'},0)"


def fixed(value: float, digits: int) -> str:
    """FIXED(value,digits): an amount.

    >>> fixed(1057.6, 2)
    '1,057.60'
    """
    return f"{sheet_round(value, digits):,.{digits}f}"


def inwards(value: float, digits: int, side: str) -> float:
    """ROUNDUP of a low limit, ROUNDDOWN of a high one: away from what would be let through.

    >>> inwards(797.1, 0, "low"), inwards(1057.6, 0, "high")
    (798.0, 1057.0)
    """
    step = 10.0**-digits
    near = sheet_round(value, digits)
    exact = sheet_round(value, 6)
    if side == "low":
        return near if near >= exact else sheet_round(near + step, digits)
    return near if near <= exact else sheet_round(near - step, digits)


def said_block(appraisal: Appraisal) -> Block:
    def column(pair: str) -> Column:
        def formula(item: Judged) -> str | None:
            sides = _sides(item, pair)
            if not sides:
                return None
            digits = decimals(item.unit)
            texts = {
                side: said_formula(
                    f"{{limit.{item.limits.ref}.{pair}_{side}_shown}}",
                    digits,
                    "ROUNDUP" if side == "low" else "ROUNDDOWN",
                )
                for side in sides
            }
            start = _START.get("".join(sides), " ")
            return f'=IFERROR("{NAMES[pair]}{start}"&{chr(38).join(_joined(list(texts.values())))},"{_NONE}")'

        def value(item: Judged) -> str:
            return limit_words(item, pair)

        return Column(NAMES[pair], f"{NAMES[pair]} limit, in the unit of its check", "words", formula, value=value)

    return block(
        "said",
        "Limits as the forms say them, rounded inwards",
        [Column("label", "check", "label"), column("service"), column("danger")],
        appraisal.judged,
    )


def _joined(texts: list[str]) -> list[str]:
    return texts if len(texts) < 2 else [texts[0], '"–"', texts[1]]


def _sides(item: Judged, pair: str) -> tuple[str, ...]:
    return tuple(side for side in ("low", "high") if getattr(item.limits, f"{pair}_{side}"))


def limit_words(item: Judged, pair: str) -> str:
    """The limits of a pair in words; "" where the check has none."""
    sides = _sides(item, pair)
    if not sides:
        return ""
    shown = {side: item.limit_shown(f"{pair}_{side}") for side in sides}
    digits = decimals(item.unit)
    texts = [
        number_said(inwards(value, digits, side), digits) for side, value in shown.items() if not isinstance(value, str)
    ]
    if len(texts) < len(sides):
        return _NONE
    start = _START.get("".join(sides), " ")
    return f"{NAMES[pair]}{start}{'–'.join(texts)}"
