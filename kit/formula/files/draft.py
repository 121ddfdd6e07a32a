"""A formula that is not saved yet, as a draft beside its file: JSON, quick to write, with what the file held then."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from kit.errors import FileFaultsError, StoreError
from kit.formula.files.reading import Reader
from kit.formula.files.record import to_record

if TYPE_CHECKING:
    from kit.formula.model import Formula


def to_draft(formula: Formula, mark: str) -> bytes:
    """The bytes of a draft; ``mark`` says which content of the file it began from."""
    return json.dumps({"began_from": mark, "formula": to_record(formula)}).encode()


def of_draft(data: bytes, name: str) -> tuple[Formula, str]:
    """The formula of a draft, and the mark of what its file held when it began.

    Raises
    ------
    StoreError
        It is no draft.
    FileFaultsError
        What it holds is no formula.
    """
    try:
        content = json.loads(data)
        record, mark = content["formula"], content["began_from"]
        if not (isinstance(record, dict) and isinstance(mark, str)):
            raise TypeError
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        msg = f"{name} is no draft of a formula."
        raise StoreError(msg) from error
    reader = Reader(locate=lambda place: ".".join(map(str, place)))
    formula = reader.formula(record)
    if reader.faults:
        raise FileFaultsError(name, reader.faults)
    return formula, mark
