"""Search the library: by words, role, phase, charge, figures and limits, each find with the reason why it fits."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

from kit.inputs import Choice, Number, asked
from kit.library.ingredient import PHASE_KINDS
from kit.library.library import all_names, rank_of
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from kit.library.ingredient import Figure, Ingredient
    from kit.library.library import Library
    from kit.library.limit import Limits

#: Figures that can be searched by range: attribute → what a person calls it, with its unit.
FIGURES = {
    "density": "density, g/mL",
    "viscosity": "viscosity, mPa·s",
    "log_p": "log P",
    "molar_mass": "molar mass, g/mol",
}

#: In a list of choices: whatever it is.
ANY = {"": "any"}

#: How alike a mistyped word must be to count, 0 to 1.
LEAST_ALIKE = 0.75


@dataclass(frozen=True, slots=True)
class Wish:
    """What is searched for; what is left empty does not narrow the search.

    Attributes
    ----------
    words
        Part of a name, typed as it comes; a mistyped name is found too.
    role, phase, charge
        As they stand in the library.
    density_from, density_to, …
        Least and most of each of :data:`FIGURES`; None is open on that side.
    usual_at
        A percent that the usual range must cover. [% w/w]
    limited
        True: only what a limit names; False: only what none names.
    own
        True: only the maker's own; False: only what came with the kit.
    """

    words: str = asked("Search", example="part of a name, or a role")
    role: str = asked("Role", Choice(ANY))
    phase: str = asked("Layer", Choice(ANY | {kind: kind for kind in PHASE_KINDS}))
    charge: str = asked("Charge", Choice(ANY))
    density_from: float | None = asked("Density from", Number(), None, unit="g/mL")
    density_to: float | None = asked("Density to", Number(), None, unit="g/mL")
    viscosity_from: float | None = asked("Viscosity from", Number(), None, unit="mPa·s")
    viscosity_to: float | None = asked("Viscosity to", Number(), None, unit="mPa·s")
    log_p_from: float | None = asked("log P from", Number(), None)
    log_p_to: float | None = asked("log P to", Number(), None)
    molar_mass_from: float | None = asked("Molar mass from", Number(), None, unit="g/mol")
    molar_mass_to: float | None = asked("Molar mass to", Number(), None, unit="g/mol")
    usual_at: float | None = asked("Usual range covers", Number(0, 100), None, unit="%")
    limited: bool | None = asked(
        "Limits", Choice({None: "any", True: "named by a limit", False: "named by none"}), None
    )
    own: bool | None = asked("From", Choice({None: "any", True: "my own", False: "came with the kit"}), None)


@dataclass(frozen=True, slots=True)
class Hit:
    """An ingredient that fits, and why."""

    ingredient: Ingredient
    why: tuple[str, ...]


def search(library: Library, wish: Wish, limits: Limits | None = None) -> list[Hit]:
    """Everything that fits a wish: best match of the words first, then single substances, then by name.

    Parameters
    ----------
    limits
        Those that count for ``wish.limited``; without them nothing is limited.

    Examples
    --------
    >>> from kit.library.library import Library
    >>> [hit.ingredient.inci for hit in search(Library.bundled(), Wish("glicerin"))][:1]
    ['Glycerin']
    >>> light = Wish(phase="oil", density_to=0.75, viscosity_to=2)
    >>> [hit.ingredient.inci for hit in search(Library.bundled(), light)]
    ['Dodecane', 'Isododecane', 'Undecane']
    """
    fitting = [(each, why) for each in library if (why := _reasons(each, wish, limits)) is not None]
    found = [(*ranked, each, why) for each, why in fitting if (ranked := _by_words(each, wish.words)) is not None]
    if not found and (typed := plain_letters(wish.words)):
        found = [(*ranked, each, why) for each, why in fitting if (ranked := _mistyped(each, typed)) is not None]
    found.sort(key=lambda entry: (entry[0], _place(entry[2], wish.words)))
    return [Hit(each, (*words, *why)) for _, words, each, why in found]


def _place(ingredient: Ingredient, words: str) -> tuple[bool, str]:
    """The order among equals: by name; where words are looked for, a single substance before a blend."""
    return (bool(words.strip() and ingredient.composition), ingredient.inci.casefold())


def roles_of(library: Iterable[Ingredient]) -> list[str]:
    """Every role that occurs, in alphabetical order."""
    return sorted({role for each in library for role in each.roles})


def charges_of(library: Iterable[Ingredient]) -> list[str]:
    """Every charge that occurs, in alphabetical order."""
    return sorted({each.charge for each in library if each.charge})


def _by_words(ingredient: Ingredient, words: str) -> tuple[tuple[float, float], tuple[str, ...]] | None:
    """Rank and reason, smaller is better; None where the words do not fit."""
    typed = plain_letters(words)
    if not typed:
        return None if words.strip() else ((0.0, 0.0), ())
    ranked = [
        (float(rank), float(len(name)), name)
        for name in all_names(ingredient)
        if (rank := rank_of(typed, plain_letters(name))) is not None
    ]
    if ranked:
        best, length, name = min(ranked)
        return (best, length), (() if name == ingredient.inci else (f"also called {name}",))
    role = next((role for role in ingredient.roles if typed in plain_letters(role)), None)
    return ((4.0, 0.0), (role,)) if role is not None else None


def _mistyped(ingredient: Ingredient, typed: str) -> tuple[tuple[float, float], tuple[str, ...]] | None:
    """Rank and reason where a name is only spelled like the words; None where it is not."""
    # The INCI name of a blend is that of its parts: who mistypes one of them means the part.
    names = [name for name in all_names(ingredient) if not (ingredient.composition and name == ingredient.inci)]
    likenesses = [(_likeness(typed, plain_letters(name)), name) for name in names or [ingredient.inci]]
    alike, name = max(likenesses, key=lambda pair: (pair[0], -len(pair[1])))
    return ((5.0, 1 - alike), (f"spelled like {name}",)) if alike >= LEAST_ALIKE else None


def _likeness(typed: str, name: str) -> float:
    """How alike two names are, or a single typed word and one word of the name: 0 to 1."""
    options = [name] if " " in typed else [name, *name.split()]
    options = [option for option in options if _digits(option) == _digits(typed)]
    matcher = SequenceMatcher(None, "", typed)
    best = 0.0
    for option in options:
        matcher.set_seq1(option)
        if matcher.real_quick_ratio() > best and matcher.quick_ratio() > best:
            best = max(best, matcher.ratio())
    return best


def _digits(name: str) -> str:
    """The digits of a name, which no mistyped letter changes: E171 is not like E110."""
    return "".join(sign for sign in name if sign.isdigit())


def _reasons(ingredient: Ingredient, wish: Wish, limits: Limits | None) -> list[str] | None:
    """Why it fits everything but the words; None where it does not."""
    why = []
    for holds, reason in (*_kinds(ingredient, wish), *_ranges(ingredient, wish), *_standing(ingredient, wish, limits)):
        if not holds:
            return None
        why.append(reason)
    return why


def _kinds(ingredient: Ingredient, wish: Wish) -> Iterator[tuple[bool, str]]:
    if wish.role:
        yield wish.role in ingredient.roles, wish.role
    if wish.phase:
        yield wish.phase == ingredient.phase, f"{wish.phase} phase"
    if wish.charge:
        yield wish.charge == ingredient.charge, wish.charge


def _ranges(ingredient: Ingredient, wish: Wish) -> Iterator[tuple[bool, str]]:
    for name, words in FIGURES.items():
        low, high = getattr(wish, f"{name}_from"), getattr(wish, f"{name}_to")
        if low is None and high is None:
            continue
        figure: Figure | None = getattr(ingredient, name)
        if figure is None:
            yield False, ""
        else:
            inside = (low is None or figure.value >= low) and (high is None or figure.value <= high)
            yield inside, f"{words} {figure.value:g}"
    if wish.usual_at is not None:
        yield _covers(ingredient, wish.usual_at), f"usual range {usual_range(ingredient)} %"


def _standing(ingredient: Ingredient, wish: Wish, limits: Limits | None) -> Iterator[tuple[bool, str]]:
    if wish.limited is not None:
        count = len(limits.concerning(substances_of(ingredient))) if limits is not None else 0
        words = f"{count} limit{'s' if count != 1 else ''}" if count else "no limit known"
        yield wish.limited == (count > 0), words
    if wish.own is not None:
        yield wish.own == ingredient.own, "your own" if ingredient.own else "came with the kit"


def _covers(ingredient: Ingredient, percent: float) -> bool:
    low, high = ingredient.usual_low, ingredient.usual_high
    if low is None and high is None:
        return False
    return (low is None or percent >= low.value) and (high is None or percent <= high.value)


def usual_range(ingredient: Ingredient) -> str:
    """Its usual range in words: "0.2 to 0.5", "at most 0.5"; empty where there is none. [% w/w]"""
    low, high = ingredient.usual_low, ingredient.usual_high
    if low is not None and high is not None:
        return f"{low.value:g} to {high.value:g}"
    if high is not None:
        return f"at most {high.value:g}"
    return f"at least {low.value:g}" if low is not None else ""


def substances_of(ingredient: Ingredient) -> tuple[str, ...]:
    """Its own name and those of the parts of a blend."""
    return (ingredient.inci, *ingredient.composition)
