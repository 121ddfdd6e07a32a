"""Library: the bundled ingredients and a maker's own additions, found by any of their names."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from kit.library.table import ingredients
from kit.visible_text import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterator

    from kit.library.ingredient import Ingredient


def all_names(ingredient: Ingredient) -> tuple[str, ...]:
    """INCI name, plain name and other names, in this order."""
    return tuple(name for name in (ingredient.inci, ingredient.plain_name, *ingredient.other_names) if name)


@dataclass(frozen=True)
class Library:
    """Bundled ingredients and a maker's own; an own one stands before a bundled one of the same name.

    Attributes
    ----------
    supplied
        The ingredients that came with the kit.
    own
        Those that the maker added.
    """

    supplied: tuple[Ingredient, ...]
    own: tuple[Ingredient, ...] = ()

    @staticmethod
    @lru_cache(maxsize=1)
    def bundled() -> Library:
        """The library that comes with the kit, nothing added."""
        return Library(ingredients())

    def __iter__(self) -> Iterator[Ingredient]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)

    def __contains__(self, name: str) -> bool:
        return self.get(name) is not None

    def get(self, name: str) -> Ingredient | None:
        """The ingredient of that INCI, plain or other name; None where there is none.

        Capitals, accents, hyphens and extra spaces make no difference.

        Examples
        --------
        >>> Library.bundled().get("apricot kernel OIL").inci
        'Prunus Armeniaca Kernel Oil'
        """
        return self._index.get(plain_letters(name))

    def find(self, text: str, limit: int = 8) -> list[Ingredient]:
        """What the maker may mean while she types: best first, at most ``limit``.

        First the exact name, then names that begin with the text, then those in which each typed word
        begins a word, then those that hold each typed word anywhere.

        Examples
        --------
        >>> [found.inci for found in Library.bundled().find("squa")]
        ['Squalane', 'Hemisqualane']
        """
        typed = plain_letters(text)
        if not typed or limit < 1:
            return []
        ranked = []
        for ingredient, names in self._searchable:
            places = [(rank, len(name)) for name in names if (rank := rank_of(typed, name)) is not None]
            if places:
                ranked.append((*min(places), ingredient.inci.casefold(), ingredient))
        ranked.sort(key=lambda entry: entry[:3])
        return [entry[3] for entry in ranked[:limit]]

    def nearest(self, name: str, limit: int = 3) -> list[str]:
        """INCI names that a mistyped name may have meant, likeliest first.

        Examples
        --------
        >>> Library.bundled().nearest("Glicerine", limit=1)
        ['Glycerin']
        """
        from difflib import get_close_matches

        close = get_close_matches(plain_letters(name), self._index, n=3 * limit, cutoff=0.7)
        return list(dict.fromkeys(self._index[key].inci for key in close))[:limit]

    def with_own(self, ingredient: Ingredient) -> Library:
        """The same library with one more of the maker's own; it replaces an earlier one of the same INCI name."""
        key = plain_letters(ingredient.inci)
        place = next((n for n, each in enumerate(self.own) if plain_letters(each.inci) == key), len(self.own))
        others = tuple(each for each in self.own if plain_letters(each.inci) != key)
        return Library(self.supplied, (*others[:place], replace(ingredient, own=True), *others[place:]))

    def without_own(self, name: str) -> Library:
        """The same library without the maker's own ingredient of this INCI name; a supplied one shows again."""
        key = plain_letters(name)
        return Library(self.supplied, tuple(each for each in self.own if plain_letters(each.inci) != key))

    def names(self) -> list[tuple[str, str]]:
        """INCI and plain name of everything in it, in alphabetical order of the INCI name."""
        return sorted(((each.inci, each.plain_name) for each in self._all), key=lambda pair: pair[0].casefold())

    @cached_property
    def _all(self) -> tuple[Ingredient, ...]:
        replaced = {plain_letters(each.inci) for each in self.own}
        return (*self.own, *(each for each in self.supplied if plain_letters(each.inci) not in replaced))

    @cached_property
    def _searchable(self) -> tuple[tuple[Ingredient, tuple[str, ...]], ...]:
        return tuple((each, tuple(plain_letters(name) for name in all_names(each))) for each in self._all)

    @cached_property
    def _index(self) -> dict[str, Ingredient]:
        found: dict[str, Ingredient] = {}
        for ingredient, names in self._searchable:
            for name in names:
                found.setdefault(name, ingredient)
        return found


def rank_of(typed: str, name: str) -> int | None:
    """How well a name fits what was typed: 0 is best, None not at all."""
    if name == typed:
        return 0
    if name.startswith(typed):
        return 1
    words, parts = name.split(), typed.split()
    if all(any(word.startswith(part) for word in words) for part in parts):
        return 2
    return 3 if all(part in name for part in parts) else None
