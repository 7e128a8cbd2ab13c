"""The words that people don't read, each with what the shop says in its place, and where they are looked for.

House words of this project, no source outside it: one word for one thing.
"""

import ast
import csv
import re
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent / "estimator"
TABLES = PACKAGE.parent / "labor_tables"

# A pattern that no text may hold, and the word in its place.
SAY = {
    r"workshops?": "shop",
    r"maker(s|'s|’s)?": "manufacturer",
    r"complaints?": "concern",
    r"asked for|asks? for": "requested, required",
    r"proposed|proposals?|proposes?": "recommended",
    r"call(s|ed)? for": "recommended because of, requires",
    r"agreed( to)?": "authorized",
    r"consent(s|ed)?": "authorization",
    r"strip-down|strip(ped)?": "teardown, disassemble",
    r"added work": "additional work",
    r"g[ia]ven? (back|to others)|done by others": "returned, sublet",
    r"renew(s|ed|al)?|exchang(e|es|ed)": "replace, flush",
    r"overhaul(s|ed)?": "rebuild",
    r"off and on": "R&I",
    r"surveys?|lamps? proves?": "inspect, bulb check",
    r"isolating test": "isolation test",
    r"(measured?|read|made) again|once more": "remeasure, recheck, repeat",
    r"pipes?|unions?": "line, fitting",
    r"bleed screws?": "bleeder",
    r"run-out|hub play": "runout, wheel bearing play",
    r"pad wear lead|leakage pan|undertray|wings?|earth|spilt|fixings": "US words of the trade",
    r"powered|in store": "full-power, reserve",
    r"gas vessels?|third circuit": "accumulator, pedal circuit",
    r"other users?|another user": "other circuits on the supply",
    r"depleted": "depressurized",
    r"strokes|full stroke": "application",
    r"lit": "on",
    r"yardsticks?|does(n't|n’t| not) bind": "reference value, not required of this car",
    r"wanted": "limit, required",
    r"brought to": "corrected to",
    r"finer gauge|better gauge": "more accurate gauge",
    r"typed in": "entries",
    r"(un|isn't |is not |is )sound": "intact",
    r"write over|written over": "overwrite",
    r"left out": "default, optional",
    r"dearest|hang together": "most expensive, fit together",
    r"stands? in|is typed": "is, entry",
    r"off the road": "do not drive",
    r"no need to worry|should be OK|all checks passed": "no comfort",
}
_FORBIDDEN = {re.compile(rf"(?<![\w-])(?:{pattern})(?![\w-])", re.IGNORECASE): say for pattern, say in SAY.items()}
_MARKS = {
    re.compile(r"\d[\s\u00a0]+%"): "7.25%, no space",
    re.compile(r"\d[eE][-+]?\d{2}"): "no E-notation",
    re.compile(r"\d[\s\u00a0]a(?=[,;.]|$)"): "years",
    re.compile(r"%\s*%"): "no unit twice",
}
# What is quoted from law or a standard stays as it is printed; ids, keys, file names and commands aren't words.
_NOT_WORDS = re.compile(r"`[^`]*`|<[^<>]*>|\{[^{}]*\}|\b[\w/-]+\.(?:toml|csv|py|xlsx|md|html|json|db)\b|--[\w-]+")


def faults(text: str) -> list[str]:
    """Which words of a text the shop doesn't say, each with what it says."""
    plain = _NOT_WORDS.sub(" ", text)
    return [f"{match[0]!r} → {say}" for rule, say in (_FORBIDDEN | _MARKS).items() for match in rule.finditer(plain)]


def messages(folder: Path = PACKAGE, without: Iterable[str] = ()) -> Iterator[tuple[str, str]]:
    """Where each text of more than one word stands in the program's source, and the text; docstrings aside."""
    for path in sorted(folder.rglob("*.py")):
        where = str(path.relative_to(folder))
        if where.startswith(tuple(without)):
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
        for node in ast.walk(tree):
            if id(node) in docs or id(node) in inside:
                continue
            if isinstance(node, ast.JoinedStr):
                text = "".join(str(p.value) if isinstance(p, ast.Constant) else "{}" for p in node.values)
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                text = node.value
            else:
                continue
            if " " in text.strip() and not _is_code(text):
                yield f"{where}:{node.lineno}", text


def _is_code(text: str) -> bool:
    """Whether a text is a formula, a statement of a database, a pattern or a path through a file."""
    return bool(
        re.match(r"\s*=|\s*(SELECT|INSERT|CREATE|UPDATE|DELETE|AND|PRAGMA|BEGIN|ALTER)\b|\(\?|https?:|//", text)
    )


def in_toml(path: Path, keys: Iterable[str]) -> Iterator[tuple[str, str]]:
    """The texts at keys of these names, wherever they stand in a TOML file."""

    def walk(data: object, name: str) -> Iterator[tuple[str, str]]:
        if isinstance(data, dict):
            for key, value in data.items():
                yield from walk(value, key)
        elif isinstance(data, list):
            for item in data:
                yield from walk(item, name)
        elif isinstance(data, str) and name in keys:
            yield f"{path.name}, {name}", data

    yield from walk(tomllib.loads(path.read_text(encoding="utf-8")), "")


def comments(path: Path) -> Iterator[tuple[str, str]]:
    """The comments of a file that people write in."""
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if "#" in line:
            yield f"{path.name}:{number}", line.partition("#")[2]


def in_csv(path: Path, columns: Iterable[str]) -> Iterator[tuple[str, str]]:
    """The texts of some columns of a table."""
    with path.open(encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.DictReader(file), 2):
            yield from ((f"{path.name}:{number}", row[column]) for column in columns if row.get(column))
