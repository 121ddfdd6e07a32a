"""The European limits entry by entry: every figure of the annexes is there, and no other."""

from __future__ import annotations

import datetime as dt
import re

from kit.library.condition import read_condition
from kit.library.naming import same_name
from kit.resources import load_table
from tests.rows import each_of

ROWS = load_table("limits-eu").rows
BY_KEY = {row["key"]: row for row in ROWS}

# Regulation (EC) No 1223/2009, Annex V in the Commission's exports of 31 October 2025 and 26 May 2026: entry -> every
# maximum above nothing. [% w/w]
ANNEX_V = {
    1: {0.5, 1.7, 2.5}, 2: {2.0}, 3: {0.5}, 4: {0.6}, 7: {0.15, 0.2}, 9: {0.2}, 11: {0.5}, 12: {0.4, 0.8}, 13: {0.6},
    14: {0.5}, 15: {0.1}, 16: {0.007}, 18: {0.2}, 19: {0.1}, 20: {0.1}, 21: {0.1}, 22: {0.15}, 23: {0.2}, 24: {0.2},
    25: {0.3}, 26: {0.5}, 27: {0.6}, 28: {0.1}, 29: {1.0}, 30: {0.15}, 32: {0.2, 0.5}, 33: {0.6}, 34: {1.0},
    35: {0.5, 1.0}, 37: {0.1}, 38: {0.1}, 39: {0.0015}, 42: {0.3}, 43: {1.0}, 44: {0.1}, 45: {0.1}, 46: {0.5},
    47: {0.1}, 48: {0.1}, 49: {0.3}, 50: {0.3}, 51: {0.5}, 52: {0.004}, 53: {0.1}, 54: {0.1}, 55: {0.15},
    56: {0.0075, 0.01, 0.02}, 57: {0.0015}, 58: {0.15, 0.4}, 59: {0.2}, 60: {0.7}, 61: {1.0},
}  # fmt: skip
# The same of Annex III, in the exports of 31 October 2025 and 8 December 2025 and, from entry 379 and for the figures
# that Regulation (EU) 2026/909 brings, in the database of 28 April 2026. Direct hair dyes are below.
ANNEX_III = {
    2: {2.0, 5.0, 8.0, 11.0}, 3: {5.0}, 4: {6.0}, 5: {0.2}, 6: {3.0, 5.0}, 8: {2.0}, 9: {2.0}, 11: {0.5},
    12: {0.1, 2.0, 4.0, 12.0}, 14: {0.02}, 15: {1.5, 2.0, 4.5, 5.0, 7.0}, 16: {2.0}, 17: {0.2}, 18: {0.3},
    21: {0.2, 0.5}, 22: {0.5, 1.25}, 23: {2.0, 6.0}, 24: {0.1, 0.72, 1.0}, 25: {6.0}, 26: {0.15}, 44: {2.0},
    46: {0.003}, 48: {4.0}, 49: {1.0}, 50: {20.0}, 51: {0.03, 0.3}, 52: {5.0}, 53: {0.2, 1.5}, 54: {2.0},
    57: {2.1, 3.5}, 62: {2.5}, 63: {3.5}, 64: {4.5}, 65: {0.1, 3.0},
    70: {0.032, 0.063, 0.11, 0.15, 0.35, 0.6, 0.65, 1.2}, 72: {1.0}, 73: {0.02},
    75: {0.004, 0.2, 0.5, 0.7, 0.91, 1.3, 4.0}, 89: {0.01}, 93: {1.5}, 94: {0.7}, 95: {0.02}, 96: {0.03, 0.4, 1.0},
    97: {0.042, 0.56, 1.4}, 98: {0.5, 2.0, 3.0}, 99: {0.4, 0.45, 0.67, 6.7}, 100: {1.5},
    102: {0.0002, 0.001, 0.002, 0.004, 0.01}, 134: {2.0}, 152: {0.002}, 153: {0.1}, 154: {0.4}, 155: {0.6}, 156: {0.4},
    157: {0.02}, 159: {0.02}, 166: {0.002}, 169: {0.1}, 170: {0.1}, 171: {0.5}, 172: {0.2}, 173: {0.002}, 174: {0.3},
    175: {0.01}, 176: {0.5}, 177: {0.06}, 178: {0.002}, 179: {0.2}, 180: {0.6}, 181: {0.6},
    182: {0.1, 0.2, 0.5, 1.0, 2.5}, 183: {0.6}, 184: {0.6}, 185: {25.0}, 186: {0.1}, 187: {9.0}, 188: {2.0, 4.0},
    194: {0.01}, 196: {0.2}, 197: {0.8}, 257: {3.0, 4.0}, 286: {0.5, 1.0, 2.5}, 287: {3.0, 5.0},
    297: {2.6, 5.0, 7.0, 10.0}, 308: {0.01, 0.1}, 310: {2.0}, 312: {0.001}, 320: {25.0}, 321: {1.1, 1.4, 25.0},
    322: {6.25, 10.0}, 323: {0.1, 0.2}, 324: {0.002, 0.003, 0.009, 0.03, 0.04, 0.05, 0.06, 0.1, 0.6, 0.65, 2.52},
    325: {0.001, 0.1, 0.8}, 372: {0.465, 10.0}, 373: {0.007}, 374: {0.02}, 375: {1.0}, 376: {0.05, 0.3},
    377: {0.5, 2.0}, 378: {7.0}, 379: {0.05}, 380: {0.001, 0.1, 0.3, 0.5, 2.0},
    381: {0.15, 0.86, 0.89, 2.0, 3.13, 3.18, 3.24, 3.61, 3.81, 4.0, 6.7, 7.14, 7.73, 10.59, 14.62, 15.76, 23.0, 43.31},
    382: {0.05, 0.1, 0.2, 0.9},
}  # fmt: skip
# Most of a dye that works without an oxidiser, by its entry.
DIRECT_DYES = {
    189: 0.5, 190: 0.5, 191: 0.4, 192: 0.5, 193: 0.6, 195: 0.5, 204: 2.0, 208: 1.0, 210: 1.6, 214: 0.2, 215: 1.0,
    219: 2.6, 220: 2.0, 222: 2.0, 224: 2.0, 231: 0.1, 234: 0.28, 235: 0.15, 236: 0.2, 247: 2.8, 248: 1.85, 251: 1.0,
    252: 2.0, 253: 1.5, 254: 0.5, 255: 1.0, 256: 1.0, 258: 1.0, 262: 2.0, 264: 0.3, 265: 0.5, 266: 3.0, 267: 2.0,
    269: 1.0, 270: 0.4, 275: 1.0, 276: 1.0, 278: 0.5, 282: 3.0, 289: 0.2, 290: 0.3, 291: 0.5, 294: 0.2, 295: 0.5,
    296: 0.4, 304: 2.0, 305: 0.5, 317: 0.5, 318: 0.5, 319: 0.2, 326: 0.5, 383: 0.35,
    385: 1.5, 386: 0.5,
}  # fmt: skip


