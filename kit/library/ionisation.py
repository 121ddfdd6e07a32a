"""The forms of a weak acid or base at a pH: how much has kept its protons, the part that enters oil and acts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence


def checked_ph(ph: float) -> float:
    """A pH as it came, if it lies between 0 and 14.

    Raises
    ------
    RangeError
        It does not.
    """
    if not 0 <= ph <= 14:
        msg = (
            f"A pH of {ph:g} cannot be: it lies between 0 and 14. Type what the meter showed in the water layer, "
            "or leave it empty; ionisation is then not counted."
        )
        raise RangeError(msg)
    return ph


def species_shares(ph: float, pka: Sequence[float]) -> tuple[float, ...]:
    """The shares of the forms of an acid, the one with all its protons first; they add to 1.

    Examples
    --------
    >>> [round(share, 4) for share in species_shares(4.2, (4.2,))]
    [0.5, 0.5]
    """
    powers = [0.0]
    for constant in pka:
        powers.append(powers[-1] + ph - constant)
    top = max(powers)
    parts = [10.0 ** (power - top) for power in powers]
    total = sum(parts)
    return tuple(part / total for part in parts)


def undissociated_fraction(ph: float, pka: float) -> float:
    """The undissociated part of a weak acid with one proton: 1 / (1 + 10^(pH - pKa)). [0 to 1]

    Parameters
    ----------
    ph
        As measured in the water layer, 0 to 14. A pH that was only computed may be off by 0.3. [-]
    pka
        In water; it rises in alcohol: benzoic acid has 4.21 in water, 4.92 in 25 % w/w ethanol [2]_. [-]

    Raises
    ------
    RangeError
        The pH lies outside 0 to 14.

    References
    ----------
    .. [1] K. A. Hasselbalch, Biochemische Zeitschrift 78 (1917) 112-144 (from memory), for one acid and its anion;
       OpenStax, Chemistry 2e, section 14.6.
    .. [2] Open article PMC6624721, table 1.

    Examples
    --------
    >>> round(100 * undissociated_fraction(5.0, 4.20), 2)
    13.68
    """
    return species_shares(checked_ph(ph), (pka,))[0]
