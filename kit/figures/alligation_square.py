"""The alligation square as SVG: strengths at the left, the wanted one in the middle, parts at the right."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kit.bench.alligation import Alligation


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
    return f'<text class="{kind}" x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(cut)}</text>'
