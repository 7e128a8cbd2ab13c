"""The changes of one mutant each: operators, comparisons, numbers, checks, and operators of expressions over keys."""

import ast
import re
from typing import NamedTuple

OPERATORS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult}
COMPARISONS = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq}
COMPARISONS |= {ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
SIGNS = {"+": "-", "-": "+", "*": "/", "/": "*", "<": "<=", "<=": "<", ">": ">=", ">=": ">", "<>": "="}
SIGNS |= {"MIN(": "MAX(", "MAX(": "MIN(", "AND(": "OR(", "OR(": "AND("}
CHECKS = ("positive", "not_negative", "within", "rising", "finite")


class Mutant(NamedTuple):
    """One change: where it is by names and text, what it is, and how to make it again."""

    function: str
    line: str
    mutation: str
    place: tuple[int, int]


def nodes(tree):
    """Every node that may be changed: not words for people, not annotations, not imports."""
    found = []
    for field, value in ast.iter_fields(tree):
        if field in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.JoinedStr):
                found.append(child)
            elif isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                continue
            elif isinstance(child, ast.AST) and not isinstance(child, (ast.Import, ast.ImportFrom)):
                found += [child, *nodes(child)]
    return found


def operators_of(text):
    """The operators outside braces of a text that is an expression over keys, each with its part and place."""
    parts = text.values if isinstance(text, ast.JoinedStr) else [text]
    words = [part.value if isinstance(part, ast.Constant) else "" for part in parts]
    if not re.search(r"[{}]|[A-Z]{2,}\(", "".join(words)):
        return []
    found, depth = [], 0
    for part, word in zip(parts, words, strict=True):
        for match in re.finditer(r"[{}]|<=|>=|<>|[-+*/<>]|\bMINA?\(|\bMAXA?\(|\bAND\(|\bOR\(", word):
            depth += (match[0] == "{") - (match[0] == "}")
            if depth == 0 and match[0] in SIGNS:
                found.append((part, match))
    return found


def _text(node, which):
    if isinstance(node, ast.Constant) and not isinstance(node.value, str):
        return ""
    if which >= len(operators := operators_of(node)):
        return ""
    part, sign = operators[which]
    part.value = part.value[: sign.start()] + SIGNS[sign[0]] + part.value[sign.end() :]
    return f"{sign[0]} → {SIGNS[sign[0]]}"


def _comparison(node, which):
    if which >= len(node.ops) or type(node.ops[which]) not in COMPARISONS:
        return ""
    was = node.ops[which]
    node.ops[which] = COMPARISONS[type(was)]()
    return type(was).__name__


def _condition(node, which):
    if which != 1:
        return ""
    node.test = ast.UnaryOp(ast.Not(), node.test)
    return "if not"


def _operator(node, which):
    if which or type(node.op) not in OPERATORS:
        return ""
    was = node.op
    node.op = OPERATORS[type(was)]()
    return type(was).__name__


def _either(node, which):
    if which:
        return ""
    node.op = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
    return "and/or"


def _sign(node, which):
    if which or not isinstance(node.op, ast.USub):
        return ""
    node.op = ast.UAdd()
    return "minus"


def _number(node, which):
    was = node.value
    if which or isinstance(was, bool) or not isinstance(was, (int, float)):
        return ""
    node.value = was + 1 if was in (0, 1, 2) else was * 1.1
    return f"{was} → {node.value}"


def _call(node, which):
    name = node.func.id if isinstance(node.func, ast.Name) and not which else ""
    if name in ("min", "max"):
        node.func.id = "max" if name == "min" else "min"
        return name
    if name in CHECKS or name.startswith("_check"):
        node.func, node.args, node.keywords = ast.Name("bool", ast.Load()), [], []
        return f"without {name}"
    return ""


CHANGES = (
    ((ast.JoinedStr, ast.Constant), _text),
    (ast.Compare, _comparison),
    (ast.If, _condition),
    (ast.BinOp, _operator),
    (ast.BoolOp, _either),
    (ast.UnaryOp, _sign),
    (ast.Constant, _number),
    (ast.Call, _call),
)


def change(node, which):
    """Changes a node in place and says how, or nothing where there is nothing to change."""
    return next((said for kind, how in CHANGES if isinstance(node, kind) and (said := how(node, which))), "")


def mutants(source):
    """Each possible change of a module."""
    tree, lines = ast.parse(source), source.splitlines()
    functions = [node for node in ast.walk(tree) if isinstance(node, (ast.FunctionDef, ast.ClassDef))]
    for number, node in enumerate(nodes(tree)):
        for which in range(100):
            if said := change(node, which):
                around = [item.name for item in functions if item.lineno <= node.lineno <= item.end_lineno]
                yield Mutant(".".join(around), lines[node.lineno - 1].strip(), said, (number, which))
            elif which:
                break


def mutated(source, number, which):
    """The tree of a module with one change made."""
    tree = ast.parse(source)
    change(nodes(tree)[number], which)
    return ast.fix_missing_locations(tree)
