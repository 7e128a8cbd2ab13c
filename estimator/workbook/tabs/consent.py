"""The log of consents on the Estimate, and what it leaves of the agreed total."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.pricing.consents import STAGE_WORDS, WAY_WORDS
from estimator.workbook.book import Block, Box, Column, block
from estimator.workbook.tabs.common import (
    list_box,
    number_box,
    words_box,
)

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
    return block(
        "consent",
        "Consent, stage by stage",
        [
            Column("label", "entry", "label"),
            Column("who", "given by", box=words_box("Given by", "The customer's name.")),
            Column("stage", "stage", box=list_box("Stage", STAGE_WORDS)),
            Column("way", "how", box=list_box("How it was given", WAY_WORDS)),
            Column("amount", "amount", "money", box=number_box("Amount", 0, 1000000)),
            Column("date", "date", "date", box=Box("date", title="Date")),
            Column("taken_by", "taken by", box=words_box("Taken by")),
            Column(
                "told",
                "complete (1)",
                "whole",
                '=IF(AND({who}<>"",ISNUMBER({date}),{stage}<>""),1,0)',
            ),
            Column(
                "counted",
                "counts",
                "money",
                '=IF(AND({told}=1,ISNUMBER({amount}),{stage}<>"safety work declined"),ROUND(MAX({amount},0),2),0)',
            ),
        ],
        appraisal.consents,
        note="An entry counts with its stage, amount, date and name. Stages add up. Safety work declined: no amount.",
    )


def consenting_block(appraisal: Appraisal) -> Block:
    return block(
        "consenting",
        "Agreed work against consent",
        [
            Column("label", "figure", "label", value=lambda row: row.ref),
            Column("title", "what it is", value=lambda row: row.label),
            Column("value", "amount", "money", lambda row: "=" + _CONSENTING[row.ref]),
        ],
        appraisal.consent_rows,
        kind="working",
    )
