"""Text that a spreadsheet shows and never runs: an apostrophe in front on the way out, taken away on the way in.

A CSV file cannot say which of its cells are text, and common spreadsheets run as a formula what starts with one of
:data:`RUN_BY_SPREADSHEETS`. A workbook can say it: there the cells are text cells and are not guarded.
"""

from __future__ import annotations

import re

from kit.rounding import all_digits

#: A cell that starts with one of these is run by some spreadsheets (OWASP, "CSV Injection").
RUN_BY_SPREADSHEETS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")

GUARD = "'"
#: A negative number is a number in a spreadsheet too; guarded, it could no longer be computed with there.
_NEGATIVE = re.compile(r"-\d+(?:[.,]\d+)?")


#: A sign that no workbook can hold, and what looks like one that is written as its number already.
_NO_CELL_HOLDS = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_WRITTEN_AS_NUMBER = re.compile("_x([0-9A-Fa-f]{4})_")

#: The parts of a number format for numbers above, below and at 0; what it prints as it stands; colours and countries.
_SECTIONS = re.compile(r'(?:"[^"]*"|\\.|[^;"\\])+')
_PRINTED = re.compile(r'"([^"]*)"|\\(.)|\[\$([^\]-]*)[^\]]*\]')
_BRACKETS = re.compile(r"\[[^\]]*\]|_.|\*.")


def in_workbook(text: str) -> str:
    """The text as workbooks write it: a sign that none can hold as its number, such as _x0007_.

    References
    ----------
    .. [1] ECMA-376-1:2016, 22.9.2.19, ST_Xstring.

    Examples
    --------
    >>> in_workbook("a" + chr(7)), from_workbook("a_x0007_") == "a" + chr(7)
    ('a_x0007_', True)
    """
    return _NO_CELL_HOLDS.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


def from_workbook(text: str) -> str:
    """The text that :func:`in_workbook` wrote."""
    return _WRITTEN_AS_NUMBER.sub(lambda found: chr(int(found[1], 16)), text)


def shown(value: float, number_format: str) -> str:
    """A number of a workbook with the percent sign or the unit that its format puts behind it; empty where none is.

    A percent sign of the format itself shows 0.045 as 4.5 %; one in quotes, or behind a backslash, is only printed:
    the number is as it stands.

    References
    ----------
    .. [1] ECMA-376-1:2016, 18.8.31, numFmts: percentage, text in quotes, commas that scale by a thousand.

    Examples
    --------
    >>> shown(0.0455, "0.0%"), shown(4.55, '0.0"%"'), shown(12.5, '0.00" g"'), shown(12.5, "0.00")
    ('4.55 %', '4.55 %', '12.5 g', '')
    >>> shown(1250.5, "#,##0.00 [$€-40C]"), shown(1250.5, '[$-40C]#,##0.00" g"')
    ('1250.5 €', '1250.5 g')
    """
    sections = _SECTIONS.findall(number_format or "General")
    place = 1 if value < 0 else 2 if value == 0 else 0
    section = sections[place] if place < len(sections) else sections[0] if sections else ""
    printed = " ".join("".join(map("".join, _PRINTED.findall(section))).split())
    bare = _PRINTED.sub("", _BRACKETS.sub("", section))
    thousands = len(found[1]) if (found := re.search(r"[0#?](,+)(?![0#?,])", bare)) else 0
    if "%" in bare:
        return f"{all_digits(float(f'{100 * value:.12g}'))} %"
    if not printed.strip("()+-−"):
        return ""
    return f"{all_digits(float(f'{value / 1000**thousands:.15g}'))} {printed}"


def guarded(text: str) -> str:
    """The text with an apostrophe in front where a spreadsheet might run it.

    Text that already looks guarded gets one apostrophe more, so that :func:`unguarded` gives back every text as
    it was.

    Examples
    --------
    >>> guarded("=1+1"), guarded("'=1+1"), guarded("-5,4"), guarded("'tis clear")
    ("'=1+1", "''=1+1", '-5,4', "'tis clear")
    """
    return GUARD + text if _would_run(text) else text


def unguarded(text: str) -> str:
    """The text without the apostrophe that :func:`guarded` put in front.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("''=1+1"), unguarded("'tis clear"), unguarded("=1+1")
    ('=1+1', "'=1+1", "'tis clear", '=1+1')
    """
    return text[1:] if text.startswith(GUARD) and _would_run(text[1:]) else text


def _would_run(text: str) -> bool:
    shown = text.lstrip(GUARD).lstrip(" ")
    return shown.startswith(RUN_BY_SPREADSHEETS) and not _NEGATIVE.fullmatch(shown)
