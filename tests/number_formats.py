"""Numbers as the locales of the world write them, from CLDR by way of babel."""

from __future__ import annotations

from functools import lru_cache

from babel import Locale
from babel.localedata import locale_identifiers
from babel.numbers import format_decimal

#: Numbers of every size that is typed on a bench, with up to four decimals.
MEANT = (
    0.0, 0.5, 0.25, 0.985, 0.0625, 1.0, 1.25, 1.025, 5.125, 7.0, 12.5, 62.5, 98.765, 99.9999, 100.0, 250.0, 999.999,
    1000.0, 1025.0, 1234.0, 1234.5, 1250.125, 9999.0, 10000.0, 12345.678, 100000.0, 123456.7, 1000000.0, 1234567.891,
)  # fmt: skip
DECIMALS = (0, 1, 2, 3, 4)


@lru_cache(maxsize=1)
def styles() -> tuple[str, ...]:
    """One locale for each way in which numbers are written: marks, minus sign, digits and grouping."""
    seen: dict[tuple[str, ...], str] = {}
    for name in sorted(locale_identifiers()):
        locale = Locale.parse(name)
        probe = tuple(
            format_decimal(number, locale=locale, format=None, group_separator=group, numbering_system=system)
            for number in (1234.5, 1234567.25, -1.5)
            for group in (True, False)
            for system in ("default", "latn")
        )
        seen.setdefault(probe, name)
    return tuple(seen.values())


def written_as(number: float, decimals: int, name: str, *, grouped: bool, native: bool) -> str:
    """A number as a locale writes it with so many decimals."""
    locale = Locale.parse(name)
    whole = locale.decimal_formats[None].pattern.split(";")[0].split(".")[0]
    form = f"{whole}.{'0' * decimals}" if decimals else whole
    system = "default" if native else "latn"
    return format_decimal(
        round(number, decimals), format=form, locale=locale, group_separator=grouped, numbering_system=system
    )


@lru_cache(maxsize=1)
def every_text() -> tuple[tuple[str, float, str], ...]:
    """(text, the number meant, the locale) of every number in every style, each text once for one number."""
    found = {
        (text, round(number, decimals)): name
        for name in styles()
        for number in MEANT
        for decimals in DECIMALS
        for grouped in (True, False)
        for native in (True, False)
        for text in [written_as(number, decimals, name, grouped=grouped, native=native)]
    }
    return tuple((text, number, name) for (text, number), name in found.items())
