"""Columns as a table for a person: pandas's DataFrame, or the little of one that a lesson uses where pandas is not."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd


def frame(columns: Mapping[str, Sequence[Any]]) -> pd.DataFrame:
    """The columns as a DataFrame; as a :class:`PlainFrame` where there is no pandas, as on a page of the course."""
    try:
        import pandas as pd
    except ImportError:
        return PlainFrame({name: tuple(values) for name, values in columns.items()})  # type: ignore[return-value]
    return pd.DataFrame(dict(columns))


@dataclass(frozen=True, repr=False)
class PlainFrame:
    """Columns of one length under their names.

    Examples
    --------
    >>> PlainFrame({"substance": ("Aqua", "Glycerin"), "percent w/w": (95.99999, 4.0)})[["percent w/w"]].round(3)
       percent w/w
    0         96.0
    1          4.0
    """

    columns: Mapping[str, tuple[Any, ...]]

    def __getitem__(self, names: list[str]) -> PlainFrame:
        return PlainFrame({name: self.columns[name] for name in names})

    def round(self, decimals: int) -> PlainFrame:
        """With numbers of so many decimals."""
        return self._each(lambda values: tuple(round(v, decimals) if isinstance(v, float) else v for v in values))

    def head(self, rows: int) -> PlainFrame:
        """The first rows."""
        return self._each(lambda values: values[:rows])

    def _each(self, change: Any) -> PlainFrame:
        return PlainFrame({name: change(values) for name, values in self.columns.items()})

    def _rows(self) -> list[tuple[str, ...]]:
        cells = zip(*map(_as_text, self.columns.values()), strict=True)
        return [("", *self.columns), *((str(at), *row) for at, row in enumerate(cells))]

    def __repr__(self) -> str:
        rows = self._rows()
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        return "\n".join(
            "  ".join(
                [f"{at:<{widths[0]}}", *(f"{cell:>{width}}" for cell, width in zip(row, widths[1:], strict=True))]
            )
            for at, *row in rows
        )

    def _repr_html_(self) -> str:
        head, *rows = ([escape(cell) for cell in row] for row in self._rows())
        top = "".join(f"<th>{cell}</th>" for cell in head)
        body = "".join(f"<tr><th>{at}</th>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>" for at, *cells in rows)
        return f'<table border="1" class="dataframe"><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>'


def _as_text(values: tuple[Any, ...]) -> list[str]:
    """The values of a column, its numbers with as many decimals as the longest of them needs, up to six."""
    decimals = max((len(str(v).partition(".")[2]) for v in values if isinstance(v, float)), default=0)
    return [f"{v:.{min(decimals, 6)}f}" if isinstance(v, float) else str(v) for v in values]
