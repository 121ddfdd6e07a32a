"""The sources of the kit's figures, by the short keys that the tables cite."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, cast

from kit.errors import UnknownNameError
from kit.resources import load_table

SourceKind = Literal["published", "standard", "law", "recomputed", "common practice", "from memory"]
SOURCE_KINDS: tuple[SourceKind, ...] = (
    "published",
    "standard",
    "law",
    "recomputed",
    "common practice",
    "from memory",
)

COMMON_PRACTICE = "common-practice"
FROM_MEMORY = "from-memory"

#: Marks a figure that the maker gave herself; what follows a colon is her own note on where it comes from.
OWN = "own"


@dataclass(frozen=True, slots=True)
class Source:
    """Where figures come from.

    Attributes
    ----------
    key
        The word by which tables cite it.
    kind
        What it is worth: published, standard, law, recomputed, common practice or from memory.
    citation
        What a person reads under a table or picture.
    note
        How it was read, or how far it goes.
    """

    key: str
    kind: SourceKind
    citation: str
    note: str = ""


@lru_cache(maxsize=1)
def sources() -> dict[str, Source]:
    """Every source of the bundled tables, by its key."""
    return {
        row["key"]: Source(row["key"], cast("SourceKind", row["kind"]), row["citation"], row["note"])
        for row in load_table("sources").rows
    }


def own_source(note: str) -> str:
    """The key of a figure that the maker gave herself, with her note on where it comes from.

    Examples
    --------
    >>> own_source("data sheet of March")
    'own: data sheet of March'
    """
    return f"{OWN}: {note.strip()}" if note.strip() else OWN


def source_text(key: str) -> str:
    """The citation that a person reads for a source key.

    Raises
    ------
    UnknownNameError
        The key is neither in ``data/sources`` nor the mark of a maker's own figure.

    Examples
    --------
    >>> source_text("from-memory")
    'From memory: a handbook or data-sheet value that was not looked up for this table.'
    >>> source_text("own: data sheet of March")
    "The maker's own figure: data sheet of March"
    """
    mark, _, note = key.partition(":")
    if mark.strip() == OWN:
        return f"The maker's own figure: {note.strip()}" if note.strip() else "The maker's own figure"
    found = sources().get(key)
    if found is None:
        msg = f"There is no source {key!r}. The sources are listed in data/sources/table.csv."
        raise UnknownNameError(msg)
    return found.citation


def source_behind(text: str) -> Source | None:
    """The source of a text that a finding carries: a citation, with an entry and a date behind it, or a habit.

    Examples
    --------
    >>> source_behind("common practice").key
    'common-practice'
    >>> source_behind("the maker's own rule") is None
    True
    """
    by_key = sources().get(text.strip().replace(" ", "-"))
    if by_key is not None:
        return by_key
    fitting = [source for source in sources().values() if text.startswith(source.citation.rstrip("."))]
    return max(fitting, key=lambda source: len(source.citation), default=None)


def is_firm(key: str) -> bool:
    """Whether a source is more than habit or memory: only such figures may stand as a law or a check value.

    Examples
    --------
    >>> is_firm("eu-annex-v"), is_firm("common-practice")
    (True, False)
    """
    found = sources().get(key)
    return found is not None and found.kind not in ("common practice", "from memory")
