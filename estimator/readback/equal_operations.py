"""Whether two formulas differ by nothing but brackets that change nothing, by A1 for A1:A1, or by more digits of a number
than it has: so some programs write them when they save.

A formula is taken apart by the order in which spreadsheet programs work out operators (ECMA-376 part 1, 18.17.2.2):
range, intersection, sign, percent, power, product, sum, text, comparison; of equal rank from the left.
"""

from __future__ import annotations

from estimator.readback.equal_formulas import normal_form

_RANKS = (("=", "<>", "<", ">", "<=", ">="), ("&",), ("+", "-"), ("*", "/"), ("^",))
_RANK = {sign: rank for rank, signs in enumerate(_RANKS) for sign in signs}
_SIGNS = ("+", "-", "@")
_DEEPEST = 150

Tree = str | tuple["Tree", ...]


def same_operations(a: str, b: str) -> bool:
    """Whether two formulas work out the same operations on the same operands in the same order.

    >>> same_operations("=(A1*B1)/(C1)", "=A1*B1/C1"), same_operations("=A1*(B1/C1)", "=A1*B1/C1")
    (True, False)
    """
    first = tree(a)
    return first is not None and first == tree(b)


def tree(formula: str) -> Tree | None:
    """The operations of a formula, from the outermost in; None where it can't be taken apart.

    >>> tree("=-(A1)^2+SUM(B1:B3)")
    ('+', ('^', ('sign', '-', 'A1'), '2.0'), ('call', 'SUM', (':', 'B1', 'B3')))
    """
    tokens = normal_form(formula)
    if tokens is None or tokens[:1] != ["="]:
        return None
    reader = _Reader(tokens[1:])
    try:
        found = reader.operation(0)
    except _NotUnderstood:
        return None
    return found if reader.at == len(reader.tokens) else None


class _NotUnderstood(Exception):
    """A formula that this module can't take apart."""


class _Reader:
    def __init__(self, tokens: list[str]) -> None:
        self.tokens, self.at, self.depth = tokens, 0, 0

    @property
    def next(self) -> str:
        return self.tokens[self.at] if self.at < len(self.tokens) else ""

    def take(self, wanted: str = "") -> str:
        token = self.next
        if not token or (wanted and token != wanted):
            raise _NotUnderstood
        self.at += 1
        return token

    def operation(self, rank: int) -> Tree:
        """Operands joined by operators of this rank or of one that binds more."""
        if rank == len(_RANKS):
            return self.signed()
        found = self.operation(rank + 1)
        while _RANK.get(self.next) == rank:
            found = (self.take(), found, self.operation(rank + 1))
        return found

    def signed(self) -> Tree:
        if self.next in _SIGNS:
            self.depth += 1
            if self.depth > _DEEPEST:
                raise _NotUnderstood
            found: Tree = ("sign", self.take(), self.signed())
            self.depth -= 1
            return found
        found = self.joined(" ")
        while self.next in ("%", "#"):
            found = (self.take(), found)
        return found

    def joined(self, sign: str) -> Tree:
        """References joined by intersection (a blank), or by a colon, which binds more."""
        part = self.operand if sign == ":" else lambda: self.joined(":")
        found = part()
        while self.next == sign:
            self.take()
            other = part()
            last = found[1] if len(found) == 2 and str(found[0]).endswith("!") else found
            if sign != ":" or other != last:  # A1:A1 is A1
                found = (sign, found, other)
        return found

    def operand(self) -> Tree:
        self.depth += 1
        if self.depth > _DEEPEST:
            raise _NotUnderstood
        token = self.take()
        found: Tree
        if token == "(":
            found = self.listed("union", ")")
            found = found[1] if len(found) == 2 else found
        elif token == "{":
            found = self.constants()
        elif token in _RANK or token in (")", "}", ",", ";", ":", "%", "#", " ", "="):
            raise _NotUnderstood
        elif self.next == "(":
            self.take()
            found = ("call", token, *self.listed("", ")")[1:])
        elif token.endswith("!"):
            found = (token, self.operand())
        else:
            # Numbers are those of binary fractions, of which 1E-6 and 1.00000000000000000004E-6 are one.
            found = repr(float(token)) if token[0].isdecimal() else token
        self.depth -= 1
        return found

    def listed(self, name: str, end: str) -> tuple[Tree, ...]:
        """What stands between brackets, parted by commas; nothing between two is an empty text."""
        found: list[Tree] = [name]
        if self.next == end:
            self.take()
            return (name,)
        while True:
            found.append("" if self.next in (",", end) else self.operation(0))
            if self.take() == end:
                return tuple(found)
            if self.tokens[self.at - 1] != ",":
                raise _NotUnderstood

    def constants(self) -> Tree:
        """The constants of an array, as they stand."""
        found = ["array"]
        while self.next != "}":
            found.append(self.take())
        self.take()
        return tuple(found)
