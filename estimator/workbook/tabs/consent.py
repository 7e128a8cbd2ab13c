"""What authorizations leave of the authorized total. On Workings."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.pricing.consents import DECLINING
from estimator.workbook.book import Block, Column, block

_CONSENTING = {
    "compared": 'IF({setting.consent_on.value}="before tax",{total.net.agreed},{total.total.agreed})',
    "consented": "ROUND(SUM({consent:counted}),2)",
    "share": "ROUND({consenting.consented.value}*{setting.consent_percent.value}/100,2)",
    "ruled": 'IF({setting.consent_rule.value}="flat",{setting.consent_flat.value},'
    'IF({setting.consent_rule.value}="none",0,{consenting.share.value}))',
    "greater": 'IF({setting.consent_rule.value}="greater-of",'
    "MAX({setting.consent_flat.value},{consenting.share.value}),{consenting.ruled.value})",
    "chosen": 'IF({setting.consent_rule.value}="lesser-of",'
    "MIN({setting.consent_flat.value},{consenting.share.value}),{consenting.greater.value})",
    "excess": "IF({consenting.consented.value}=0,0,IF(ISNUMBER({setting.consent_cap.value}),"
    "MIN({consenting.chosen.value},{setting.consent_cap.value}),{consenting.chosen.value}))",
    "over": "MAX(0,ROUND({consenting.compared.value}-{consenting.consented.value}-{consenting.excess.value},2))",
    "further": "MAX(0,ROUND({consenting.compared.value}-{consenting.consented.value},2))",
}


def consent_block(appraisal: Appraisal) -> Block:
    told = '=IF(AND({consent@who}<>"",ISNUMBER({consent@date}),{consent@stage}<>""),1,0)'
    counted = f'AND({{told}}=1,ISNUMBER({{consent@amount}}),{{consent@stage}}<>"{DECLINING}")'
    return block(
        "consent",
        "Authorizations",
        [
            Column("label", "entry", "label"),
            Column("told", "complete (1)", "whole", told),
            Column("counted", "counts", "money", f"=IF({counted},ROUND(MAX({{consent@amount}},0),2),0)"),
        ],
        appraisal.consents,
    )


def consenting_block(appraisal: Appraisal) -> Block:
    return block(
        "consenting",
        "Authorized work against authorizations",
        [
            Column("label", "figure", "label", value=lambda row: row.ref),
            Column("title", "what it is", value=lambda row: row.label),
            Column("value", "amount", "money", lambda row: "=" + _CONSENTING[row.ref]),
        ],
        appraisal.consent_rows,
        kind="working",
    )
