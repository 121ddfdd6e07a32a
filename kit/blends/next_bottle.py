"""The next bottle to try: where least is known, or where the most is to be hoped for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.blends.desirability import drawn_means, together
from kit.blends.scheffe import Model, model_matrix
from kit.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.blends.desirability import Goal
    from kit.blends.fit import BlendFit
    from kit.blends.region import BlendRegion, Point


@dataclass(frozen=True, slots=True)
class NextBottle:
    """A blend to make next.

    Attributes
    ----------
    point
        [% w/w of the blend]
    why
        "learn": the models know least of it; "improve": the most is to be hoped for there.
    amount
        To learn: the variance of a foretold mean there, in units of the residual variance. To improve: by how much
        the desirability is expected to rise above the best bottle made so far. [-]
    source
        Of the rule.
    """

    point: Point
    why: Literal["learn", "improve"]
    amount: float
    source: str

    @property
    def sentence(self) -> str:
        """Why this one."""
        if self.why == "learn":
            return (
                "The models know least of this blend: a foretold mean there is as uncertain as "
                f"{self.amount:.2g} times the variance of one bottle."
            )
        return (
            "The most is to be hoped for here: the desirability is expected to rise by "
            f"{self.amount:.2g} above that of the best bottle made so far."
        )


def least_known(region: BlendRegion, made: Sequence[Point], model: Model = "quadratic") -> NextBottle:
    """The blend where a foretold mean is most uncertain; adding it raises the determinant of X'X most.

    Raises
    ------
    RangeError
        The bottles made so far cannot tell the model's coefficients apart.

    References
    ----------
    .. [1] H. P. Wynn, "The sequential generation of D-optimum experimental designs", Annals of Mathematical Statistics
       41 (1970) 1655-1664.

    Examples
    --------
    >>> from kit.blends.region import BlendRegion, Part
    >>> region = BlendRegion((Part("a"), Part("b")))
    >>> least_known(region, [(100.0, 0.0), (80.0, 20.0)], "linear").point
    (0.0, 100.0)
    """
    import numpy as np

    there = model_matrix(made, model) if made else np.empty((0, 1))
    sizes = np.linalg.svd(there, compute_uv=False) if len(there) else np.zeros(1)
    if len(there) < there.shape[1] or sizes[-1] < 1e-9 * sizes[0]:
        msg = (
            f"The {len(made)} bottles made so far do not settle a {model} model. Make the design first, "
            "or choose a simpler model."
        )
        raise RangeError(msg)
    back = np.linalg.inv(np.linalg.qr(there, mode="r"))
    spots = region.grid()
    variance = ((model_matrix(spots, model) @ back) ** 2).sum(axis=1)
    row = int(np.argmax(variance.round(9)))
    return NextBottle(spots[row], "learn", float(variance[row]), "Wynn (1970)")


def most_promising(
    region: BlendRegion, fits: Sequence[BlendFit], goals: Sequence[Goal], *, seed: int = 0
) -> NextBottle:
    """The blend whose desirability is expected to rise most above that of the best bottle made so far.

    In each world that fits the scores as well, what a blend gains over the best of the blends made; the mean of it,
    nothing counting where it gains nothing, is the expected improvement.

    Raises
    ------
    RangeError
        The scores leave nothing to judge the error by.

    References
    ----------
    .. [1] D. R. Jones, M. Schonlau, W. J. Welch, "Efficient global optimization of expensive black-box functions",
       Journal of Global Optimization 13 (1998) 455-492: expected improvement, here of the desirability of Derringer
       and Suich (1980).
    """
    import numpy as np

    if not fits or any(fit.error is None for fit in fits):
        msg = "As many coefficients as bottles leave nothing to judge a hope by. Score more bottles first."
        raise RangeError(msg)
    spots = region.grid()
    made = fits[0].points
    best = float(together(goals, [fit.predict(made)[0] for fit in fits]).max())
    generator = np.random.default_rng(seed)
    worlds = together(goals, [drawn_means(fit, spots, generator)[0] for fit in fits])
    gain = np.clip(worlds - best, 0.0, None).mean(axis=0)
    row = int(np.argmax(gain))
    return NextBottle(spots[row], "improve", float(gain[row]), "Jones, Schonlau and Welch (1998)")
