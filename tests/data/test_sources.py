"""Every figure of the bundled tables says where it comes from, and every table says how it was made."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from kit.errors import UnknownNameError
from kit.library.sources import SOURCE_KINDS, is_firm, own_source, source_text, sources
from kit.resources import PACKAGE, load_table, resource_folder

TABLES = (
    "sources", "ingredients", "limits-eu", "limits-us", "substances", "properties", "compatibility", "viscosities",
    "aqueous", "aqueous-points", "ethanol-water", "hydrates", "propylene-glycol-water", "expansion", "stop-list-eu",
    "substance-names", "hlb", "freezing-curves",
)  # fmt: skip


@pytest.mark.parametrize("name", TABLES)
def test_each_table_says_where_it_comes_from(name: str) -> None:
    about = load_table(name).about
    for field in ("title", "issuer", "licence", "expected_agreement", "how_made"):
        assert len(about[field].strip()) > 5, field
    assert isinstance(about["as_of"], dt.date)
    assert about["units"]


@pytest.mark.parametrize("name", TABLES)
def test_units_and_notes_are_about_columns_that_exist(name: str) -> None:
    table = load_table(name)
    described = {*table.about["units"], *table.about.get("columns", {})}
    assert described <= set(table.rows[0])


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_as_many_cells_as_the_header(name: str) -> None:
    for row in load_table(name).rows:
        assert None not in row, row
        assert None not in row.values(), row


def test_source_keys_are_short_unique_and_of_a_known_kind() -> None:
    rows = load_table("sources").rows
    keys = [row["key"] for row in rows]
    assert len(set(keys)) == len(keys)
    for row in rows:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["key"]), row
        assert row["kind"] in SOURCE_KINDS, row
        assert len(row["citation"]) > 20, row


def test_every_source_is_cited_somewhere() -> None:
    cited = set()
    for table in (resource_folder("data")).glob("*/table.csv"):
        for row in load_table(table.parent.name).rows:
            cited |= {text for column, text in row.items() if re.search(r"(^|_)source(_key)?$", column)}
    code = "".join(path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py"))
    cited |= {key for key in sources() if f'"{key}"' in code}
    assert set(sources()) <= cited


def test_every_source_that_any_table_cites_is_listed() -> None:
    for table in (resource_folder("data")).glob("*/table.csv"):
        for row in load_table(table.parent.name).rows:
            keys = {text for column, text in row.items() if re.search(r"_source$|^source_key$", column) and text}
            assert keys <= set(sources()), (table.parent.name, row)


def test_habit_and_memory_are_named_as_such() -> None:
    assert source_text("common-practice").startswith("Common practice")
    assert source_text("from-memory").startswith("From memory")
    assert not is_firm("common-practice")
    assert not is_firm("from-memory")
    assert is_firm("codex-cxs-210")


def test_a_makers_own_figure_has_a_source_too() -> None:
    assert source_text("own") == "The maker's own figure"
    assert source_text(own_source("  data sheet of March ")) == "The maker's own figure: data sheet of March"
    assert own_source(" ") == "own"
    assert not is_firm("own: data sheet of March")


def test_an_unknown_key_is_named() -> None:
    with pytest.raises(UnknownNameError, match=r"There is no source 'hearsay'\. The sources are listed in"):
        source_text("hearsay")
