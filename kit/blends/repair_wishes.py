"""What is asked of a repair: what it is to reach, what must stay, and what there is."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from kit.errors import EntryError, KitError
from kit.inputs import Amount, Choice, Number, Several, Tick, asked, refuse_unknown_words
from kit.soundness import refuse_odd_fields

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kit.formula.model import Formula

Aim = Literal["smallest", "cheapest", "lightest", "use up"]

AIMS: dict[Aim, str] = {
    "smallest": "the smallest change that keeps every rule",
    "cheapest": "the cheapest that holds",
    "lightest": "the lightest oil layer that holds",
    "use up": "use up a bottle",
}


#: A name, then the number and perhaps the unit of a mass at the end of the line.
_ROW = re.compile(r"(?P<name>.*\S)[\s;]+(?P<mass>\d[\d.,]*\s*[a-zµ]*)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class OnHand:
    r"""What there is of some materials, one a line: the name, then its mass.

    Examples
    --------
    >>> OnHand().read("Squalane 40 g\nIsoamyl Laurate; 0.25 kg")
    (('Squalane', 40.0), ('Isoamyl Laurate', 250.0))
    """

    kind: str = "lines"

    def read(self, text: str, unit: str = "") -> tuple[tuple[str, float], ...]:  # noqa: ARG002
        """Pairs of name and mass [g]; an EntryError names the first line that cannot be read."""
        found = []
        for number, line in enumerate(filter(None, map(str.strip, text.splitlines())), start=1):
            parts = _ROW.fullmatch(line)
            if parts is None:
                msg = f"Row {number}: {line[:60]!r} is no name with a mass behind it. Type it as: Squalane 40 g."
                raise EntryError(msg)
            try:
                found.append((parts["name"].rstrip(" ;"), Amount("g", 0).read(parts["mass"], "g")))
            except KitError as error:
                msg = f"Row {number}: {error}"
                raise EntryError(msg) from error
        return tuple(found)

    def write(self, value: Iterable[tuple[str, float]]) -> str:
        """A line each."""
        return "\n".join(f"{name} {grams:.10g} g" for name, grams in value)


def _improves(values: Mapping[str, Any]) -> bool:
    return values["aim"] in ("cheapest", "lightest")


def _uses_up(values: Mapping[str, Any]) -> bool:
    return bool(values["aim"] == "use up")


@dataclass(frozen=True, slots=True)
class RepairWishes:
    """What a repair is to reach and to leave alone.

    Attributes
    ----------
    bottle, grams
        For "use up": which line, by :func:`line_names`, and what there is of it. [g]
    reach
        For "cheapest" and "lightest": how far each line may go from the smallest change that keeps every rule; lines
        that fill their layer take what that leaves. [% of its amount]
    locked
        Lines that stay as they are, by :func:`line_names`.
    layers
        Whether each layer keeps its share of the whole.
    remove
        Whether a line may be taken out; without that, what is prohibited is not mended.
    conditional
        Whether limits count that hold only under a condition, where a breach of one is a caution.
    habits
        Whether usual ranges that are kept now stay kept.
    most_cost
        Of the materials of 100 g; None: any. [currency of the price list]
    on_hand
        Of some materials, what there is of each. [g]
    """

    aim: Aim = asked("Find", Choice(AIMS), "smallest")
    bottle: str = asked("Bottle of", Choice({}), "", applies=_uses_up)
    grams: float = asked("In the bottle", Amount("g", 0.001, 1e6), 100.0, unit="g", applies=_uses_up)
    reach: float = asked("Each line moves by", Number(0, 100), 20.0, unit="% of it", applies=_improves, help="At most.")
    locked: tuple[str, ...] = asked("Leave as they are", Several(kind="ticks"), ())
    layers: bool = asked("The layers keep their sizes", Tick(), default=True)
    remove: bool = asked("Lines may be taken out", Tick(), default=False)
    conditional: bool = asked("Limits under a condition count too", Tick(), default=True)
    habits: bool = asked("Usual ranges stay kept", Tick(), default=False)
    most_cost: float | None = asked(
        "Materials cost at most", Number(0, 1e6), None, unit="per 100 g", example="any", help="Of 100 g of product."
    )
    on_hand: tuple[tuple[str, float], ...] = asked(
        "There is only", OnHand(), (), example="Squalane 40 g", help="A material a line, with its mass."
    )

    def __post_init__(self) -> None:
        refuse_odd_fields(self)
        refuse_unknown_words(self)


def line_names(formula: Formula) -> list[str]:
    """A name for every line, phases in order: its material, with its phase and number where another bears the name.

    Examples
    --------
    >>> from kit.demos import demo
    >>> line_names(demo())[0]
    'Aqua'
    """
    lines = list(formula.each_line())
    counts = Counter(line.material.strip().casefold() for _, _, line, _ in lines)
    return [
        name
        if (name := line.material.strip()) and counts[name.casefold()] == 1
        else f"{name or 'a line without a name'} (line {i + 1} of {formula.phases[p].name})"
        for p, i, line, _ in lines
    ]
