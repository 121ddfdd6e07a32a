"""The numbers of a workshop: asked once, kept in a file, used for every product beside it or in a folder below."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.__main__ import main
from kit.bench.balance import Balance
from kit.bench.batch_text import ByBottles, read_bottles
from kit.errors import EntryError, FileFaultsError, KitError
from kit.layers.bottle import bundled_bottles
from kit.product.beginning import starting_point
from kit.product.product import Product
from kit.product.workshop import WORKSHOP, Workshop, find_workshop, read_workshop, save_workshop, workshop_of
from kit.product_folder import make_product_folder
from kit.widgets.bench import open_product
from kit.widgets.scaling_panel import ScalingPanel

HERS = Workshop(
    balance=0.1, carries=2000.0, tolerance=2.0, bottle="round 250 mL", fill=250.0, batch=ByBottles(6, 250.0)
)


def toner() -> Product:
    return Product(starting_point("toner"))


@given(
    st.builds(
        Workshop,
        balance=st.none() | st.sampled_from([0.001, 0.01, 0.1]),
        carries=st.none() | st.floats(100, 5000),
        tolerance=st.none() | st.floats(0.01, 50),
        bottle=st.none() | st.sampled_from(sorted(bundled_bottles())),
        fill=st.none() | st.floats(1, 500),
        batch=st.none() | st.floats(1, 5000) | st.builds(ByBottles, st.integers(1, 99), st.integers(1, 500).map(float)),
    )
)
def test_what_is_kept_reads_back(tmp_path_factory: pytest.TempPathFactory, workshop: Workshop) -> None:
    path = tmp_path_factory.mktemp("w") / WORKSHOP
    save_workshop(workshop, path)
    found = read_workshop(path)
    assert found.balance == workshop.balance
    assert found.bottle == workshop.bottle
    for name in ("carries", "tolerance", "fill"):
        assert getattr(found, name) == (None if (was := getattr(workshop, name)) is None else pytest.approx(was))


def test_it_is_in_the_product_whatever_the_kit_would_take(tmp_path: Path) -> None:
    product = HERS.put_into(toner())
    assert product.balance == Balance(0.1, 2000.0)
    assert (product.order.by, product.order.bottles, product.fill) == ("bottles", 6, 250.0)
    assert product.bottle.name == "round 250 mL"
    assert product.known == {"batch", "balance"}
    assert Workshop().put_into(toner()) == toner()
    assert Workshop.of(product) == HERS


def test_a_comment_of_hers_stays(tmp_path: Path) -> None:
    path = tmp_path / WORKSHOP
    path.write_text('# the old one is with the neighbour\nbalance = "0.01 g"\n', encoding="utf-8")
    save_workshop(HERS, path)
    text = path.read_text(encoding="utf-8")
    assert text.startswith('# the old one is with the neighbour\nbalance = "0.1 g"\n')
    assert 'batch = "6 x 250 mL' in text


def test_every_fault_of_a_bad_file_is_a_sentence() -> None:
    bad = b'balanc = "0.1 g"\nbottle = "round 300 mL"\ntolerance = true\nfill = "much"\n'
    with pytest.raises(FileFaultsError) as told:
        workshop_of(bad, WORKSHOP)
    said = str(told.value)
    assert said.startswith("workshop.toml has 4 faults; nothing was changed.")
    assert "- balanc: a workshop has no such number. Did you mean balance?" in said
    assert "- tolerance: write it as a text in quotes, such as '1 %'." in said
    with pytest.raises(FileFaultsError, match="it reads 100 g, more than it carries, 50 g"):
        workshop_of(b'balance = "100 g"\ncarries = "50 g"\n', WORKSHOP)
    with pytest.raises(FileFaultsError, match="this is not TOML"):
        workshop_of(b"balance: 0.1", WORKSHOP)
    assert workshop_of(b"balance = 0.1\n", WORKSHOP).balance == 0.1


@given(st.binary(max_size=60))
def test_no_bytes_break_it(data: bytes) -> None:
    with suppress(KitError):
        workshop_of(data, WORKSHOP)


def test_it_is_found_beside_the_product_else_above(tmp_path: Path) -> None:
    folder = make_product_folder(tmp_path, starting_point("toner"))
    assert find_workshop(folder) is None
    assert open_product(folder).product.balance == Balance()
    save_workshop(HERS, tmp_path / WORKSHOP)
    bench = open_product(folder)
    assert (bench.workshop, bench.product.balance) == (tmp_path / WORKSHOP, Balance(0.1, 2000.0))
    save_workshop(Workshop(balance=0.01), folder / WORKSHOP)
    assert open_product(folder).product.balance == Balance(0.01)


def test_the_panel_keeps_it_where_it_was_found_else_beside_the_product(tmp_path: Path) -> None:
    folder = make_product_folder(tmp_path, starting_point("toner"))
    bench = open_product(folder)
    panel = ScalingPanel(bench)
    panel.form.type(grams="6 x 250 mL")
    panel.form.type(readability="0.1", capacity="2000")
    panel.form.press("keep")
    assert panel.form.said["sentence"].startswith("Kept in workshop.toml: balance reads 0.1 g, balance carries 2000 g")
    again = open_product(folder).product
    assert (again.balance, again.order, again.bottle) == (bench.balance, bench.order, bench.bottle)
    (folder / WORKSHOP).rename(tmp_path / WORKSHOP)
    bench = open_product(folder)
    panel = ScalingPanel(bench)
    panel.form.type(tolerance="3")
    panel.form.press("keep")
    assert read_workshop(tmp_path / WORKSHOP).tolerance == 3
    assert not (folder / WORKSHOP).exists()


def test_a_command_takes_it_and_what_is_said_stands_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = make_product_folder(tmp_path, starting_point("toner"))
    save_workshop(HERS, tmp_path / WORKSHOP)
    file = next(path for path in folder.glob("*.toml"))
    assert main(["sheet", str(file), "--out", "one.html"]) == 0
    assert "reads 0.1 g, carries 2000 g" in Path("one.html").read_text(encoding="utf-8")
    assert "small for a balance that reads 0.1 g" in capsys.readouterr().err
    assert main(["sheet", str(file), "--balance", "0.01 g", "--batch", "4 x 100 mL", "--out", "two.html"]) == 0
    two = Path("two.html").read_text(encoding="utf-8")
    assert "reads 0.01 g, carries 2000 g" in two
    assert "round 100 mL, 100 mL filled" in two
    other = tmp_path / "other.toml"
    other.write_text("balance = 0.001\ncarries = 200\n", encoding="utf-8")
    assert main(["sheet", str(file), "--workshop", str(other), "--out", "three.html"]) == 0
    assert "reads 0.001 g" in Path("three.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6 x 100 mL", ByBottles(6, 100.0)),
        ("6×100mL", ByBottles(6, 100.0)),
        ("12 bottles of 0.25 L", ByBottles(12, 250.0)),
        ("250 g", None),
    ],
)
def test_bottles_are_read_as_they_are_said(text: str, expected: ByBottles | None) -> None:
    assert read_bottles(text) == expected


def test_bottles_that_cannot_be_are_told() -> None:
    with pytest.raises(EntryError, match="is no bottle"):
        read_bottles("0 x 100 mL")
    with pytest.raises(KitError):
        read_bottles("6 x 100 g")


def test_a_bottle_is_filled_with_what_its_label_says_and_the_label_says_it() -> None:
    for bottle in bundled_bottles().values():
        assert bottle.nominal <= bottle.brimful
        product = toner().with_bottle(bottle)
        assert product.fill == bottle.nominal
        assert f"{bottle.nominal:g} mL" in product.label.text
