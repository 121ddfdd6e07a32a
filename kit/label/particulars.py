"""The particulars of a label: what a maker types for it, how long the product keeps, and the file that holds them."""

from __future__ import annotations

import re
from calendar import monthrange
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError, RangeError
from kit.file_names import file_stem
from kit.findings import Finding, Place
from kit.inputs import Text, Tick, asked, inputs_of
from kit.label.entries import plain_line
from kit.library.sources import source_text
from kit.made_for import own_place
from kit.numbers import read_likely
from kit.saving import save_unless_same
from kit.tables import Schema, as_csv, read_file, read_table

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from kit.findings import Severity
    from kit.library.table import Jurisdiction
    from kit.saving import Seen


@dataclass(frozen=True, slots=True)
class Months:
    """How long a product keeps; see :func:`read_months`."""

    kind: str = "number"

    def read(self, text: str, unit: str = "") -> float | None:  # noqa: ARG002
        """The months; an EntryError or RangeError says what is wrong with them."""
        return read_months(text)

    def write(self, value: float) -> str:
        """Their number."""
        return f"{value:.10g}"


def _in(place: Jurisdiction) -> Callable[[Mapping[str, Any]], bool]:
    """Whether a label is for this place, or for one that is not said."""
    return lambda values: values.get("jurisdiction", place) == place


@dataclass(frozen=True, slots=True)
class Particulars:
    """What the maker types for a label; what is left empty is a blank to write on where the law
    asks for it, and otherwise not printed.
    """

    product_name: str = asked("Product name", help="Empty: the title of the formula.")
    function: str = asked("What it is and does", example="in a few words")
    content: str = asked("Net content", example="85 mL", help="Of one pack. Empty: what the bottle is filled with.")
    batch_code: str = asked("Batch", printed="Batch", example="TL-07", help="By which the batch is found again.")
    durability_months: float | None = asked(
        "Keeps unopened", Months(), None, unit="months", help="As a qualified person found in tests of this product."
    )
    best_before: str = asked(
        "Best before",
        printed="Best used before the end of",
        example="11/2027",
        help="Month and year, or day, month and year.",
    )
    period_after_opening: str = asked(
        "Period after opening",
        printed="(open-jar symbol)",
        example="12M",
        help="The open-jar symbol is described in the text, not drawn.",
    )
    storage: str = asked("Storage", printed="Storage", example="cool and dark")
    directions: str = asked("Directions", help="How it is used.")
    responsible_person: str = asked("Responsible person", printed="Responsible person", example="name and address")
    country_of_origin: str = asked("Country of origin", printed="Made in", help="Of an imported product.")
    imported: bool = asked("Imported into the Union", Tick(), default=False, applies=_in("eu"))
    contact: str = asked(
        "Adverse events to",
        printed="Report unwanted effects to",
        example="address, telephone, web",
        help="Where unwanted effects are reported, for the United States.",
        applies=_in("us"),
    )
    warnings: str = asked("More warnings", Text("lines"), example="a line each")
    habits: bool = asked("Print the usual cautions too", Tick(), default=True)

    @property
    def warning_lines(self) -> tuple[str, ...]:
        """The maker's own warnings, each as one line that can be printed."""
        return tuple(line for each in self.warnings.splitlines() if (line := plain_line(each)))


#: Up to this a date has to be stated; above it a period after opening takes its place. [months]
DATE_UP_TO = 30

_PERIOD = re.compile(r"(\d{1,3})\s*(m|months?|y|years?)", re.IGNORECASE)

_DATES = re.compile(
    r"(?:(?:0?[1-9]|[12]\d|3[01])[/.-])?(?:0?[1-9]|1[0-2])[/.-]\d{4}|\d{4}-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12]\d|3[01]))?"
    r"|(?:(?:0?[1-9]|[12]\d|3[01])\s+)?[^\W\d]{3,12}\s+\d{4}"
)


def is_period(text: str) -> bool:
    """Whether a text is a period after opening: "12M", "12 months", "1 Y".

    Examples
    --------
    >>> is_period("12M"), is_period("6 months"), is_period("soon")
    (True, True, False)
    """
    found = _PERIOD.fullmatch(text.strip())
    return found is not None and int(found[1]) > 0


def period(text: str) -> str:
    """A period after opening as it stands beside the open-jar symbol.

    Examples
    --------
    >>> period("12 months"), period("1y")
    ('12M', '1Y')
    """
    found = _PERIOD.fullmatch(text.strip())
    return f"{int(found[1])}{found[2][0].upper()}" if found else ""


