"""A check of every row of a table, as one test: pytest's own price of a test, times ten thousand rows, is minutes."""

from __future__ import annotations

import inspect
from functools import wraps
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    Check = Callable[..., None]

#: How many rows are shown where many fail.
SHOWN = 12


def each_of(
    arguments: str | tuple[str, ...],
    rows: Iterable[Any],
    ids: Callable[[Any], object] | Sequence[object] | None = None,
) -> Callable[[Check], Check]:
    """Call a test with each of the rows as these arguments; it fails once, with every row that failed.

    It is written like ``pytest.mark.parametrize``. Fixtures are the same for all rows. Where there are no rows it
    fails: a check of nothing proves nothing.
    """
    names = (arguments,) if isinstance(arguments, str) else arguments
    kept = [(row,) if isinstance(arguments, str) else tuple(row) for row in rows]

    def name(at: int) -> object:
        row = kept[at][0] if isinstance(arguments, str) else kept[at]
        if callable(ids):
            return ids(row)
        return ids[at] if ids is not None else row

    def decorate(check: Check) -> Check:
        @wraps(check)
        def of_every_row(**fixtures: object) -> None:
            assert kept, "There is no row to check."
            faults = []
            for at, row in enumerate(kept):
                try:
                    check(**dict(zip(names, row, strict=True)), **fixtures)
                except Exception as error:  # each row is told, whatever went wrong
                    faults.append(f"{name(at)}: {type(error).__name__}: {error}")
            if faults:
                more = f"\n… and {len(faults) - SHOWN} more" if len(faults) > SHOWN else ""
                raise AssertionError(f"{len(faults)} of {len(kept)} rows:\n" + "\n".join(faults[:SHOWN]) + more)

        asked = inspect.signature(check)
        others = [each for each in asked.parameters.values() if each.name not in names]
        of_every_row.__signature__ = asked.replace(parameters=others)  # type: ignore[attr-defined]
        return of_every_row

    return decorate
