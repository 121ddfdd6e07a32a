"""Monte Carlo for a model of one's own: a plain function of named inputs, each with its distribution."""

from __future__ import annotations

import inspect
from dataclasses import dataclass
from math import inf, isfinite
from typing import TYPE_CHECKING, Any, Literal

from kit.bench.propagation import cholesky, correlation_matrix, coverage_factor, rectangular, triangular
from kit.bench.uncertainty import Drawn
from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

Shape = Literal["normal", "rectangular", "triangular", "t"]
#: Draws in one block of the adaptive procedure, and where it gives up (JCGM 101, 7.9.4 a).
BLOCK, MOST_DRAWS = 10_000, 5_000_000


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a model: a value and how it is distributed about it.

    Attributes
    ----------
    value
        Its best estimate.
    spread
        Standard uncertainty for "normal", scale for "t"; half the width for "rectangular" and "triangular".
    shape
        normal, rectangular, triangular, or t (a mean of few repeats).
    freedom
        Degrees of freedom of "t".
    """

    value: float
    spread: float
    shape: Shape = "normal"
    freedom: float = inf

    def __post_init__(self) -> None:
        if not (isfinite(self.value) and 0 <= self.spread < inf):
            msg = f"An input has a finite value and a spread of 0 or more, got {self.value:g} and {self.spread:g}."
            raise RangeError(msg)
        if self.shape not in ("normal", "rectangular", "triangular", "t"):
            msg = f"The shape {self.shape!r} is not known. Write normal, rectangular, triangular or t."
            raise RangeError(msg)
        if (self.shape == "t") != (self.freedom != inf) or not self.freedom > 0:
            msg = "Degrees of freedom, above 0, belong to the shape t and to it alone."
            raise RangeError(msg)

    @property
    def standard(self) -> float:
        """Its standard uncertainty; infinite for t with 2 degrees of freedom or fewer."""
        if self.shape == "rectangular":
            return rectangular(self.spread)
        if self.shape == "triangular":
            return triangular(self.spread)
        if self.shape == "t":
            return float(self.spread * (self.freedom / (self.freedom - 2)) ** 0.5) if self.freedom > 2 else inf
        return self.spread


@dataclass(frozen=True, slots=True)
class ModelDrawn:
    """What the draws of a model show.

    Attributes
    ----------
    result
        Mean, standard deviation and the interval that leaves as many draws below as above.
    shortest
        The shortest interval that covers as much; the better one where the result is lopsided.
    draws, coverage
        How many, and what part of them the intervals cover. [-, %]
    settled
        None for a number of draws that was given; else whether the adaptive procedure came to its tolerance.
    """

    result: Drawn
    shortest: tuple[float, float]
    draws: int
    coverage: float
    settled: bool | None = None


def draw_model(
    model: Callable[..., object],
    inputs: Mapping[str, Input],
    *,
    seed: int,
    draws: int | None = None,
    digits: int = 2,
    coverage: float = 95.0,
    correlations: Mapping[tuple[str, str], float] | None = None,
) -> ModelDrawn:
    """Draw every input many times, compute the model each time, and look at what comes out.

    Parameters
    ----------
    model
        A function of the named inputs. It is first called with whole arrays; where it does not take them (it has an
        ``if`` on a number in it), once for each draw.
    inputs
        Name of each parameter → its distribution.
    seed
        The same seed gives the same draws again.
    draws
        At least 1000. Without it the adaptive procedure: blocks of 10 000 draws until twice the scatter of mean,
        standard deviation and both ends of the interval between blocks is below the numerical tolerance.
    digits
        Meaningful digits of the standard uncertainty, for the adaptive procedure. [1 or 2]
    coverage
        [%]
    correlations
        (name, name) → correlation coefficient, for normal inputs.

    Raises
    ------
    RangeError
        Inputs that do not fit the model, too few draws, correlated inputs that are not normal, or a model that gives
        no finite number for some draws (a divisor that can be 0, a logarithm of what can be below 0).

    References
    ----------
    .. [1] JCGM 101:2008 (GUM Supplement 1): 6.4 (distributions), 7 (the draws, 7.7 the intervals), 7.9 (adaptive).

    Examples
    --------
    >>> inputs = {"grams": Input(2.0, 0.01), "millilitres": Input(100.0, 1.0, "rectangular")}
    >>> found = draw_model(lambda grams, millilitres: 100 * grams / millilitres, inputs, seed=1, draws=200_000)
    >>> round(found.result.mean, 2), round(found.result.standard, 3)
    (2.0, 0.015)
    """
    import numpy as np

    _check(model, inputs, draws, digits)
    coverage_factor(coverage)
    names = list(inputs)
    lower = None
    if correlations:
        places = {(_place(names, one), _place(names, other)): r for (one, other), r in correlations.items()}
        for place in {place for pair in places for place in pair}:
            if inputs[names[place]].shape != "normal":
                msg = f"Only normal inputs can be drawn as correlated; {names[place]} is {inputs[names[place]].shape}."
                raise RangeError(msg)
        lower = np.array(cholesky(correlation_matrix(len(names), places)))
    generator, call = np.random.default_rng(seed), _caller(model)
    if draws is not None:
        return _shown(_draw(call, inputs, generator, draws, lower), coverage)
    blocks: list[NDArray[np.float64]] = []
    numbers: list[tuple[float, float, float, float]] = []
    while len(blocks) * BLOCK < MOST_DRAWS:
        blocks.append(_draw(call, inputs, generator, BLOCK, lower))
        one = _shown(blocks[-1].copy(), coverage).result
        numbers.append((one.mean, one.standard, one.low, one.high))
        if len(blocks) < 2:
            continue
        scatter = np.std(numbers, axis=0, ddof=1) / len(blocks) ** 0.5
        if np.all(2 * scatter <= tolerance(float(np.mean([each[1] for each in numbers])), digits)):
            return _shown(np.concatenate(blocks), coverage, settled=True)
    return _shown(np.concatenate(blocks), coverage, settled=False)


def tolerance(standard: float, digits: int = 2) -> float:
    """The numerical tolerance of a standard uncertainty with so many meaningful digits: half its last place.

    References
    ----------
    .. [1] JCGM 101:2008 (GUM Supplement 1), 7.9.2.

    Examples
    --------
    >>> tolerance(0.0353, 2)
    0.0005
    """
    if not standard > 0:
        return 0.0
    exponent = int(f"{standard:.{digits - 1}e}".split("e")[1]) - (digits - 1)
    return float(f"0.5e{exponent}")


def _check(model: Callable[..., object], inputs: Mapping[str, Input], draws: int | None, digits: int) -> None:
    if draws is not None and draws < 1000:
        msg = f"{draws} draws are too few for an interval. Ask for 1000 or more."
        raise RangeError(msg)
    if digits not in (1, 2):
        msg = f"One or two digits of an uncertainty mean something, not {digits}."
        raise RangeError(msg)
    wanted = _parameters(model)
    if wanted is None:
        return
    needed = {name for name, one in wanted.items() if one.default is one.empty}
    if not needed <= set(inputs) <= set(wanted):
        msg = f"The model asks for {', '.join(wanted) or 'nothing'}; the inputs are {', '.join(inputs) or 'none'}."
        raise RangeError(msg)


def _parameters(model: Callable[..., object]) -> Mapping[str, inspect.Parameter] | None:
    """The parameters of a model; None for a function of a compiled package that keeps their names to itself."""
    try:
        return inspect.signature(model).parameters
    except ValueError:
        return None


def _caller(model: Callable[..., object]) -> Callable[[Mapping[str, object]], Any]:
    """The model as a function of named values, which it gets by position only where it takes them so."""
    wanted = _parameters(model)
    if wanted is None:
        return lambda values: model(*values.values())
    by_place = [name for name, one in wanted.items() if one.kind is one.POSITIONAL_ONLY]
    return lambda values: model(
        *(values[name] for name in by_place if name in values),
        **{name: value for name, value in values.items() if name not in by_place},
    )


def _place(names: Sequence[str], name: str) -> int:
    if name not in names:
        msg = f"There is no input {name!r}. There are: {', '.join(names)}."
        raise RangeError(msg)
    return list(names).index(name)


def _draw(
    call: Callable[[Mapping[str, object]], Any],
    inputs: Mapping[str, Input],
    generator: np.random.Generator,
    draws: int,
    lower: NDArray[np.float64] | None,
) -> NDArray[np.float64]:
    import numpy as np

    normal = generator.standard_normal((len(inputs), draws))
    if lower is not None:
        normal = lower @ normal
    columns = {}
    for (name, one), row in zip(inputs.items(), normal, strict=True):
        if one.shape == "rectangular":
            apart = 2.0 * generator.random(draws) - 1.0
        elif one.shape == "triangular":
            apart = generator.random(draws) - generator.random(draws)
        else:
            apart = generator.standard_t(one.freedom, draws) if one.shape == "t" else row
        columns[name] = one.value + one.spread * apart
    with np.errstate(all="ignore"):
        try:
            found = np.broadcast_to(np.asarray(call(columns), dtype=float), (draws,)).copy()
        except (TypeError, ValueError):
            found = _one_by_one(call, columns, draws)
    if not np.isfinite(found).all():
        wrong = int((~np.isfinite(found)).sum())
        msg = (
            f"The model gives no number for {wrong} of {draws} draws: it divides by what can be 0, or takes a root or "
            "logarithm of what can be below 0. Look at the spread of the inputs."
        )
        raise RangeError(msg)
    return found


def _one_by_one(
    call: Callable[[Mapping[str, object]], Any], columns: Mapping[str, NDArray[np.float64]], draws: int
) -> NDArray[np.float64]:
    import numpy as np

    found = np.empty(draws)
    for n in range(draws):
        try:
            found[n] = call({name: float(column[n]) for name, column in columns.items()})
        except (ZeroDivisionError, ValueError, OverflowError):
            found[n] = np.nan
    return found


def _shown(values: NDArray[np.float64], coverage: float, settled: bool | None = None) -> ModelDrawn:
    values.sort()
    draws = values.size
    inside = int(draws * coverage / 100.0)
    low = (draws - inside) // 2
    widths = values[inside - 1 :] - values[: draws - inside + 1]
    start = int(widths.argmin())
    drawn = Drawn(float(values.mean()), float(values.std(ddof=1)), float(values[low]), float(values[low + inside - 1]))
    return ModelDrawn(drawn, (float(values[start]), float(values[start + inside - 1])), draws, coverage, settled)