def is_date(text: str) -> bool:
    """Whether a text is month and year, or day, month and year, in this order or as an ISO date, and such a day exists.

    Examples
    --------
    >>> is_date("11/2027"), is_date("30/11/2027"), is_date("November 2027"), is_date("2027-11"), is_date("2027")
    (True, True, True, True, False)
    >>> is_date("29/02/2028"), is_date("30/02/2028")
    (True, False)
    """
    typed = text.strip()
    if _DATES.fullmatch(typed) is None:
        return False
    numbers = [int(part) for part in re.split(r"[/.-]", typed) if part.isdecimal()]
    if len(numbers) < 3:
        return True
    year, month, day = numbers if numbers[0] > 31 else reversed(numbers)
    return 1 <= day <= monthrange(max(year, 1), month)[1]


def read_months(text: str) -> float | None:
    """How long a product keeps, as typed in months; None where nothing was typed. [months]

    Raises
    ------
    EntryError, RangeError
        It is no number, or not above 0.

    Examples
    --------
    >>> read_months("24"), read_months("30 months"), read_months(" ")
    (24.0, 30.0, None)
    """
    typed = text.strip()
    if not typed:
        return None
    try:
        months = read_likely(typed.removesuffix("months").removesuffix("month").rstrip(), 0, 600)
    except EntryError as error:
        msg = f"{typed!r} is not a number of months. Type how many months it keeps unopened, such as 24."
        raise EntryError(msg) from error
    if not 0 < months <= 600:
        msg = f"{months:g} months is not how long a product keeps. Type the months that were found, such as 24."
        raise RangeError(msg)
    return months


def durability_findings(details: Particulars, jurisdiction: Jurisdiction) -> Iterator[Finding]:
    """What to say about the date and the period after opening that were typed."""
    opened, date = details.period_after_opening.strip(), details.best_before.strip()
    article = f"{source_text('eu-article-19')}, paragraph 1(c)"
    if opened and not is_period(opened):
        sentence = f"{opened!r} is not a period after opening. Type a number of months or years, such as 12M or 1Y."
        yield Finding("stop", sentence, Place(field="period_after_opening"), article)
    elif opened:
        sentence = (
            "The period stands beside the open-jar symbol of Annex VII, which plain text cannot show: "
            "a jar with its lid off. Draw it in place of the words in brackets."
        )
        yield Finding("note", sentence, Place(field="period_after_opening"), article)
    if date and not is_date(date):
        sentence = f"{date!r} is not a date for a label. Type month and year (11/2027), or day, month and year."
        severity: Severity = "stop" if jurisdiction == "eu" else "caution"
        yield Finding(severity, sentence, Place(field="best_before"), article if jurisdiction == "eu" else "")
    if opened or date:
        sentence = (
            "A date or a period after opening needs tests of this product by a qualified person. "
            "The kit does not work one out for a label."
        )
        yield Finding("caution", sentence, Place(field="best_before"), source_text("common-practice"))
    months = details.durability_months
    if jurisdiction == "eu" and opened and not date and months is not None and months <= DATE_UP_TO:
        sentence = f"At {months:g} months a date is asked for; a period after opening takes its place only above 30."
        yield Finding("caution", sentence, Place(field="best_before"), article)


COLUMNS = ("particular", "text")
TABLE = Schema("the particulars of a label", COLUMNS, needed=COLUMNS, unique=COLUMNS[:1])

#: The names of all particulars.
PARTICULARS = tuple(one.name for one in inputs_of(Particulars))


def particulars_file(title: str) -> Path:
    """The file in which the particulars of a product are kept.

    Examples
    --------
    >>> str(particulars_file("After-swim body shake"))
    'after_swim_body_shake_label.csv'
    """
    return own_place(title, Path(f"{file_stem(title)}_label.csv"), take=False).path


def read_particulars(path: Path) -> dict[str, str]:
    """The texts of a file: particular → text.

    Raises
    ------
    StoreError
        There is no such file, or it cannot be opened.
    FileFaultsError
        Every fault in it, with its row as a spreadsheet counts it.
    """
    return particulars_of(read_file(path), path.name)


def particulars_of(data: bytes, name: str) -> dict[str, str]:
    """The texts that these bytes of a file hold; see :func:`read_particulars`."""
    table = read_table(data, name, TABLE)
    found = {}
    for number, row in table.rows:
        particular, text = row["particular"], row["text"]
        if particular and particular not in PARTICULARS:
            known = ", ".join(PARTICULARS)
            table.fault(number, f"{particular!r} is no particular of a label. Those are: {known}.")
        elif particular:
            found[particular] = text
    table.finish(None)
    return found


def save_particulars(path: Path, typed: Mapping[str, str], *, seen: Seen | None = None) -> None:
    """Write what was typed; what it held goes to its earlier saves. A file that says the same keeps every byte.

    Raises
    ------
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        It cannot be written; the old file is then untouched.
    """
    data = as_csv([COLUMNS, *((name, text) for name, text in typed.items() if text)]).encode("utf-8", "replace")
    save_unless_same(path, data, lambda there: particulars_of(there, path.name), seen=seen)
