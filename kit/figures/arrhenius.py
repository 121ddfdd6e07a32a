"""Rates against temperature on Arrhenius' axes as SVG text: points with intervals, the line with its band."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import TYPE_CHECKING

from kit.figures.chart import INK, SOFT, Frame, area, axes, cut, legend, line, mark, svg, words
from kit.stability.kinetics import kelvin

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.stability.kinetics import Arrhenius, Rate

HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 380.0, 84.0, 16.0, 66.0, 48.0
LINE = "var(--sw-water-ink,#2b6180)"
POINTS = 41
#: The line is drawn this far beyond the temperatures studied, dashed. [K]
BEYOND = 8.0


def arrhenius_chart(fit: Arrhenius, rates: Sequence[Rate], *, title: str, unit: str, width: float = 840) -> str:
    """Rate constants and their fit, the logarithm of the rate upright, the reciprocal of the temperature across.

    Parameters
    ----------
    rates
        What was fitted; those at which nothing was lost have no logarithm and are left out.
    unit
        Of the rates, such as "pH per day".
    """
    low, high = min(fit.temperatures) - BEYOND, max(fit.temperatures) + BEYOND
    drawn = [one for one in rates if one.k > 0]
    levels = [math.log10(one.k) for one in drawn]
    levels += [math.log10(fit.at(temperature).k) for temperature in (low, high)]
    bottom, top = min(levels) - 0.5, max(levels) + 0.5
    frame = Frame(LEFT, TOP, width - LEFT - RIGHT, HEIGHT - TOP - BOTTOM, _place(low), _place(high), bottom, top)
    across = [(_place(t), f"{t} °C") for t in range(5 * math.ceil(low / 5), math.floor(high / 5) * 5 + 1, 5)]
    parts = [words(10, 20, cut(title, width - 20, 15), size=15, weight=650)]
    parts += axes(
        frame,
        "Temperature, on the scale of its reciprocal",
        f"Rate, {unit}",
        steps=_decades(bottom, top),
        across=across[:: 1 + len(across) // 14],
    )
    parts += _fit(frame, fit, low, high)
    for one in drawn:
        parts += _point(frame, one)
    parts += _legend(fit, width)
    return svg(width, HEIGHT, f"{title}. {fit_in_words(fit)}", parts)


def fit_in_words(fit: Arrhenius, cold: float = 20.0) -> str:
    """Activation energy and what 10 K from ``cold`` [°C] on do, with 95 % intervals where there are any.

    Where those 10 K were not studied, it says so.
    """
    q10, lower, upper = fit.q10(cold)
    count = len(fit.temperatures)
    studied = ", ".join(f"{one:g}" for one in sorted(fit.temperatures))
    begin = f"Computed from the rates at {count} temperatures ({studied} °C): activation energy {fit.energy:.3g} kJ/mol"
    inside = min(fit.temperatures) <= cold and cold + 10 <= max(fit.temperatures)
    end = "." if inside else ", extrapolated beyond the temperatures studied."
    faster = f"from {cold:g} to {cold + 10:g} °C it goes {plain(q10)} times as fast"
    if fit.df < 1:
        return f"{begin}, without an interval; {faster}{end}"
    least, most = fit.energy_interval()
    return f"{begin} (95 %: {least:.3g} to {most:.3g}); {faster} (95 %: {plain(lower)} to {plain(upper)}){end}"


def plain(number: float) -> str:
    """Two digits that count, written out.

    Examples
    --------
    >>> plain(5312.4), plain(0.000044), plain(2.84)
    ('5300', '0.000044', '2.8')
    """
    return f"{Decimal(f'{number:.2g}'):f}" if math.isfinite(number) else "beyond all bounds"


def _place(temperature: float) -> float:
    """Where a temperature [°C] stands across: the warmer, the farther right."""
    return -1000 / kelvin(temperature)


def _decades(bottom: float, top: float) -> list[tuple[float, str]]:
    """1, 2 and 5 times the powers of ten between the ends, only the powers where there are many."""
    powers = range(math.floor(bottom), math.ceil(top) + 1)
    many = top - bottom > 2.5
    found = [
        (power + math.log10(step), step * 10.0**power) for power in powers for step in ((1,) if many else (1, 2, 5))
    ]
    return [(place, f"{value:.3g}") for place, value in found if bottom <= place <= top]


def _fit(frame: Frame, fit: Arrhenius, low: float, high: float) -> list[str]:
    coldest, warmest = min(fit.temperatures), max(fit.temperatures)
    parts = []
    if fit.df > 0:
        predictions = [fit.at(low + (high - low) * n / (POINTS - 1)) for n in range(POINTS)]
        upper = [(frame.x(_place(p.temperature)), frame.y(_bounded(frame, p.upper))) for p in predictions]
        lower = [(frame.x(_place(p.temperature)), frame.y(_bounded(frame, p.lower))) for p in predictions]
        parts.append(area(upper + lower[::-1], fill=LINE))
    for start, end, dash in ((low, coldest, "6 5"), (coldest, warmest, ""), (warmest, high, "6 5")):
        ends = [(frame.x(_place(t)), frame.y(math.log10(fit.at(t).k))) for t in (start, end)]
        parts.append(line(ends, stroke=LINE, width=2, dash=dash))
    return parts


def _bounded(frame: Frame, k: float) -> float:
    level = math.log10(k) if k > 0 else -math.inf
    return min(max(level, frame.y_low), frame.y_high)


def _point(frame: Frame, one: Rate) -> list[str]:
    x, y = frame.x(_place(one.temperature)), frame.y(math.log10(one.k))
    lower, upper = one.interval()
    ends = [(x, frame.y(_bounded(frame, bound))) for bound in (lower, upper)]
    told = f"{one.temperature:g} °C: {one.k:.3g} (95 %: {lower:.3g} to {upper:.3g}), {one.readings} readings"
    return [line(ends, stroke=INK, width=1.2), mark(x, y, 0, colour=INK, size=4.6, title=told)]


def _legend(fit: Arrhenius, width: float) -> list[str]:
    entries = [(line([(0, -7), (0, 7)], stroke=INK) + mark(0, 0, 0, colour=INK), "rate and its 95 % interval")]
    entries.append((line([(-12, 0), (12, 0)], stroke=LINE, width=2), "Arrhenius’ equation"))
    if fit.df > 0:
        entries.append((area([(-12, -5), (12, -5), (12, 5), (-12, 5)], fill=LINE, opacity=0.3), "its 95 % interval"))
    entries.append((line([(-12, 0), (12, 0)], stroke=SOFT, dash="6 5"), "beyond what was studied"))
    return legend(LEFT, 44, entries, width)
