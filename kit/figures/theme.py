"""The one look of all figures: ink on warm paper, the same in a light and a dark notebook and in print."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import plotly.graph_objects as go


PAPER = "#fbf9f3"

INK = "#1f2a33"

SOFT = "#55626c"

RULE = "#e5dece"

#: The layers' colours, as in the panels' style sheet.
LAYER_COLOURS = {"water": "#4f8fb0", "oil": "#d3a144", "other": "#998eae"}


#: The size of a chart's words, in ordinary and in large text; what else it says is in proportion. [px]
FONT_SIZE, LARGE_FONT_SIZE = 13, 19

FONT = 'system-ui, -apple-system, "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif'


def blank(traces: Any = ()) -> go.Figure:
    """A figure with these traces and nothing of plotly's own look, which takes 10 MB and 0.1 s to be read."""
    import plotly.graph_objects as go

    return go.Figure(traces, layout={"template": "none"})


def lay_on_paper(figure: go.Figure) -> None:
    """Give a figure the kit's paper, ink and grid; it is as wide as there is room, and its words find room too."""
    figure.update_layout(
        template="none",
        paper_bgcolor=PAPER,
        plot_bgcolor=PAPER,
        font={"color": INK, "size": FONT_SIZE, "family": FONT},
        hoverlabel={"bgcolor": INK, "bordercolor": SOFT, "font": {"color": PAPER}},
    )
    figure.update_xaxes(gridcolor=RULE, linecolor=SOFT, zeroline=False, automargin=True)
    figure.update_yaxes(gridcolor=RULE, linecolor=SOFT, zeroline=False, automargin=True)


def theme_css() -> str:
    """Style rules that let a chart in a panel follow the theme of the notebook, also while it is open.

    The chart's own colours are those of the light theme. Each is found by what the browser wrote into the drawing
    and replaced by the panels' variable of the same name; what shows under the pointer stays as it is.
    """
    names = {PAPER: "paper", INK: "ink", SOFT: "soft", RULE: "rule"}
    names |= {colour: kind for kind, colour in LAYER_COLOURS.items()}
    drawn = ".shakewell-panel .js-plotly-plot .main-svg > :not(.hoverlayer)"
    red, green, blue = _channels(PAPER)
    ground = f'.shakewell-panel .js-plotly-plot .main-svg[style*="background: rgb({red}, {green}, {blue})"]'
    rules = [f"{ground} {{ background: var(--sw-paper) !important; }}"]
    for colour, name in names.items():
        red, green, blue = _channels(colour)
        for side in ("fill", "stroke"):
            found = f'[style*="{side}: rgb({red}, {green}, {blue})"]'
            chosen = f"{drawn}:is({found}), {drawn} {found}"
            rules.append(f"{chosen} {{ {side}: var(--sw-{name}) !important; }}")
    return "\n".join(rules)


def _channels(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


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
