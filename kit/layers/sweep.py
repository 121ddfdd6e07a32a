"""A formula at many ratios at once, as arrays: one product for all lines, one for all rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import RangeError
from kit.formula.requirements import EDGE, Requirement

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy as np
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from kit.layers.ratio import RatioPath


@dataclass(frozen=True)
class Sweep:
    """A formula at n ratios.

    Attributes
    ----------
    oil
        The oil layer, shape (n,). [% w/w of the whole]
    percents
        Every line at every ratio, shape (n, lines). [% w/w]
    room
        What each requirement has left, shape (n, requirements); below zero it is broken. [% w/w]
    """

    path: RatioPath
    oil: NDArray[np.float64]
    percents: NDArray[np.float64]
    room: NDArray[np.float64]

    @property
    def allowed(self) -> NDArray[np.bool_]:
        """Where every requirement holds and no line is below zero, shape (n,)."""
        import numpy as np

        return np.logical_and((self.room >= -EDGE).all(axis=1), (self.percents >= -EDGE).all(axis=1))

    def table(self) -> pd.DataFrame:
        """One row for each ratio: the oil layer, every line, and whether every rule holds."""
        import pandas as pd

        names = [line.material for _, _, line, _ in self.path.formula.each_line()]
        table = pd.DataFrame(self.percents, columns=names)
        table.insert(0, "oil layer %", self.oil)
        table["every rule holds"] = self.allowed
        return table


def sweep(path: RatioPath, oil: ArrayLike, required: Sequence[Requirement] = ()) -> Sweep:
    """The formula at each of these ratios.

    Parameters
    ----------
    oil
        Shape (n,), from 0 to ``path.most``. [% w/w of the whole]
    required
        The rules to be told about; see :func:`kit.formula.requirements.requirements`.

    Examples
    --------
    >>> from kit.demos import demo
    >>> from kit.layers.ratio import RatioPath
    >>> many = sweep(RatioPath.of(demo()), [10.0, 15.0, 20.0])
    >>> many.percents.sum(axis=1)
    array([100., 100., 100.])
    """
    import numpy as np

    ratios = np.asarray(oil, dtype=float)
    percents = np.multiply.outer(ratios, np.array(path.slope))
    percents += np.array(path.base)
    weights = np.array([requirement.weights for requirement in required]).reshape(len(required), len(path.base))
    bounds = np.array([requirement.bound for requirement in required])
    room = percents @ -weights.T
    room += bounds
    return Sweep(path, ratios, percents, room)


#: Ratios of one piece: with twenty lines and their rules some tens of megabytes.
PIECE = 100_000


def sweep_in_pieces(
    path: RatioPath, oil: ArrayLike, required: Sequence[Requirement] = (), *, most: int = PIECE
) -> Iterator[Sweep]:
    """The formula at any number of ratios, a piece at a time, so that memory stays the same however many there are.

    Parameters
    ----------
    oil
        Shape (n,), from 0 to ``path.most``. [% w/w of the whole]
    required
        As for :func:`sweep`.
    most
        Ratios in one piece, 1 or more; the last piece may have fewer.

    Raises
    ------
    RangeError
        A piece would have no ratio.

    Examples
    --------
    >>> from kit.demos import demo
    >>> from kit.layers.ratio import RatioPath
    >>> [piece.oil.size for piece in sweep_in_pieces(RatioPath.of(demo()), [10.0, 15.0, 20.0], most=2)]
    [2, 1]
    """
    import numpy as np

    if most < 1:
        msg = f"A piece of {most} ratios has none. Give 1 or more."
        raise RangeError(msg)
    ratios = np.asarray(oil, dtype=float)
    return (sweep(path, ratios[start : start + most], required) for start in range(0, ratios.size, most))
