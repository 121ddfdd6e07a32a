"""What changed from one version of a formula to another: its lines, what stands about it, and its findings."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Literal

from kit.formula.model import HOLDS
from kit.formula.phase_names import renamed_phases
from kit.inputs import inputs_of
from kit.library.description import Description
from kit.library.ingredient import Stock

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.findings import Finding
    from kit.formula.model import Formula, Line, MeasuredDensity, PhReading, Rule
    from kit.inputs import Input
    from kit.library.ingredient import Material


ChangeKind = Literal["added", "removed", "more", "less", "moved", "hold", "note"]

#: A sign beside each word, so that nothing hangs on colour.
SIGNS: dict[ChangeKind, str] = {
    "added": "+",
    "removed": "−",
    "more": "▲",
    "less": "▼",
    "moved": "→",
    "hold": "◇",
    "note": "✎",
}

#: The word for the same change seen the other way round.
BACKWARDS: dict[ChangeKind, ChangeKind] = {"added": "removed", "removed": "added", "more": "less", "less": "more"}

UNREAD, EMPTY = "an amount that cannot be read", "no amount"

#: A percent that moved by less than this has not moved. [% w/w]
NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class Standing:
    """Where and how a line stands in one version; `percent` is None where the amount cannot be read. [% w/w]

    ``place`` is its phase and line, counted from 0.
    """

    place: tuple[int, int]
    phase: str
    line: Line
    percent: float | None


@dataclass(frozen=True, slots=True)
class LineChange:
    """One material before and after; None where it does not occur."""

    material: str
    before: Standing | None
    after: Standing | None

    @property
    def kinds(self) -> tuple[ChangeKind, ...]:
        """What happened to it; empty where nothing did."""
        before, after = self.before, self.after
        if before is None or after is None:
            return ("added",) if before is None else ("removed",)
        found: list[ChangeKind] = []
        if (before.percent is None) != (after.percent is None):
            found.append("more" if before.percent is None else "less")
        elif abs(self.change) > NOTHING:
            found.append("more" if self.change > 0 else "less")
        if before.phase != after.phase:
            found.append("moved")
        if before.line.hold != after.line.hold:
            found.append("hold")
        if before.line.note.strip() != after.line.note.strip() or before.line.more != after.line.more:
            found.append("note")
        return tuple(found)

    @property
    def change(self) -> float:
        """After minus before, an absent line counting as 0. [% w/w]"""
        return _percent(self.after) - _percent(self.before)

    @property
    def words(self) -> str:
        """What happened to it, as a phrase; empty where nothing did."""
        return "; ".join(self._phrase(kind) for kind in self.kinds)

    def _phrase(self, kind: ChangeKind) -> str:
        sign, before, after = SIGNS[kind], self.before, self.after
        if before is None or after is None:
            there = after or before
            assert there is not None
            return f"{sign} {kind}: {_shown(there.percent)} in {there.phase}"
        if kind in ("more", "less"):
            was, now = (
                EMPTY if one.percent is None and not one.line.entry.strip() else shown
                for one, shown in zip((before, after), _shown_apart(before.percent, after.percent), strict=True)
            )
            return f"{sign} {kind}: {was} to {now}"
        if kind == "moved":
            return f"{sign} moved from {before.phase} to {after.phase}"
        if kind == "hold":
            return f"{sign} {HOLDS[before.line.hold]}, now {HOLDS[after.line.hold]}"
        pairs = [("note", before.line.note, after.line.note)]
        old, new = dict(before.line.more), dict(after.line.more)
        pairs += [(heading, old.get(heading, ""), new.get(heading, "")) for heading in dict.fromkeys([*old, *new])]
        told = [
            f"{name}: was {quoted(was)}, now {quoted(now)}" for name, was, now in pairs if was.strip() != now.strip()
        ]
        return f"{sign} {', '.join(told) or 'the order of its own columns'}"


@dataclass(frozen=True, slots=True)
class Differences:
    """All that changed from one version to another.

    Attributes
    ----------
    lines
        Every line of either version, changed or not, in the order of the later one.
    about
        What else changed, as sentences: title, kind, steps, stocks, rules, notes.
    """

    lines: tuple[LineChange, ...]
    about: tuple[str, ...]

    @property
    def changed(self) -> tuple[LineChange, ...]:
        """The lines to which something happened."""
        return tuple(line for line in self.lines if line.kinds)

    def __bool__(self) -> bool:
        return bool(self.changed or self.about)


def differences(before: Formula, after: Formula) -> Differences:
    """What changed from ``before`` to ``after``.

    A line is known again by its material in the same phase, one with the same amount first, then by its material in
    another; a phase under another name is the same one where its kind and content are.

    Examples
    --------
    >>> from kit.demos import demo
    >>> shake = demo()
    >>> [(line.material, line.words) for line in differences(shake.earlier[-1], shake).changed]
    [('Aqua', '▲ more: 72.4 % to 74.4 %'), ('Glycerin', '▼ less: 6 % to 4 %')]
    """
    called = renamed_phases(before, after)
    left, right = standings(before, called), standings(after)
    partner = _partners(left, right)
    lines = [LineChange(new.line.material.strip(), _at(left, partner.get(n)), new) for n, new in enumerate(right)]
    gone = [old for n, old in enumerate(left) if n not in partner.values()]
    lines += [LineChange(old.line.material.strip(), old, None) for old in gone]
    renamed = [f"The phase {old} is now called {new}." for old, new in called.items()]
    return Differences(tuple(lines), (*renamed, *about_changes(before, after)))


def standings(formula: Formula, called: Mapping[str, str] | None = None) -> list[Standing]:
    """Every line that is not blank; ``called`` gives phases the name that they have in a later version."""
    names = [(called or {}).get(phase.name, phase.name) for phase in formula.phases]
    return [Standing((p, i), names[p], line, x) for p, i, line, x in formula.each_line() if not line.is_blank]


def _partners(left: Sequence[Standing], right: Sequence[Standing]) -> dict[int, int]:
    """For each line after, the line before that it comes from: number after → number before."""
    partner: dict[int, int] = {}
    free = dict(enumerate(left))
    for alike in (_unmoved, _in_same_phase, _same_material):
        for n, new in enumerate(right):
            if n not in partner:
                match = next((m for m, old in free.items() if alike(old, new)), None)
                if match is not None:
                    partner[n] = match
                    del free[match]
    return partner


def _same_material(old: Standing, new: Standing) -> bool:
    return old.line.material.strip().casefold() == new.line.material.strip().casefold()


def _in_same_phase(old: Standing, new: Standing) -> bool:
    return old.phase == new.phase and _same_material(old, new)


def _unmoved(old: Standing, new: Standing) -> bool:
    return old.percent == new.percent and _in_same_phase(old, new)


def _at(standings: Sequence[Standing], number: int | None) -> Standing | None:
    return None if number is None else standings[number]


def _percent(standing: Standing | None) -> float:
    return (standing.percent if standing is not None else None) or 0.0


def _shown(percent: float | None) -> str:
    return _shown_apart(percent, None)[0]


def _shown_apart(one: float | None, other: float | None) -> tuple[str, str]:
    """Two percents with three decimals, or with as many as it takes to tell them apart."""
    places = 3
    while one is not None and other is not None and places < 9 and round(one, places) == round(other, places):
        places += 1
    texts = [UNREAD if x is None else f"{round(x, places):.12g} %" for x in (one, other)]
    return texts[0], texts[1]


def quoted(text: str) -> str:
    """A text in quotation marks, or "none"."""
    return f"“{text.strip()}”" if text.strip() else "none"


def about_changes(before: Formula, after: Formula) -> list[str]:
    """What changed besides the lines, one sentence each."""
    found = []
    described = [
        (f"description, {one.words.lower()},", _described(before, one), _described(after, one))
        for one in inputs_of(Description)
    ]
    facts = [("title", before.title, after.title), *described, ("note", before.note, after.note)]
    for words, old, new in facts:
        if old.strip() != new.strip():
            found.append(f"The {words} was {quoted(old)}, now {quoted(new)}.")
    return [
        *found,
        *_materials(before, after),
        *_rules(before, after),
        *_measured(before, after),
        *_steps(before.steps, after.steps),
    ]


def _described(formula: Formula, one: Input) -> str:
    return one.write(getattr(formula.description, one.name)).replace("\n", ", ")


def _materials(before: Formula, after: Formula) -> list[str]:
    old, new = ({material.name: material for material in formula.materials} for formula in (before, after))
    found = [f"{_what(new[name])} {name} was added." for name in new if name not in old]
    found += [f"{_what(old[name])} {name} was taken out." for name in old if name not in new]
    for name in new:
        if name in old and old[name] != new[name]:
            parts = _shares(old[name], new[name])
            found.append(f"{_what(new[name])} {name} is another one{f': {parts}' if parts else ''}.")
    return found


def _what(material: Material) -> str:
    return "The stock" if isinstance(material, Stock) else "The own ingredient"


def _shares(old: Material, new: Material) -> str:
    names = dict.fromkeys([*old.composition, *new.composition])
    moved = [(name, old.composition.get(name, 0.0), new.composition.get(name, 0.0)) for name in names]
    return ", ".join(f"{name} {was:.6g} % to {now:.6g} %" for name, was, now in moved if abs(was - now) > NOTHING)


def _rules(before: Formula, after: Formula) -> list[str]:
    gone = [f"Your rule was taken out: {_rule(rule)}." for rule in before.rules if rule not in after.rules]
    return [*gone, *(f"Your rule is new: {_rule(rule)}." for rule in after.rules if rule not in before.rules)]


def _measured(before: Formula, after: Formula) -> list[str]:
    old, new = before.densities, after.densities
    gone = [f"A measured density was taken out: {_density(each)}." for each in old if each not in new]
    new_ones = [f"A measured density is new: {_density(each)}." for each in new if each not in old]
    was, now = _ph(before.measured_ph), _ph(after.measured_ph)
    of = "the product" if after.description.is_one_piece else "the water layer"
    return [*gone, *new_ones, *([f"The pH of {of} was {was}, now {now}."] if was != now else [])]


def _ph(measured: PhReading | None) -> str:
    if measured is None:
        return "not measured"
    return f"{measured.value:.10g} ({measured.day})" if measured.day else f"{measured.value:.10g}"


def _density(measured: MeasuredDensity) -> str:
    return f"{measured.layer} layer {measured.value:g} g/mL at {measured.celsius:g} °C"


def _rule(rule: Rule) -> str:
    pairs = (("least", rule.low), ("most", rule.high))
    bounds = " and ".join(f"at {word} {bound:g} %" for word, bound in pairs if bound is not None)
    where = "whole" if rule.of == "whole" else f"{rule.of} layer"
    return f"{rule.material} {bounds} of the {where}"


def _steps(before: Sequence[object], after: Sequence[object]) -> list[str]:
    found = []
    for kind, a, b, c, d in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind == "equal":
            continue
        found += [f"Step {n + 1} was taken out: {quoted(str(before[n]))}." for n in range(a, b)]
        found += [f"Step {n + 1} is new: {quoted(str(after[n]))}." for n in range(c, d)]
    return found


#: A number that belongs to a name (Polysorbate 20, CI 42090, PEG-40), or one that was computed or measured.
_NUMBER = re.compile(r"(?P<name>\b[A-Z]\w*[ -]\d+\b(?!\s?%|[.,]\d))|[-+−]?\d[\d.,]*")


@dataclass(frozen=True, slots=True)
class FindingChanges:
    """Findings that came, that went, and that stay, perhaps with other numbers."""

    gained: tuple[Finding, ...]
    lost: tuple[Finding, ...]
    stayed: tuple[Finding, ...]


def finding_changes(before: Iterable[Finding], after: Iterable[Finding]) -> FindingChanges:
    """Which findings a change brought and took away.

    Two findings are the same where their severity, source and words agree, numbers left aside: "0.4 % is below" and
    "0.3 % is below" are one finding that stays. A number in a name counts: Polysorbate 20 is not Polysorbate 80.
    """
    old, new = list(before), list(after)
    olds, news = (Counter(_identity(finding) for finding in findings) for findings in (old, new))
    gained = _beyond(new, olds)
    lost = _beyond(old, news)
    stayed = [finding for finding in new if not any(finding is other for other in gained)]
    return FindingChanges(tuple(gained), tuple(lost), tuple(stayed))


def _identity(finding: Finding) -> tuple[str, str, str]:
    words = _NUMBER.sub(lambda found: found["name"] or "#", finding.sentence)
    return finding.severity, finding.source, words


def _beyond(findings: Iterable[Finding], others: Counter[tuple[str, str, str]]) -> list[Finding]:
    """Those that the others do not have, or not as often."""
    left = Counter(others)
    found = []
    for finding in findings:
        key = _identity(finding)
        if left[key] > 0:
            left[key] -= 1
        else:
            found.append(finding)
    return found
