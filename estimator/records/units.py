"""Units of quantity and their codes in UN/ECE Recommendation 20, as UBL and EN 16931 want them."""

from __future__ import annotations

UNIT_CODES = {
    "h": "HUR",
    "min": "MIN",
    "each": "C62",
    "count": "C62",
    "pair": "PR",
    "set": "SET",
    "kit": "KT",
    "L": "LTR",
    "mL": "MLT",
    "gal": "GLL",
    "qt": "QTL",
    "pt": "PTL",
    "m": "MTR",
    "cm": "CMT",
    "mm": "MMT",
    "km": "KMT",
    "ft": "FOT",
    "in": "INH",
    "mile": "SMI",
    "kg": "KGM",
    "g": "GRM",
    "lb": "LBR",
    "oz": "ONZ",
}
