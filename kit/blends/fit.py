"""A fitted model of a blend: its coefficients, what it says of blends, and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from kit.blends.scheffe import Model, model_matrix, model_terms
from kit.findings import Finding, Place

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from kit.blends.region import Point
    from kit.blends.scheffe import Term

CORNELL = "J. A. Cornell, Experiments with Mixtures, 3rd ed. (2002): least squares of mixture models"
#: A bottle whose own score makes up nearly all of its fitted value (a judgement).
HEAVY = 0.9
#: Lack of fit below this chance is told. [-]
UNLIKELY = 0.05


@dataclass(frozen=True, slots=True)
class Variation:
    """One row of an analysis of variance; ``f`` and ``chance`` are None where nothing is there to compare with."""

    source: str
    freedom: int
    squares: float
    f: float | None = None
    chance: float | None = None

    @property
    def mean(self) -> float:
        """The mean square."""
        return self.squares / self.freedom if self.freedom else 0.0


@dataclass(frozen=True, slots=True)
class Coefficient:
    """One coefficient: of a part, the score of that part alone; of several, what blending them adds.

    Attributes
    ----------
    error
        Standard error; None where as many coefficients as bottles leave nothing to judge it by.
    t, chance
        Estimate over error, and the chance of one as far from nothing.
    """

    name: str
    estimate: float
    error: float | None
    t: float | None
    chance: float | None


@dataclass(frozen=True, slots=True, eq=False)
class BlendFit:
    """A model fitted to what was scored.

    Attributes
    ----------
    points, values
        The bottles with a score, and their scores, in the order given. [% w/w of the blend; the score's unit]
    left_out
        The places, counted from 0, of the bottles without a score.
    coefficients
        In the order of the terms; of shares as parts of one. [the score's unit]
    covariance
        Of the coefficients over the residual variance: (X'X)^-1. Shape (terms, terms).
    residuals
        Score less fit. [the score's unit]
    leverages
        How much of each fitted score is that bottle's own. [-, 0 to 1]
    error
        Residual standard deviation; None where nothing is left to judge it by. [the score's unit]
    r2, r2_adjusted, r2_predicted
        Of the variation about the mean; the last with each bottle foretold from the others (PRESS). None where it
        cannot be said.
    anova
        Model, residual, lack of fit, pure error, total; all about the mean.
    """

    names: tuple[str, ...]
    model: Model
    what: str
    points: tuple[Point, ...]
    values: tuple[float, ...]
    left_out: tuple[int, ...]
    coefficients: tuple[Coefficient, ...]
    covariance: NDArray[np.float64]
    residuals: tuple[float, ...]
    leverages: tuple[float, ...]
    error: float | None
    r2: float
    r2_adjusted: float | None
    press: float | None
    r2_predicted: float | None
    anova: tuple[Variation, ...]

    @property
    def terms(self) -> tuple[Term, ...]:
        """See :func:`kit.blends.scheffe.model_terms`."""
        return model_terms(len(self.names), self.model)

    @property
    def freedom(self) -> int:
        """Bottles more than coefficients."""
        return len(self.values) - len(self.coefficients)

    @property
    def estimates(self) -> NDArray[np.float64]:
        """The coefficients, shape (terms,)."""
        import numpy as np

        return np.array([one.estimate for one in self.coefficients])

    def variation(self, source: str) -> Variation | None:
        """A row of the analysis of variance by its name; None where it is not there."""
        return next((row for row in self.anova if row.source == source), None)

    def predict(self, points: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """What the model says of blends, and the standard error of it (not a number where there is none to tell).

        Parameters
        ----------
        points
            Shape (n, parts). [% w/w of the blend]

        Returns
        -------
        Two arrays of shape (n,), in the unit of the score.
        """
        import numpy as np

        matrix = model_matrix(points, self.model)
        spread = np.sqrt(np.einsum("ij,jk,ik->i", matrix, self.covariance, matrix))
        return matrix @ self.estimates, spread * (np.nan if self.error is None else self.error)

    def interval(self, point: Sequence[float], coverage: float = 95.0) -> tuple[float, float, float]:
        """What the model says of one blend, with the ends between which its true mean lies with this confidence. [%]

        The ends are infinite where nothing is left to judge the error by.
        """
        from scipy.special import stdtrit

        mean, error = (float(one[0]) for one in self.predict([point]))
        if self.error is None:
            return mean, -inf, inf
        half = float(stdtrit(self.freedom, 0.5 + coverage / 200.0)) * error
        return mean, mean - half, mean + half

    @property
    def findings(self) -> list[Finding]:
        """What to know before trusting it."""
        return _findings(self)

    @property
    def equation(self) -> str:
        """The model as it is written, shares as parts of one."""
        parts = [f"{one.estimate:+.4g} {one.name}" for one in self.coefficients]
        return f"{self.what or 'score'} = " + " ".join(parts).removeprefix("+")

    def table(self) -> pd.DataFrame:
        """The coefficients as a DataFrame."""
        import pandas as pd

        return pd.DataFrame(
            {
                "term": [one.name for one in self.coefficients],
                "estimate": [one.estimate for one in self.coefficients],
                "standard error": [one.error for one in self.coefficients],
                "t": [one.t for one in self.coefficients],
                "chance": [one.chance for one in self.coefficients],
            }
        )


def _findings(fit: BlendFit) -> list[Finding]:
    found = []
    of = f" of {fit.what}" if fit.what else ""
    if fit.left_out:
        which = ", ".join(str(n + 1) for n in fit.left_out)
        many = len(fit.left_out) > 1
        sentence = f"No score{of} yet: bottle{'s' if many else ''} {which}; left out here."
        found.append(Finding("note", sentence, Place(field="scores")))
    if fit.error is None:
        sentence = (
            f"As many coefficients as bottles: the {fit.model} model passes through every score and says nothing of "
            "its own error. Score more bottles, or choose a simpler model."
        )
        found.append(Finding("caution", sentence, Place(field="model"), CORNELL))
    lack = fit.variation("lack of fit")
    if lack is not None and lack.chance is not None and lack.chance < UNLIKELY:
        sentence = (
            f"The {fit.model} model misses the bottles by more than making one blend twice differs "
            f"(lack of fit, chance {lack.chance:.2g}). Try a richer model."
        )
        found.append(Finding("caution", sentence, Place(field="model"), CORNELL))
    if fit.error is not None and fit.variation("pure error") is None:
        sentence = "No blend was made twice, so scatter of making and scoring cannot be told from lack of fit."
        found.append(Finding("note", sentence, Place(field="model")))
    if fit.r2_predicted is not None and fit.r2_predicted < 0:
        sentence = (
            f"Foretold from the others, a bottle is farther off than the plain mean (R² predicted "
            f"{fit.r2_predicted:.2f}): this model foretells nothing yet."
        )
        found.append(Finding("caution", sentence, Place(field="model"), "Allen (1974)"))
    heavy = [n + 1 for n, leverage in enumerate(fit.leverages) if leverage > HEAVY]
    if heavy and fit.error is not None:
        which = ", ".join(map(str, heavy))
        sentence = f"The fit at bottle {which} rests on its own score alone or nearly so. Make it twice if it matters."
        found.append(Finding("note", sentence, Place(field="model")))
    return found
