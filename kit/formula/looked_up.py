"""What a formula was compared with, and what nobody looked up: no list of findings is a clean bill without it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.formula.compatibility_rules import trade_rules
from kit.library.limit import Limits
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.limit import Limit

NOT_LOOKED_UP = (
    "Not looked up: purity and traces, nanomaterials, claims, patents, the rules of single countries, and anything "
    "that only a safety assessor or a laboratory can judge."
)


@dataclass(frozen=True, slots=True)
class LookedUp:
    """What was compared.

    Attributes
    ----------
    rules, trade, later
        How many rules of the place are in force on ``day``, how many rules of the trade there are, and how many
        rules of the place are proposed or apply later only.
    place, day
        Whose rules, and for a product that is placed on the market when, as ISO text.
    materials, unknown
        How many materials the formula has, and those of them that nobody knows.
    measured
        The pH that was measured, in words; empty where there is none.
    """

    rules: int
    trade: int
    later: int
    place: str
    day: str
    materials: int
    unknown: tuple[str, ...]
    measured: str = ""

    @property
    def sentence(self) -> str:
        """In one line."""
        place = f" of the {self.place}" if self.place else ""
        on = f" for a product placed on the market on {self.day}" if self.day else ""
        known = f"all {self.materials} materials are known to the kit"
        if self.unknown:
            are = "is" if len(self.unknown) == 1 else "are"
            known = f"{len(self.unknown)} of {self.materials} materials {are} unknown to it: {listed(self.unknown)}"
        measured = f" Judged at {self.measured}." if self.measured else ""
        later = f" ({self.later} more are proposed or apply later)" if self.later else ""
        return (
            f"Compared with {self.rules} rules{place}{on}{later} and {self.trade} rules of the trade; {known}."
            f"{measured} {NOT_LOOKED_UP}"
        )


def looked_up(formula: Formula, materials: Materials, limits: Iterable[Limit]) -> LookedUp:
    """What :func:`kit.formula.checks.check` compares a formula with."""
    rules = Limits.of(limits)
    names = dict.fromkeys(line.material.strip() for _, _, line, _ in formula.each_line() if line.material.strip())
    parts = dict.fromkeys(part for name in names if (known := materials.get(name)) for part in known.composition)
    return LookedUp(
        rules=len(rules),
        trade=len(trade_rules()),
        later=len(rules.later),
        place=rules.place,
        day=rules.day,
        materials=len(names),
        measured=formula.measured_ph.words if formula.measured_ph else "",
        unknown=tuple(name for name in {**names, **parts} if materials.get(name) is None),
    )
