"""What was kept, and how what is in hand stands to it: a kept version never changes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from kit.formula.rounding import rounded_percents

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.model import Formula

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
    """Every version that was kept under its name, and last what is in hand where it is none of them."""
    named = {version_label(version): version for version in versions(formula)}
    return named if version_label(formula) in named else {**named, IN_HAND: replace(formula, change_note="")}


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
    own = next((old for old in formula.earlier if old.version == formula.version), None)
    if own is not None and formula.is_complete and _content(rounded_percents(formula)) == _content(own):
        return f"version {formula.version} before rounding"
    return f"version {formula.version}, changed since"


def stands_as(formula: Formula, version: Formula) -> bool:
    """Whether the lines of a formula are those of a version, but for the rounding of what is kept."""
    if formula.phases == version.phases and formula.ratio == version.ratio:
        return True
    return formula.is_complete and rounded_percents(formula).phases == version.phases


def _content(formula: Formula) -> Formula:
    return replace(formula, version=0, changed=False, change_note="", variants=(), earlier=())
