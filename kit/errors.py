"""Every message a maker is meant to read when something cannot be done.

A panel catches :class:`KitError` and nothing wider: anything else is a fault of the kit, not of the maker,
and should be seen as one. A message is one or two plain sentences: what came in, what was expected, what to
type or do instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class KitError(ValueError):
    """The base of every error whose words are written for the person at the bench."""

    def _render_traceback_(self) -> list[str]:
        """What a notebook shows in place of a traceback: the words alone."""
        return [str(self)]


class UnitError(KitError):
    """A quantity without a unit, or with a unit of the wrong kind."""


class PrefixError(UnitError):
    """A unit with a prefix that no bench sees, such as mega: a slip of the shift key."""


class RangeError(KitError):
    """A number outside the range in which it means anything, or in which its source holds."""


class EntryError(KitError):
    """An entry that cannot be read as what was asked for."""


class AmbiguousError(EntryError):
    """A number that can be read two ways, both of which its field allows."""


class UnknownNameError(KitError):
    """A name that is neither in the library nor among the formula's own materials."""


class CompositionError(KitError):
    """A blend or stock whose parts do not make sense: not 100 %, or part of itself."""


class StoreError(KitError):
    """A log or file on disk that cannot be used as it is."""


class ChangedOnDiskError(StoreError):
    """A file that somebody else wrote since it was opened here, and that a save would pass over."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a file: where it is and what to do about it."""

    where: str
    problem: str

    def __str__(self) -> str:
        return f"{self.where}: {self.problem}"


class FileFaultsError(KitError):
    """A file that cannot be read, with every fault in it rather than the first."""

    def __init__(self, name: str, faults: Iterable[Fault]) -> None:
        self.name = name
        self.faults = tuple(faults)
        count = len(self.faults)
        head = f"{name} has {count} fault{'s' if count != 1 else ''}; nothing was changed."
        super().__init__("\n".join([head, *(f"- {fault}" for fault in self.faults)]))
