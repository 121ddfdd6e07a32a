"""Which product a file was made for, so that no product writes over the papers and lists of another.

Two titles can come to one file name ("a/b/c" and "a:b"). A hidden list in the folder says for whom each file was made;
a file of another product stays, and the new one takes the next free name, which it keeps from then on.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from itertools import count
from typing import TYPE_CHECKING

from kit.errors import StoreError
from kit.file_names import beside, numbered
from kit.saving import rewrite

if TYPE_CHECKING:
    from pathlib import Path

#: The hidden list: the name of a file → the title of what it was made for.
LIST = ".made_for.json"


@dataclass(frozen=True, slots=True)
class OwnPlace:
    """The file of a product, and whose file bears the name that it would have had."""

    path: Path
    others: str = ""

    @property
    def words(self) -> str:
        """Name and place of the file, and why it is not called as usual."""
        why = f" (the file that bears the usual name is of {self.others!r} and stays)" if self.others else ""
        return f"{self.path.name} {beside(self.path)}{why}"


def own_place(owner: str, path: Path, *, take: bool = True) -> OwnPlace:
    """Where a file of a product goes: to this path, unless what lies there is another product's.

    Parameters
    ----------
    owner
        The title of the product, the study or the like.
    take
        Write into the list that it is this product's from now on.
    """
    owners = _read(path.parent)
    theirs = owners.get(path.name, owner) if path.exists() else owner
    place = path
    for number in count(2):
        if not place.exists() or owners.get(place.name, owner) == owner:
            break
        place = numbered(path, number)
    if take and owners.get(place.name) != owner:
        _take(place, owner)
    return OwnPlace(place, theirs if theirs != owner else "")


def _read(folder: Path) -> dict[str, str]:
    try:
        return _owners((folder / LIST).read_bytes())
    except OSError:
        return {}


def _owners(data: bytes | None) -> dict[str, str]:
    try:
        found = json.loads(data or b"{}")
    except (ValueError, RecursionError):
        return {}
    found = found if isinstance(found, dict) else {}
    return {name: owner for name, owner in found.items() if isinstance(owner, str)}


def _take(place: Path, owner: str) -> None:
    """Note an owner; those of files that are gone are left out. Where that cannot be, the file's own save will say."""

    def change(there: bytes | None) -> bytes:
        owners = {name: one for name, one in _owners(there).items() if place.with_name(name).exists()}
        return json.dumps(owners | {place.name: owner}, indent=1, sort_keys=True).encode()

    with suppress(StoreError):
        rewrite(place.with_name(LIST), change, keeps=False)