def figures(annex: str, *, dyes: bool) -> dict[int, set[float]]:
    found: dict[int, set[float]] = {}
    for row in ROWS:
        entry = re.match(rf"{annex}, entr(?:y|ies) (\d+)", row["entry"])
        is_dye = row["key"].startswith("hair-dye") and row["holds_for"] == "hair dye"
        if entry and is_dye is dyes and row["pending"] == "no" and 0 < float(row["max_percent"]) < 100:
            found.setdefault(int(entry[1]), set()).add(float(row["max_percent"]))
    return found


def test_annex_v_is_whole() -> None:
    found = figures("Annex V", dyes=False)
    assert found.pop(12) == ANNEX_V[12] | {0.14}  # entry 12a
    assert found == {entry: most for entry, most in ANNEX_V.items() if entry != 12}


def test_the_figures_of_annex_iii_are_those_of_the_annex() -> None:
    assert figures("Annex III", dyes=False) == ANNEX_III


def test_direct_hair_dyes_have_the_figures_of_the_annex() -> None:
    assert figures("Annex III", dyes=True) == {entry: {most} for entry, most in DIRECT_DYES.items()}


@each_of("row", ROWS, ids=lambda row: row["key"])
def test_a_row_is_written_as_the_table_asks(row: dict[str, str]) -> None:
    read_condition(row["holds_for"])
    assert {row["below"], row["conditional"], row["pending"]} <= {"yes", "no"}
    assert row["purpose"] in ("", "preservative")
    assert row["purpose"] == "" or row["entry"].startswith("Annex V")
    must_be_said = "yes" in (row["conditional"], row["pending"]) or float(row["max_percent"]) == 100
    assert row["scope"] or not must_be_said
    days = [dt.date.fromisoformat(day) for day in (row["from"], row["until"]) if day]
    assert days == sorted(days)
    assert not re.search(r"[.;]$|;;| {2}", row["scope"]), "a scope is joined to other words"
    assert len(row["substances"].split("; ")) == len(set(row["substances"].split("; ")))


@each_of(
    ("key", "before"),
    [
        ("phenylphenol-rinse-off", "phenylphenol-rinse-off-before"),
        ("zinc-salts-mouth-rinse", "zinc-salts-mouth-before"),
    ],
)
def test_an_amendment_takes_over_on_the_day_after(key: str, before: str) -> None:
    first, last = dt.date.fromisoformat(BY_KEY[key]["from"]), dt.date.fromisoformat(BY_KEY[before]["until"])
    assert first - last == dt.timedelta(days=1)


@each_of(
    ("key", "others"),
    [  # an entry with a list of products: what the list allows, and the row that rules the rest out
        ("kojic-elsewhere", {"kojic"}),
        ("arbutin-elsewhere", {"arbutin-face", "arbutin-body"}),
        ("climbazole-other-products", {"climbazole-leave-on", "climbazole-rinse-off", "climbazole-anti-dandruff"}),
        ("etidronic-elsewhere", {"etidronic-hair", "etidronic-soap"}),
        ("fluorides-elsewhere", {"fluorides-mouth"}),
        ("selenium-sulfide-elsewhere", {"selenium-sulfide-anti-dandruff"}),
    ],
)
def test_what_a_list_does_not_name_is_ruled_out(key: str, others: set[str]) -> None:
    assert float(BY_KEY[key]["max_percent"]) == 0
    assert BY_KEY[key]["conditional"] == "no"
    for other in others:
        assert BY_KEY[other]["substances"] == BY_KEY[key]["substances"]


def test_one_name_never_means_two_substances_that_are_limited_apart() -> None:
    """Isomers and salts that stand in one row may share a name; what has rows of its own may not."""
    spellings: dict[str, list[set[str]]] = {}
    for row in ROWS:
        names = row["substances"].split("; ")
        for known_as in {same_name(name) for name in names}:
            spellings.setdefault(known_as, []).append({name for name in names if same_name(name) == known_as})
    assert not {known_as for known_as, found in spellings.items() if not set.intersection(*found)}
