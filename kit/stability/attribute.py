"""Attribute: one thing to look at or measure at each pull, with its limits and how to measure it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from kit.errors import RangeError
from kit.stability.names import check_name

Kind = Literal["number", "grade", "yes/no", "text", "colour"]
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing to look at or measure at each pull.

    Attributes
    ----------
    key, label
        The short name in the log, and what the screen shows.
    kind
        "number" (with ``unit``), "grade" (a whole number on ``scale``), "yes/no", "text" or "colour" (typed as
        L* a* b*).
    how
        How to measure it, in one sentence.
    lower, upper
        Acceptance limits. [unit of the attribute]
    change, change_percent
        Allowed change from the start, up or down; of a colour, the allowed CIEDE2000 difference from the start.
        [unit of the attribute; % of the start]
    least, most
        What is possible at all; beyond it the entry is taken for a slip of the pen. [unit of the attribute]
    whole
        True for a count.
    expected
        Of a yes/no attribute: the answer that is within the limit, "yes" or "no".
    optional
        True where a pull counts as done without it.
    scale
        Of a grade: the words for 0, 1, 2 ...
    source
        Where the limits come from.
    """

    key: str
    label: str
    kind: Kind
    unit: str = ""
    how: str = ""
    lower: float | None = None
    upper: float | None = None
    change: float | None = None
    change_percent: float | None = None
    least: float | None = None
    most: float | None = None
    whole: bool = False
    expected: str = ""
    optional: bool = False
    scale: tuple[str, ...] = ()
    source: str = ""

    def __post_init__(self) -> None:
        check_name(self.key, "An attribute needs a key, such as 'ph'.")
        check_name(self.label, f"{self.key}: an attribute needs a label, such as 'pH'.")
        if self.kind not in KINDS:
            msg = f"{self.label}: {self.kind!r} is not a kind of attribute. Choose one of {', '.join(KINDS)}."
            raise RangeError(msg)
        if (self.kind == "grade") != bool(self.scale):
            msg = f"{self.label}: a grade, and only a grade, needs a scale: the words for 0, 1, 2 and so on."
            raise RangeError(msg)
        if self.expected not in ("", "yes", "no"):
            msg = f"{self.label}: the expected answer is {self.expected!r}. Write yes or no, or leave it empty."
            raise RangeError(msg)
        if self.lower is not None and self.upper is not None and not self.lower < self.upper:
            msg = f"{self.label}: its lower limit {self.lower:g} must be below its upper limit {self.upper:g}."
            raise RangeError(msg)
        no_limits = (self.lower, self.upper, self.change_percent, self.least, self.most) == (None,) * 5
        if self.kind == "colour" and not no_limits:
            msg = f"{self.label}: a colour has one limit, its allowed change from the start. Leave the others empty."
            raise RangeError(msg)
        for allowed in (self.change, self.change_percent):
            if allowed is not None and not allowed > 0:
                msg = f"{self.label}: the allowed change from the start must be above 0, got {allowed:g}."
                raise RangeError(msg)

    @property
    def numeric(self) -> bool:
        """True where a reading has a number: numbers and grades."""
        return self.kind in ("number", "grade")

    @property
    def title(self) -> str:
        """The label with its unit: "Lower layer [mm]", "Appearance [grade 0-4]", "Colour [L* a* b*]"."""
        if self.kind == "colour":
            return f"{self.label} [L* a* b*]"
        if self.kind == "grade":
            return f"{self.label} [grade 0-{len(self.scale) - 1}]"
        return f"{self.label} [{self.unit}]" if self.unit else self.label
