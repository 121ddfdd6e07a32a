"""Sums that a text works by hand, such as "20 / 1.08 = 18.5 %": each is worked out again.

A text rounds on the way and turns units by the way, so a sum holds where it comes to what is printed, to the digits
that are printed, as it stands or a round factor off: percent, thousands, minutes, or the other sign.
"""

from __future__ import annotations

import ast
import math
import operator
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_NUMBER = r"\d{1,3}(?: \d{3})+(?![\d.])|\d+(?:\.\d+)?"
_PIECE = rf"(?:√|ln |log )?\(*√?\(*(?:{_NUMBER})(?:\^−?(?:{_NUMBER}))?\)*[²³]?"
#: A sum begins where no sign stands before it, or it is the end of a longer one with words in it.
_SUM = re.compile(rf"(?<![\w.,^])(?<![×/+−] )({_PIECE}(?: ?[×/+−] ?{_PIECE})*) ?= ?({_NUMBER})(?![\w.]| ?[×/+−^(])")

#: Signs of the text → Python's.
_SIGNS = (("×", "*"), ("−", "-"), ("^", "**"), ("²", "**2"), ("³", "**3"))
_CALLS = ((r"√\(", "sqrt("), (rf"√({_NUMBER})", r"sqrt(\1)"), (r"ln \(", "ln("), (rf"ln ({_NUMBER})", r"ln(\1)"),
          (r"log \(", "log("), (rf"log ({_NUMBER})", r"log(\1)"))  # fmt: skip
_WORKED: dict[type, Callable[[float, float], float]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}  # fmt: skip
_CALLED: dict[str, Callable[[float], float]] = {"sqrt": math.sqrt, "ln": math.log, "log": math.log10}
#: As it stands, percent, g and kg or mL and L, minutes and seconds, the other sign.
_ROUND = (1, 100, 1000, 0.001, 60, 1 / 60, -1)


def sums_in(text: str) -> Iterator[tuple[str, str, float]]:
    """Each sum of a text: what is worked, what it is said to be, and what it comes to."""
    plain = re.sub(r"\*\*|[\u202f\u00a0]", lambda found: "" if found[0] == "**" else " ", text)
    for found in _SUM.finditer(plain):
        worked = _worth(found[1])
        if worked is not None:
            yield found[1], found[2], worked


def is_right(said: str, worked: float, units: float = 0.5) -> bool:
    """Whether a sum comes to what is printed, within so many units of the last digit that is printed."""
    digits = len(said.partition(".")[2])
    printed = float(said.replace(" ", ""))
    return any(abs(worked * factor - printed) <= units * 10**-digits + 1e-9 for factor in _ROUND)


def sum_faults(name: str, text: str, units: float = 0.5) -> list[str]:
    """A sentence for each sum of a text that does not come to what is printed.

    Parameters
    ----------
    units
        Of the last digit; 1 where figures are rounded before they are printed, and worked with as they were.
    """
    return [
        f"{name}: {worked} is {value:.6g}, not {said}. Work it out again."
        for worked, said, value in sums_in(text)
        if not is_right(said, value, units)
    ]


def _worth(text: str) -> float | None:
    """What is written comes to; None for a number alone, and for what cannot be read."""
    for said, meant in _CALLS:
        text = re.sub(said, meant, text)
    for said, meant in _SIGNS:
        text = text.replace(said, meant)
    text = re.sub(r"(?<=\d) (?=\d{3}(?!\d))", "", text)
    try:
        tree = ast.parse(text.strip(), mode="eval").body
        return None if isinstance(tree, ast.Constant) else _value(tree)
    except (SyntaxError, ValueError, ZeroDivisionError):
        return None


def _value(node: ast.expr) -> float:
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        return float(node.value)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_value(node.operand)
    if isinstance(node, ast.BinOp) and type(node.op) in _WORKED:
        return _WORKED[type(node.op)](_value(node.left), _value(node.right))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and len(node.args) == 1:
        return _CALLED[node.func.id](_value(node.args[0]))
    raise ValueError(ast.dump(node))
