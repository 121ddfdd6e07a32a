"""Pictures of a dilution: the square of alligation, and a chain of beakers."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.bench.alligation import Alligation
    from kit.bench.serial import SerialPlan


def alligation_svg(made: Alligation, *, unit: str = "g", strong_name: str = "", weak_name: str = "") -> str:
    """The square, with the differences along its diagonals and the amounts beside the parts.

    The difference between the wanted strength and the weaker one is the part of the stronger, and the other
    way round: each is read off along a diagonal.
    """
    strong, wanted, weak = (float(x) for x in (made.strong, made.wanted, made.weak))
    upper, lower = float(made.wanted - made.weak), float(made.strong - made.wanted)
    parts = made.parts
    ratio = f"{parts[0]} : {parts[1]}" if max(parts) < 10_000 else f"1 : {lower / upper:.4g}" if upper else "0 : 1"
    amounts = float(made.stronger_amount), float(made.weaker_amount)
    said = (
        f"{strong:g} and {weak:g} to {wanted:g}: {ratio}, so {amounts[0]:.6g} {unit} of the stronger and "
        f"{amounts[1]:.6g} {unit} of the weaker."
    )
    return (
        f'<svg class="sw-square" role="img" aria-label="{escape(said, quote=True)}" viewBox="0 0 640 236" '
        'style="width:100%;max-width:640px" xmlns="http://www.w3.org/2000/svg">'
        '<path class="sw-diagonal" d="M150 42 L390 182 M150 182 L390 42"/>'
        '<rect class="sw-middle" x="228" y="92" width="84" height="40" rx="6"/>'
        + _text(60, 40, f"{strong:g} %", "sw-strong")
        + _text(60, 58, strong_name or "the stronger", "sw-small")
        + _text(60, 186, f"{weak:g} %", "sw-strong")
        + _text(60, 204, weak_name or "the weaker", "sw-small")
        + _text(270, 110, f"{wanted:g} %", "sw-strong")
        + _text(270, 126, "wanted", "sw-small")
        + _row(40, f"{wanted:g} − {weak:g} = {_plain(upper)} parts", amounts[0], unit, strong_name or "the stronger")
        + _row(186, f"{strong:g} − {wanted:g} = {_plain(lower)} parts", amounts[1], unit, weak_name or "the weaker")
        + _text(270, 228, f"together {float(made.amount):.6g} {unit}, as {ratio}", "sw-small")
        + "</svg>"
    )


def _row(y: float, parts: str, amount: float, unit: str, name: str) -> str:
    return _text(410, y, parts, "sw-small", "start") + _text(
        410, y + 18, f"{amount:.6g} {unit} of {name}", "sw-strong", "start"
    )


def _plain(number: float) -> str:
    return f"{number:.6g}"


def _text(x: float, y: float, words: str, kind: str, anchor: str = "middle") -> str:
    cut = words if len(words) <= 34 else words[:33] + "…"
    mark = f' class="{kind}"' if kind else ""
    return f'<text{mark} x="{x:.5g}" y="{y:.5g}" text-anchor="{anchor}">{escape(cut)}</text>' if words else ""


#: The side of the largest filling, and of the smallest that is still drawn to be seen. [px]
LARGEST, SMALLEST = 120.0, 3.0

FLOOR = 160.0  # where the beakers stand [px]


@dataclass(frozen=True, slots=True)
class Filling:
    """What one beaker shows.

    Attributes
    ----------
    amount
        The filled area is to scale with it. [g or mL]
    shade
        0 for the plain diluent to 1 for the strongest shown.
    label, words
        What stands under it, and the line below that.
    before
        The sign that stands before it: "+", "=" or "→".
    """

    label: str
    amount: float
    shade: float
    words: str = ""
    before: str = ""


def beakers_svg(fillings: Sequence[Filling], *, unit: str = "g", title: str = "") -> str:
    """Beakers in a row; the filled areas are to scale with the amounts.

    A filling too small to be seen is drawn with a side of 3 px and said to be larger than to scale.
    """
    most = max((filling.amount for filling in fillings), default=0.0)
    if most <= 0:
        return ""
    width, parts, too_small = 190.0, [], False
    for n, filling in enumerate(fillings):
        exact = LARGEST * sqrt(max(filling.amount, 0.0) / most)
        side = max(exact, SMALLEST) if filling.amount > 0 else 0.0
        too_small = too_small or exact < side
        parts.append(_beaker(filling, n * width + width / 2 + 10, side, unit))
        if filling.before:
            x, y = n * width + 10, FLOOR - 45
            parts.append(f'<text class="sw-sign" x="{x:.0f}" y="{y:.0f}">{escape(filling.before)}</text>')
    total = len(fillings) * width + 20
    note = "Filled areas are to scale" + (", but for the smallest." if too_small else ".")
    name = escape(title or ", ".join(f"{f.label} {f.amount:.4g} {unit}" for f in fillings), quote=True)
    return (
        f'<svg class="sw-beakers" role="img" aria-label="{name}" viewBox="0 0 {total:.0f} 236" '
        f'style="width:100%;max-width:{total:.0f}px" xmlns="http://www.w3.org/2000/svg">'
        + "".join(parts)
        + f'<text class="sw-small" x="10" y="230">{note}</text></svg>'
    )


def _beaker(filling: Filling, middle: float, side: float, unit: str) -> str:
    """One beaker: walls a little wider and higher than its filling."""
    left, top = middle - side / 2, FLOOR - side
    wall = max(side * 1.0, 12.0)
    x0, x1, rim = middle - wall / 2 - 2, middle + wall / 2 + 2, FLOOR - wall * 1.22 - 4
    opacity = 0.14 + 0.86 * min(max(filling.shade, 0.0), 1.0)
    down, up = f"M{x0 - 3:.1f} {rim:.1f} L{x0:.1f} {rim + 4:.1f}", f"V{rim + 4:.1f} L{x1 + 3:.1f} {rim:.1f}"
    glass = f"{down} V{FLOOR + 2:.1f} H{x1:.1f} {up}"
    return (
        f'<rect class="sw-filling" x="{left:.2f}" y="{top:.2f}" width="{side:.2f}" height="{side:.2f}" '
        f'fill-opacity="{opacity:.3f}"/><path class="sw-glass" d="{glass}"/>'
        + _text(middle, FLOOR + 20, f"{_digits(filling.amount)} {unit}", "sw-strong")
        + _text(middle, FLOOR + 36, _short(filling.label, 28), "")
        + _text(middle, FLOOR + 51, _short(filling.words, 30), "sw-small")
    )


def serial_svg(plan: SerialPlan, strength_unit: str = "%") -> str:
    """The steps of a serial dilution as a chain of beakers."""
    fillings = []
    for n, step in enumerate(plan.steps, start=1):
        last = n == len(plan.steps)
        fillings.append(
            Filling(
                f"from {_digits(step.take)} {plan.unit} taken",
                step.makes,
                step.strength / plan.steps[0].strength if n > 1 else 1.0,
                f"{'the end' if last else f'solution {n}'}: {_digits(step.strength)} {strength_unit}",
                "→",
            )
        )
    return beakers_svg(fillings, unit=plan.unit, title=" ".join(plan.sentences(strength_unit)))


def _digits(number: float) -> str:
    """Five digits that count, never in powers of ten where it can be helped."""
    return f"{number:.5g}" if number == 0 or number >= 1e-4 else f"{number:.2e}"


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
