"""Published stability data, and how to hand them over.

LGA: D. LeBlond, D. Griffith, K. Aubuchon, "Linear Regression 102: Stability shelf life estimation using analysis of
covariance", Journal of Validation Technology 17 (2011), no. 3, 47-68, tables IV, VI, VIII and XI, as shipped with the R
package expirest 0.1.7. JMP: the sample file Stability.jmp of the JMP documentation, there too. Months and % of label.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from kit.stability.series import Series

if TYPE_CHECKING:
    from collections.abc import Sequence

POTENCY = {  # LGA, tables IV, VI and VIII; the limit is 95 %
    "b2": "0: 101.0 | 1: 101.3 | 3: 99.8, 99.2 | 6: 99.5, 97.8 | 12: 97.4, 97.2 | 24: 96.9, 96.0",
    "b3": "0: 104.8 | 3: 103.0, 101.2 | 6: 100.8, 99.2 | 12: 98.6, 97.2 | 24: 97.6, 98.0",
    "b4": "0: 104.0 | 3: 103.2 | 6: 102.8, 103.3 | 12: 102.4, 101.2 | 24: 99.1, 99.5",
    "b5": "0: 102.0 | 1: 101.4 | 2: 100.8 | 3: 100.2, 99.7 | 6: 98.8, 98.5 | 12: 98.0, 97.1 | 24: 96.6, 96.1",
    "b7": "0: 101.3 | 1: 101.5 | 3: 100.2, 99.8 | 6: 99.0, 98.5 | 12: 98.5, 97.4 | 24: 96.6, 96.4",
    "b8": "0: 101.6 | 3: 100.0 | 6: 99.0 | 12: 97.8, 97.0",
}
RELATED = {  # LGA, table XI: a related substance, %; it rises, the limit is 0.3 %
    "b4": "0: 0.030 | 3: 0.054 | 6: 0.066, 0.051 | 12: 0.078, 0.114 | 24: 0.177, 0.165",
    "b5": "0: 0.090 | 1: 0.108 | 2: 0.126 | 3: 0.144, 0.159 | 6: 0.186, 0.195 | 12: 0.210, 0.237 | 24: 0.252, 0.267",
    "b8": "0: 0.102 | 3: 0.150 | 6: 0.180 | 12: 0.216, 0.240",
}
MOISTURE_MONTHS = (0, 1, 2, 3, 3, 6, 6, 12, 12, 24, 24)
MOISTURE = {  # LGA, table XIII: moisture, % w/w, without a trend
    "b1": (2.20059, 1.70372, 3.32395, 2.75907, 2.43192, 1.76331, 1.56801, 2.19423, 3.22311, 3.16325, 1.54837),
    "b2": (2.81078, 1.94915, 2.49058, 2.00485, 3.30700, 2.99309, 3.30159, 2.72512, 1.88341, 2.77215, 1.69048),
    "b3": (2.45301, 2.16138, 2.26631, 2.12853, 2.51775, 2.31034, 3.36915, 2.32070, 2.72001, 2.19393, 3.45895),
}
SIMULATED = {  # SAS/STAT User's Guide, MIXED, "Random coefficients" (Obenchain 1990): % of label, repeated readings
    "1": """0: 101.2, 103.3, 103.3, 102.1, 104.4, 102.4 | 1: 98.8, 99.4, 99.7, 99.5 | 3: 98.4, 99.0, 97.3, 99.8 |
        6: 101.5, 100.2, 101.7, 102.7 | 9: 96.3, 97.2, 97.2, 96.3 | 12: 97.3, 97.9, 96.8, 97.7, 97.7, 96.7""",
    "2": """0: 102.6, 102.7, 102.4, 102.1, 102.9, 102.6 | 1: 99.1, 99.0, 99.9, 100.6 | 3: 105.7, 103.3, 103.4, 104.0 |
        6: 101.3, 101.5, 100.9, 101.4 | 9: 94.1, 96.5, 97.2, 95.6 | 12: 93.1, 92.8, 95.4, 92.2, 92.2, 93.0""",
    "3": """0: 105.1, 103.9, 106.1, 104.1, 103.7, 104.6 | 1: 102.2, 102.0, 100.8, 99.8 |
        3: 101.2, 101.8, 100.8, 102.6 | 6: 101.1, 102.0, 100.1, 100.2 | 9: 100.9, 99.5, 102.2, 100.8 |
        12: 97.8, 98.3, 96.9, 98.4, 96.9, 96.5""",
}
JMP_FIRST = "0: 102.0 | 3: 101.0, 101.0 | 6: 100.5, 100.8 | 12: 100.1, 99.0 | 24: 96.7, 97.2"


def read(batch: str, text: str) -> Series:
    """A batch from its line above."""
    points = [
        (float(day), float(value))
        for part in text.split("|")
        for day, values in [part.split(":")]
        for value in values.split(",")
    ]
    days, values = zip(*points, strict=True)
    return Series(batch, days, values)


def potency(*batches: str) -> list[Series]:
    """These batches of LGA."""
    return [read(batch, POTENCY[batch]) for batch in batches]


def related() -> list[Series]:
    """The rising substance."""
    return [read(batch, text) for batch, text in RELATED.items()]


def moisture() -> list[Series]:
    """The readings without a trend."""
    return [Series(batch, MOISTURE_MONTHS, values) for batch, values in MOISTURE.items()]


def simulated() -> list[Series]:
    """The simulated batches of the SAS manual."""
    return [read(batch, text) for batch, text in SIMULATED.items()]


def jmp() -> list[Series]:
    """The four batches of the JMP sample file."""
    return [read("b1", JMP_FIRST), *potency("b2", "b3", "b4")]


def arrays(series: Sequence[Series]) -> tuple[np.ndarray, np.ndarray]:
    """The same as the array engines want it: one product, its batches, NaN where there is no reading."""
    both = np.full((2, 1, len(series), max(len(one.days) for one in series)), np.nan)
    for place, one in enumerate(series):
        both[0, 0, place, : len(one.days)] = one.days
        both[1, 0, place, : len(one.days)] = one.values
    return both[0], both[1]
