"""Numbers as they are written: rounded so that they still add up, and with as many digits as they need."""

from __future__ import annotations

import re
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from math import floor, log10
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


_LIKE_THOUSANDS = re.compile(r"-?[1-9]\d{0,2}\.\d{3}")


def decimal_places(step: float) -> int:
    """How many decimals a balance of this step shows: 2 for 0.01 g, and 2 for 0.25 g too.

    Examples
    --------
    >>> decimal_places(0.01), decimal_places(0.25), decimal_places(1.0)
    (2, 2, 0)
    """
    return max(0, -int(Decimal(repr(step)).normalize().as_tuple().exponent))


def all_digits(value: float) -> str:
    """A number with every digit it has: what is read from it is the same number again.

    A mark with three digits after it could stand for thousands; there a nought follows.

    Examples
    --------
    >>> all_digits(100.0), all_digits(0.1 + 0.2), all_digits(12.3456789012), all_digits(2.125)
    ('100', '0.30000000000000004', '12.3456789012', '2.1250')
    """
    return unmistakable(repr(float(value)).removesuffix(".0"))


def unmistakable(text: str) -> str:
    """A number written with a decimal point, so that nobody takes the point for a mark of thousands.

    Examples
    --------
    >>> unmistakable("1.250"), unmistakable("1.25"), unmistakable("0.125")
    ('1.2500', '1.25', '0.125')
    """
    return f"{text}0" if _LIKE_THOUSANDS.fullmatch(text) else text


def round_to_step(value: float, step: float) -> float:
    """The nearest multiple of ``step``; halves go to the even multiple (ISO 80000-1, annex B, rule A).

    Examples
    --------
    >>> round_to_step(2.675, 0.01), round_to_step(12.345001, 0.01)
    (2.68, 12.35)
    """
    d = Decimal(repr(step))
    return float((Decimal(repr(value)) / d).to_integral_value(ROUND_HALF_EVEN) * d)


def round_to_total(values: Sequence[float], step: float) -> list[float]:
    """Round each value to ``step`` so that the rounded values add to their rounded sum.

    Largest remainder: every value is first rounded down; the steps still missing go to the values that lost
    most, and among equals to the larger value, then to the earlier one.

    Parameters
    ----------
    values
        Zero or more each. [any unit, the same as ``step``]

    References
    ----------
    .. [1] A. Hamilton's method of apportionment (1792), as in M. Balinski and H. P. Young, "Fair
       Representation", 2nd ed. (2001).

    Examples
    --------
    >>> round_to_total([33.333, 33.333, 33.334], 0.1)
    [33.3, 33.3, 33.4]
    """
    d = Decimal(repr(step))
    exact = [Decimal(repr(value)) / d for value in values]
    whole = [int(value.to_integral_value(ROUND_FLOOR)) for value in exact]
    missing = int(sum(exact, Decimal(0)).to_integral_value(ROUND_HALF_EVEN)) - sum(whole)
    order = sorted(range(len(values)), key=lambda n: (whole[n] - exact[n], -exact[n], n))
    for n in order[:missing]:
        whole[n] += 1
    return [float(count * d) for count in whole]


def round_with_rest(values: Sequence[float], step: float) -> list[float]:
    """Round each value to its nearest step; the largest takes what they then lack of their rounded sum.

    So no value but the largest is off by more than half a step, and on the largest the rest counts least. Where it
    would not bear it, as in a sum of few steps, the steps are shared out by :func:`round_to_total`.

    Parameters
    ----------
    values
        Zero or more each. [any unit, the same as ``step``]

    Examples
    --------
    >>> round_with_rest([50.08, 23.97, 15.99, 9.96], 0.1), round_to_total([50.08, 23.97, 15.99, 9.96], 0.1)
    ([50.0, 24.0, 16.0, 10.0], [50.1, 24.0, 16.0, 9.9])
    """
    d = Decimal(repr(step))
    exact = [Decimal(repr(value)) / d for value in values]
    counts = [int(value.to_integral_value(ROUND_HALF_EVEN)) for value in exact]
    rest = int(sum(exact, Decimal(0)).to_integral_value(ROUND_HALF_EVEN)) - sum(counts)
    if rest:
        largest = max(range(len(values)), key=lambda n: (values[n], -n))
        counts[largest] += rest
        if counts[largest] < 0 or abs(rest) > counts[largest] / 2:
            return round_to_total(values, step)
    return [float(count * d) for count in counts]


def percent_text(percent: float | None) -> str:
    """A percent for reading: two decimals, more where it is small.

    Examples
    --------
    >>> percent_text(15.0), percent_text(0.0025), percent_text(None)
    ('15.00', '0.0025', '')
    """
    if percent is None:
        return ""
    return f"{percent:.2f}" if abs(percent) >= 0.1 or percent == 0 else f"{percent:.3g}"


def percent_on_paper(value: float) -> str:
    """Three decimals, and three digits that count where it is small: 4.000, 0.0015. [% w/w]

    Examples
    --------
    >>> percent_on_paper(4), percent_on_paper(0.0015)
    ('4.000', '0.00150')
    """
    return f"{value:.{3 if value >= 0.1 or value <= 0 else 2 - floor(log10(value))}f}"


def four_digits(percent: float) -> str:
    """A percent for reading: four digits that count, never in powers of ten.

    Examples
    --------
    >>> four_digits(83.45678), four_digits(3.2), four_digits(0.00105), four_digits(0.1 + 0.2)
    ('83.46', '3.2', '0.00105', '0.3')
    """
    return format(Decimal(f"{percent:.4g}").normalize(), "f")


def one_two_five_down(value: float) -> float:
    """The next of 1, 2, 5, 10, 20 … that is no more; of a value above 0.

    Examples
    --------
    >>> one_two_five_down(37.0), one_two_five_down(0.024), one_two_five_down(5.0)
    (20.0, 0.02, 5.0)
    """
    decade = 10.0 ** floor(log10(value))
    digit = next(digit for digit in (5, 2, 1) if digit * decade <= value * (1 + 1e-9))
    return float(f"{digit * decade:.1g}")


def in_column(values: Iterable[float | None], digits: int = 2, most: int = 6, sign: str = "") -> list[str]:
    """Numbers that stand under one another, all with one number of decimals; None is an empty text.

    The smallest of them shows so many digits that count; what would vanish for want of decimals is written apart.

    Parameters
    ----------
    most
        No number gets more decimals.
    sign
        "+" shows the sign of each.

    Examples
    --------
    >>> in_column([33.9837, 33.98, 34.0]), in_column([74.4, 0.05, None]), in_column([0.0, 1e-9])
    (['34.0', '34.0', '34.0'], ['74.400', '0.050', ''], ['0.000000', '1e-09'])
    """
    numbers = list(values)
    sizes = [abs(value) for value in numbers if value]
    # a number that is rounded up to the next decade still counts as one below it
    places = min(most, max(0, digits - 1 - floor(log10(min(sizes))))) if sizes else digits
    places = max(places, 1)
    small = 0.5 * 10.0**-places

    def text(value: float) -> str:
        return f"{value:{sign}.2g}" if 0 < abs(value) < small else f"{value:{sign}.{places}f}"

    return ["" if value is None else text(value) for value in numbers]
