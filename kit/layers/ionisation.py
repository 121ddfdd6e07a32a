"""How much of a weak acid is undissociated at a pH: the part that enters oil, and the part thought to act."""

from __future__ import annotations

import math

from kit.errors import RangeError


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
    .. [1] K. A. Hasselbalch, Biochemische Zeitschrift 78 (1917) 112-144 (from memory), for one acid and its anion.
    .. [2] Open article PMC6624721, table 1.

    Examples
    --------
    >>> round(100 * undissociated_fraction(5.0, 4.20), 2)
    13.68
    """
    return 1.0 / (1.0 + math.pow(10.0, checked_ph(ph) - pka))
