"""Kept versions, which never change, and the family of variants; their percents rounded so that they add to 100."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_FLOOR, Decimal
from math import floor, log10
from typing import TYPE_CHECKING

from kit.errors import UnknownNameError
from kit.formula.amounts import TOTAL_TOLERANCE
from kit.formula.editing import settled
from kit.formula.model import Variant, require_complete
from kit.rounding import round_to_total

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.model import Formula


#: An amount with more digits than this was computed; no hand types so many.
MOST_TYPED = 9

#: So many digits of the smallest computed amount are kept.
LEAST_DIGITS = 3


def rounded_percents(formula: Formula, step: float = 0.001) -> Formula:
    """The formula with its computed amounts rounded to ``step``, by largest remainder. [% w/w]

    A ratio that was moved is settled first. What a hand typed stays exactly as typed, and q.s. stays q.s., so that
    a formula nobody has moved comes back unchanged. Where a computed amount is so small that the step would
    swallow it, the step is finer.

    Raises
    ------
    RangeError
        The formula is not complete.
    """
    percents = require_complete(formula, "kept")
    before = [line.entry for *_, line, _ in formula.each_line()]
    formula = settled(formula)
    long = [
        (p, i, percents[p][i])
        for (p, i, line, _), entry in zip(formula.each_line(), before, strict=True)
        if _is_long(line.entry, step, moved=line.entry != entry) and (p, i) != formula.resolution.rest_at
    ]
    if not long:
        return formula
    smallest = min((value for *_, value in long if value > 0), default=1.0)
    step = min(step, 10.0 ** (floor(log10(smallest)) + 1 - LEAST_DIGITS))
    rest = formula.resolution.rest_at
    room = sum(value for *_, value in long) + (percents[rest[0]][rest[1]] if rest else 0.0)
    texts = _rounded_texts([value for *_, value in long], step, room, keep_sum=rest is None)
    entries = {(p, i): text for (p, i, _), text in zip(long, texts, strict=True)}
    if rest is None:
        typed = [percents[p][i] for p, i, _, _ in formula.each_line() if (p, i) not in entries]
        short = Decimal(repr(round(100 - sum(typed) - sum(map(float, texts)), 9)))
        p, i, _ = max(long, key=lambda item: item[2])
        if abs(short) > TOTAL_TOLERANCE / 2:  # typed with more digits than the step: the largest takes the odd bit
            entries[p, i] = _text(Decimal(entries[p, i]) + short)
    return replace(
        formula,
        phases=tuple(
            replace(
                phase,
                lines=tuple(replace(line, entry=entries.get((p, i), line.entry)) for i, line in enumerate(phase.lines)),
            )
            for p, phase in enumerate(formula.phases)
        ),
    )


def _is_long(entry: str, step: float, *, moved: bool) -> bool:
    """Whether an entry is a bare number that was computed or moved, with more digits than the step has."""
    try:
        number = Decimal(entry)
        return (moved or len(number.as_tuple().digits) > MOST_TYPED) and number % Decimal(repr(step)) != 0
    except (ArithmeticError, ValueError):
        return False


def _rounded_texts(values: list[float], step: float, room: float, *, keep_sum: bool) -> list[str]:
    if keep_sum:
        return [_text(Decimal(repr(value))) for value in round_to_total(values, step)]
    d = Decimal(repr(step))
    exact = [Decimal(repr(value)) / d for value in values]
    whole = [count.to_integral_value() for count in exact]
    if sum(whole, Decimal(0)) * d > Decimal(repr(room)):  # too much for what q.s. has to give
        whole = [count.to_integral_value(ROUND_FLOOR) for count in exact]
    return [_text(count * d) for count in whole]


def _text(value: Decimal) -> str:
    return format(value.normalize(), "f")


#: What is changed since a version was kept is called this beside the versions.
IN_HAND = "in hand"


def versions(formula: Formula) -> tuple[Formula, ...]:
    """Every version that was kept, by number; the formula itself among them where it is one.

    Examples
    --------
    >>> from kit.demos import demo
    >>> [version.version for version in versions(demo())]
    [2, 3]
    """
    kept = merged((), formula.earlier)
    taken = any(old.version == formula.version for old in kept)
    is_one = not (formula.changed or formula.ratio or taken) and formula.is_complete
    return merged(kept, (frozen(formula),) if is_one else ())


def named_versions(formula: Formula) -> dict[str, Formula]:
    """Every version that was kept under its name, and last what is in hand where it is none of them.

    What was kept a moment ago and is in hand before its rounding is that version, and no other one.
    """
    named = {version_label(version): version for version in versions(formula)}
    if version_label(formula) in named or _is_before_rounding(formula):
        return named
    return {**named, IN_HAND: replace(formula, change_note="")}


def kept_version(formula: Formula, number: int) -> Formula:
    """The version of a number as it was kept, with those that were kept before it.

    Raises
    ------
    UnknownNameError
        None of that number was kept.
    """
    kept = {version.version: version for version in versions(formula)}
    if number not in kept:
        known = ", ".join(str(one) for one in kept) or "none yet"
        msg = f"No version {number} of {formula.title} was kept. Those that were: {known}."
        raise UnknownNameError(msg)
    return replace(kept[number], earlier=tuple(old for old in formula.earlier if old.version < number))


def frozen(formula: Formula) -> Formula:
    """A formula as a version is kept: with nothing of what was before it or beside it."""
    return replace(formula, changed=False, earlier=(), variants=())


def beside(formula: Formula, kept: Sequence[Formula]) -> Formula:
    """What is in hand beside the versions that were kept: one of them again, or changed since one of them."""
    content = _content(formula)
    alike = [version for version in kept if _content(version) == content]
    own = next((version for version in alike if version.version == formula.version), alike[-1] if alike else None)
    if own is not None:
        now = replace(formula, version=own.version, changed=False, change_note=own.change_note)
    elif any(version.version == formula.version for version in kept):
        now = replace(formula, changed=True, change_note="")
    else:
        now = formula
    now = replace(now, earlier=tuple(version for version in kept if version is not own))
    return formula if now == formula else now


def keep_version(formula: Formula, start: Formula, note: str = "") -> Formula:
    """The next version after those of ``start``: a copy that never changes, and beside it what was kept before."""
    kept = merged(start.earlier, () if start.changed else (frozen(start),))
    number = max([formula.version, start.version, *(old.version for old in kept)]) + 1 if kept else formula.version
    new = replace(frozen(formula), version=number, change_note=note)
    return replace(new, variants=formula.variants, earlier=kept)


def merged(kept: Sequence[Formula], more: Sequence[Formula]) -> tuple[Formula, ...]:
    """Both, each once; a number that two bear goes to the first, and the other takes the next that is free."""
    found = list(kept)
    for version in more:
        numbers = [old.version for old in found]
        if version.version not in numbers:
            found.append(version)
        elif not any(old is version or _content(old) == _content(version) for old in found):
            found.append(replace(version, version=max(numbers) + 1))
    return tuple(sorted(found, key=lambda version: version.version))


def version_label(formula: Formula) -> str:
    """How a version is named, truly: a number alone only where it is what was kept under that number.

    Examples
    --------
    >>> from kit.demos import demo
    >>> version_label(demo())
    'version 3'
    """
    if not formula.changed:
        return f"version {formula.version}"
    since = " before rounding" if _is_before_rounding(formula) else ", changed since"
    return f"version {formula.version}{since}"


def _is_before_rounding(formula: Formula) -> bool:
    """Whether it was kept as the version of its number, rounded, and nothing has changed since."""
    own = next((old for old in formula.earlier if old.version == formula.version), None)
    return own is not None and formula.is_complete and _content(rounded_percents(formula)) == _content(own)


def stands_as(formula: Formula, version: Formula) -> bool:
    """Whether the lines of a formula are those of a version, but for the rounding of what is kept."""
    if formula.phases == version.phases and formula.ratio == version.ratio:
        return True
    return formula.is_complete and rounded_percents(formula).phases == version.phases


def _content(formula: Formula) -> Formula:
    return replace(formula, version=0, changed=False, change_note="", variants=(), earlier=())


def with_variant(formula: Formula, name: str, of: Formula | None = None, note: str = "") -> Formula:
    """Add what ``of`` (or the formula itself) holds to the family, or replace the variant of that name.

    The percents are rounded to 0.001 % so that they add to 100.

    Raises
    ------
    RangeError
        No name, or a formula that is not complete.
    """
    new = Variant(name.strip(), rounded_percents(of or formula).phases, note.strip())
    names = [variant.name.casefold() for variant in formula.variants]
    if new.name.casefold() in names:
        place = names.index(new.name.casefold())
        return replace(formula, variants=(*formula.variants[:place], new, *formula.variants[place + 1 :]))
    return replace(formula, variants=(*formula.variants, new))


def without_variant(formula: Formula, name: str) -> Formula:
    """Take a variant out of the family."""
    gone = _variant(formula, name)
    return replace(formula, variants=tuple(variant for variant in formula.variants if variant is not gone))


def variant_formula(formula: Formula, name: str) -> Formula:
    """A variant as a formula of its own: title with the variant's name, the same stocks, rules and steps.

    A pH that was measured of the formula is not the variant's.

    Raises
    ------
    UnknownNameError
        The family has none of that name.
    """
    variant = _variant(formula, name)
    return replace(
        formula,
        measured_ph=None,
        title=f"{formula.title}, {variant.name}",
        phases=variant.phases,
        ratio=None,
        note=variant.note or formula.note,
        variants=(),
        earlier=(),
    )


def _variant(formula: Formula, name: str) -> Variant:
    for variant in formula.variants:
        if variant.name.casefold() == name.strip().casefold():
            return variant
    names = ", ".join(variant.name for variant in formula.variants) or "none yet"
    msg = f"{formula.title} has no variant {name!r}. Its family: {names}."
    raise UnknownNameError(msg)
