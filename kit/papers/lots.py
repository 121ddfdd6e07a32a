"""The lots of materials as a maker types them: one "material = lot" on a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import EntryError

if TYPE_CHECKING:
    from collections.abc import Iterable


def read_lots(lines: Iterable[str]) -> dict[str, str]:
    """Material → lot.

    Raises
    ------
    EntryError
        A line without a material, a lot or the sign between them.

    Examples
    --------
    >>> read_lots(["Glycerin = G-12", "", "Aqua=W 3"])
    {'Glycerin': 'G-12', 'Aqua': 'W 3'}
    """
    found = {}
    for line in lines:
        if not line.strip():
            continue
        material, sign, lot = (part.strip() for part in line.partition("="))
        if not (sign and material and lot):
            msg = f"{line.strip()!r} does not say the lot of a material. Write it like Glycerin = G-12."
            raise EntryError(msg)
        found[material] = lot
    return found
