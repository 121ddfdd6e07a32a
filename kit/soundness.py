"""Numbers that no published formula was made for: refused at the door of a calculation, with a sentence.

A formula of plain floats takes infinity, nan and 1e300 as they come and gives nan, infinity or an OverflowError back.
:func:`sound` refuses what is no finite number on the way in, and says so where the answer is too large or too small
to be computed.
"""

from __future__ import annotations

import inspect
from dataclasses import fields, is_dataclass
from functools import wraps
from math import inf, isfinite
from typing import TYPE_CHECKING, ParamSpec, TypeVar

from kit.errors import KitError, RangeError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

P = ParamSpec("P")
R = TypeVar("R")


def sound(
    *, above: tuple[str, ...] = (), least: tuple[str, ...] = (), unbounded: bool = False
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """A decorator for a calculation on plain numbers: finite in, finite out, or a :class:`RangeError`.

    Parameters
    ----------
    above, least
        The arguments that must be above 0, and those that must be 0 or more; None is passed over.
    unbounded
        Whether the answer may be infinite, as the end of an interval is that nothing bounds.

    Examples
    --------
    >>> @sound(above=("volume",))
    ... def density(mass: float, volume: float) -> float:
    ...     return mass / volume
    >>> density(9.0, 10.0)
    0.9
    >>> density(9.0, -10.0)
    Traceback (most recent call last):
        ...
    kit.errors.RangeError: volume must be above 0, got -10.
    """

    def decorate(function: Callable[P, R]) -> Callable[P, R]:
        names = tuple(inspect.signature(function).parameters)
        bounds = dict.fromkeys(least, 0.0) | dict.fromkeys(above, 5e-324)

        @wraps(function)
        def checked(*args: P.args, **kwargs: P.kwargs) -> R:
            trouble: Exception | None = None
            try:
                result = function(*args, **kwargs)
            except KitError:  # the words of the calculation itself are the better ones
                raise
            except (ArithmeticError, ValueError, TypeError) as error:  # too large, the log of no number, a root below 0
                trouble = error
            for name, value in (*zip(names, args, strict=False), *kwargs.items()):
                if type(value) in _NUMBERS or type(value) in _ROWS:
                    _refuse_odd(name, value, bounds.get(name, -inf))
            if isinstance(trouble, TypeError):
                raise trouble
            if trouble or not (unbounded or all(map(isfinite, _numbers_in(result, fields_too=True)))):
                raise RangeError(_beyond(function.__name__)) from trouble
            return result

        return checked

    return decorate


_NUMBERS = frozenset({float, int})
_ROWS = frozenset({list, tuple})


def _refuse_odd(name: str, value: object, least: float) -> None:
    for number in _numbers_in(value):
        try:
            is_one = isfinite(number)
        except OverflowError:  # a whole number of hundreds of digits
            is_one = False
        words = name.replace("_", " ")
        if not is_one:
            msg = f"{words} is not a number to compute with: {str(number)[:12]}. Give a finite one."
            raise RangeError(msg)
        if number < least:
            msg = f"{words} must be {'0 or more' if least == 0 else 'above 0'}, got {number:g}."
            raise RangeError(msg)


def _numbers_in(value: object, *, fields_too: bool = False) -> Iterator[float]:
    """The numbers in a value and its rows; of a result also in its fields, whole ones excepted."""
    if isinstance(value, float) or (isinstance(value, int) and not fields_too):
        yield value
    elif isinstance(value, list | tuple):
        for each in value:
            yield from _numbers_in(each, fields_too=fields_too)
    elif fields_too and is_dataclass(value):
        for one in fields(value):
            yield from _numbers_in(getattr(value, one.name), fields_too=True)


def _beyond(name: str) -> str:
    return (
        f"With these numbers {name.replace('_', ' ')} is too large or too small to be computed. Look at each number "
        "and its unit."
    )


def refuse_odd_fields(value: object) -> None:
    """Refuse, with a RangeError, a value of which a field holds a number that is none, such as nan."""
    for one in fields(value):  # type: ignore[arg-type]
        _refuse_odd(one.name, getattr(value, one.name), -inf)
