"""How the conditions of a study look in every picture: a colour, a dash and a symbol each."""

from __future__ import annotations

#: One condition: colour, dash of the line, symbol of the point. Each colour has a contrast of at least 3:1 on
#: the paper (WCAG 2.2, success criterion 1.4.11), and no two conditions share a dash or a symbol.
STYLES = (
    ("#2f80c8", "solid", "circle"),
    ("#c2591b", "dash", "square"),
    ("#1f9070", "dot", "diamond"),
    ("#a86ab5", "dashdot", "triangle-up"),
    ("#8c7a3c", "longdash", "pentagon"),
    ("#c8508a", "longdashdot", "star"),
)
