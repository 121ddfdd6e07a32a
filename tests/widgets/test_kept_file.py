"""A panel's file: a change by others is told, both are kept, a person chooses; and no form changes a digit."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from kit.bench.price_list import demo_prices, read_prices, save_prices
from kit.demos import demo
from kit.errors import ChangedOnDiskError
from kit.formula.files import read_formula, save_formula
from kit.label.particulars import particulars_file, save_particulars
from kit.label.statements import read_statement, save_statements
from kit.library.ingredient import Ingredient
from kit.library.own import OWN_FILE, read_own, save_own
from kit.saving import KEPT, earlier_saves, save_text
from kit.stability.plan import every_attribute, plans
from kit.stability.plan_files import read_plan, save_plan
from kit.widgets.bench import Bench, open_bench
from kit.widgets.cost_panel import CostPanel
from kit.widgets.formula_panel import FormulaPanel
from kit.widgets.label_panel import LabelPanel
from kit.widgets.library_panel import LibraryPanel
from kit.widgets.stability_panel import StabilityPanel
from tests.widgets.hands import HOSTILE, html_of, rows, said, two_layers, typed, words

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.widgets.kept_file import KeptFile

FILE = Path("shake.toml")


@pytest.fixture
def windows() -> tuple[FormulaPanel, FormulaPanel]:
    """Two windows on one formula."""
    save_formula(two_layers(), FILE)
    return FormulaPanel(open_bench(FILE)), FormulaPanel(open_bench(FILE))


def choices(kept: KeptFile) -> list[str]:
    """The earlier saves that are offered, the latest first."""
    return [option for field in kept.form.fields for option in field["options"]]


def glycerin(data: bytes | Path) -> str:
    path = Path("looked_at.toml") if isinstance(data, bytes) else data
    if isinstance(data, bytes):
        path.write_bytes(data)
    return read_formula(path).phases[0].lines[1].entry


def both_write(windows: tuple[FormulaPanel, FormulaPanel]) -> FormulaPanel:
    """The one window saves 6 %, then the other, which never saw that, would save 5 %."""
    first, second = windows
    typed(first.bench, 0, 1, "6")
    first.files.press("save")
    assert said(first.files) == "Saved shake.toml."
    typed(second.bench, 0, 1, "5")
    second.files.press("save")
    return second


def test_the_second_window_is_told_and_nothing_is_written(windows: tuple[FormulaPanel, FormulaPanel]) -> None:
    second = both_write(windows)
    assert glycerin(FILE) == "6"
    assert second.kept.is_asking
    question = words(second.kept.question)
    assert question.startswith(
        "▲ shake.toml was changed in another window or by another program since it was opened here. Nothing was "
        "written yet. On the disk: Shake, version 1, changed since, 5 lines, saved "
    )
    assert "Against yours it has: Glycerin ▲ more: 5 % to 6 %; Aqua ▼ less: 79.6 % to 78.6 %. Whichever" in question
    assert said(second.files) == ""
    assert second.kept.form.actions["beside"].words == "Save mine as shake_2.toml"


def test_theirs_is_opened_and_mine_is_kept(windows: tuple[FormulaPanel, FormulaPanel]) -> None:
    second = both_write(windows)
    second.kept.form.press("theirs")
    assert second.bench.formula.phases[0].lines[1].entry == "6"
    assert glycerin(FILE) == "6"
    assert glycerin(earlier_saves(FILE)[0].read()) == "5"
    assert not second.kept.is_asking
    assert "Yours is the latest of the earlier saves of shake.toml." in said(second.kept.form)
    second.bench.undo()
    assert second.bench.formula.phases[0].lines[1].entry == "5"


def test_mine_is_saved_over_theirs_and_theirs_is_kept(windows: tuple[FormulaPanel, FormulaPanel]) -> None:
    second = both_write(windows)
    second.kept.form.press("over")
    assert glycerin(FILE) == "5"
    assert glycerin(earlier_saves(FILE)[0].read()) == "6"
    first = windows[0]
    typed(first.bench, 0, 1, "7")
    first.files.press("save")
    assert first.kept.is_asking


def test_mine_is_saved_under_another_name_and_the_window_goes_on_there(
    windows: tuple[FormulaPanel, FormulaPanel],
) -> None:
    second = both_write(windows)
    second.kept.form.press("beside")
    assert (glycerin(FILE), glycerin(Path("shake_2.toml"))) == ("6", "5")
    assert second.files.texts["file"] == "shake_2.toml"
    typed(second.bench, 0, 1, "8")
    second.files.press("save")
    assert (glycerin(FILE), glycerin(Path("shake_2.toml"))) == ("6", "8")


def test_changed_again_while_one_thinks_it_is_asked_again(
    windows: tuple[FormulaPanel, FormulaPanel], monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = windows[0], both_write(windows)
    look = second.bench.seen.look

    def late(path: Path | str) -> None:
        look(path)
        typed(first.bench, 0, 1, "9")
        first.files.press("save")

    monkeypatch.setattr(second.bench.seen, "look", late)
    second.kept.form.press("over")
    assert glycerin(FILE) == "9"
    assert second.kept.is_asking
    monkeypatch.setattr(second.bench.seen, "look", look)
    second.kept.form.press("over")
    assert glycerin(FILE) == "5"


def test_both_start_from_the_demo_under_one_name() -> None:
    first, second = (FormulaPanel(open_bench("mine.toml", start_from="after_swim_body_shake")) for _ in range(2))
    first.files.press("save")
    typed(second.bench, 0, 1, "3")
    second.files.press("save")
    assert "mine.toml is there already and was not opened here." in words(second.kept.question)
    assert read_formula("mine.toml") == demo()


def test_a_script_gets_the_sentence(windows: tuple[FormulaPanel, FormulaPanel]) -> None:
    second = both_write(windows)
    with pytest.raises(ChangedOnDiskError, match=r"shake\.toml was changed in another window"):
        second.bench.save()
    second.bench.seen.look(FILE)
    second.bench.save()
    assert glycerin(FILE) == "5"


def test_what_stands_in_the_file_is_no_html() -> None:
    panel = FormulaPanel(open_bench("mine.toml"))
    save_formula(two_layers(title=HOSTILE), "mine.toml")
    panel.files.press("save")
    panel.kept.form.press("saves")
    panel.kept.form.press("over")
    assert "<img" not in html_of(panel)


# ---- earlier saves ------------------------------------------------------------------------------------------


def test_the_saves_are_listed_with_what_taking_them_back_would_change() -> None:
    panel = FormulaPanel(Bench(two_layers()))
    panel.kept.form.press("saves")
    assert "has no earlier saves yet" in words(panel.kept.table)
    assert "back" in panel.kept.form.hidden
    for amount in ("5", "6"):
        panel.files.press("save")
        typed(panel.bench, 0, 1, amount)
    panel.files.press("save")
    found = rows(panel.kept.table)
    assert [row[0] for row in found] == ["2", "1"]
    assert [row[2] for row in found] == ["Shake, version 1, changed since, 5 lines", "Shake, version 1, 5 lines"]
    assert found[1][3] == "Glycerin ▼ less: 6 % to 4 %; Aqua ▲ more: 78.6 % to 80.6 %"
    panel.kept.form.type(chosen=choices(panel.kept)[-1])
    panel.kept.form.press("back")
    assert panel.bench.formula == read_formula(FILE) == two_layers()
    assert said(panel.kept.form).startswith("shake.toml holds again what was saved on ")
    panel.kept.form.type(chosen=choices(panel.kept)[-3])
    panel.kept.form.press("back")
    assert panel.bench.formula.phases[0].lines[1].entry == "6"
    panel.bench.undo()
    assert panel.bench.formula == two_layers()


# ---- every panel that keeps a file --------------------------------------------------------------------------


@dataclass(frozen=True)
class Kind:
    """A panel with a file: how others write it, how this panel opens it and saves something of its own."""

    file: Path
    theirs: Callable[[Path, int], object]
    panel: Callable[[], Any]
    kept: Callable[[Any], KeptFile]
    mine: Callable[[Any], None]
    read: Callable[[Path], Any]


def _prices(path: Path, number: int) -> None:
    save_prices(replace(demo_prices(), prices=demo_prices().prices[: number + 1]), path)


def _my_price(panel: CostPanel) -> None:
    panel.form.type(name="Urea", pack="1 kg", price="7.1255")
    panel.form.press("put")
    panel.files.press("save")


def _my_ingredient(panel: LibraryPanel) -> None:
    panel.form.type(inci="Cera Mea")
    panel.form.press("save")


def _my_label(panel: LabelPanel) -> None:
    panel.form.type(function="my own words")
    panel.files.press("save")


def _my_statement(panel: LabelPanel) -> None:
    panel.allergens.form.type(contents="Linalool 5")
    panel.allergens.form.press("note")


STATEMENTS = Path("allergen_statements.csv")
KINDS = {
    "prices": Kind(
        Path("prices.csv"), _prices, lambda: CostPanel(Bench(demo())), lambda p: p.kept, _my_price, read_prices
    ),
    "own ingredients": Kind(
        Path(OWN_FILE),
        lambda path, n: save_own(path, [Ingredient(f"Cera {n}", own=True)]),
        lambda: LibraryPanel(Bench()),
        lambda p: p.kept,
        _my_ingredient,
        read_own,
    ),
    "particulars": Kind(
        particulars_file(demo().title),
        lambda path, n: save_particulars(path, {"function": f"theirs {n}"}),
        lambda: LabelPanel(Bench(demo())),
        lambda p: p.kept,
        _my_label,
        lambda path: path.read_text(encoding="utf-8"),
    ),
    "statements": Kind(
        STATEMENTS,
        lambda path, n: save_statements(path, {"x": read_statement("Other", f"Citral {n + 1}")}),
        lambda: LabelPanel(Bench(demo())),
        lambda p: p.allergens.kept,
        _my_statement,
        lambda path: path.read_text(encoding="utf-8"),
    ),
}


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("choice", ["theirs", "over", "beside"])
def test_whichever_is_chosen_both_are_still_there(kind: Kind, choice: str) -> None:
    kind.theirs(kind.file, 1)
    panel = kind.panel()
    kept = kind.kept(panel)
    kind.theirs(kind.file, 2)
    theirs = kind.file.read_bytes()
    kind.mine(panel)
    assert kind.file.read_bytes() == theirs
    assert kept.is_asking
    kept.form.press(choice)
    assert not kept.is_asking, said(kept.form)
    there = {
        "theirs": [kind.file.read_bytes(), earlier_saves(kind.file)[0].read()],
        "over": [earlier_saves(kind.file)[0].read(), kind.file.read_bytes()],
        "beside": [kind.file.read_bytes(), *(path.read_bytes() for path in Path().glob("*_2.csv"))],
    }[choice]
    assert there[0] == theirs
    mine = there[1].decode()
    assert any(word in mine for word in ("Urea", "Cera Mea", "my own words", "Linalool"))


def test_a_plan_of_ones_own_that_changed_is_told() -> None:
    path = Path("autumn.plan.toml")
    save_plan(path, replace(plans()["freeze-thaw"], key="autumn", title="autumn"))
    panel = StabilityPanel("stability.log.db", formula_title="Shake")
    start = panel.start
    start.form.type(plan="own: autumn")
    start.saving.type(name="autumn")
    before = path.read_bytes()
    start.saving.press("save")
    assert path.read_bytes() == before  # saved as it was opened: not a byte
    theirs = replace(read_plan(path), about="theirs")
    save_plan(path, theirs)
    start.saving.type(name="autumn")
    start.saving.press("save")
    assert start.kept.is_asking
    start.kept.form.press("theirs")
    assert read_plan(path) == theirs
    assert read_plan(earlier_saves(path)[0].path).about != "theirs"


# ---- a form changes no digit --------------------------------------------------------------------------------

DIGITS = st.text(st.sampled_from("0123456789"), min_size=1, max_size=17)
#: Numbers above 0 as a person types them, also with more digits than a float prints.
NUMBERS = (
    st.one_of(
        st.tuples(st.integers(0, 99_999), DIGITS).map(lambda parts: f"{parts[0]}.{parts[1]}"),
        st.integers(1, 10**6).map(str),
        st.floats(1e-3, 1e6).map(repr),
    )
    .filter(lambda text: float(text) >= 1e-3)
    .filter(lambda text: not (len(text.partition(".")[2]) == 3 and not text.startswith("0")))
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=3), NUMBERS, st.booleans())
def test_a_price_that_is_reopened_and_set_unchanged_changes_no_byte(
    bought: list[tuple[str, str]], per_bottle: str, comma: bool
) -> None:
    lines = [["material", "amount", "unit", "price", "currency", "per_bottle"]]
    lines += [[f"Material {n}", amount, "g", price, "EUR", ""] for n, (amount, price) in enumerate(bought)]
    lines.append(["bottle", "24", "pieces", bought[0][1], "EUR", per_bottle])
    text = "\r\n".join(";".join(line) for line in lines) + "\r\n"
    path = Path("prices.csv")
    path.write_bytes((text.replace(".", ",") if comma else text).encode())
    before = path.read_bytes()
    panel = CostPanel(Bench(demo()))
    for name in ["bottle", *(f"Material {n}" for n in range(len(bought)))]:
        panel.form.type(name=name)
        panel.form.press("put")
        assert panel.form.said["severity"] == "note", said(panel.form)
    panel.files.press("save")
    assert "Saved to prices.csv" in said(panel.files)
    assert path.read_bytes() == before


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(NUMBERS, NUMBERS, st.floats(0.5, 2), st.floats(1, 99))
def test_an_own_ingredient_that_is_reopened_and_saved_unchanged_changes_no_byte(
    price: str, amount: str, density: float, share: float
) -> None:
    path = Path(OWN_FILE)
    path.write_bytes(
        (
            "inci;density_g_ml;composition;price;currency;pack_amount;pack_unit\r\n"
            f'Cera Nova;{density!r};"Squalane {share!r}; Tocopherol {100 - share!r}";{price};EUR;{amount};g\r\n'
            "Cera Tua;0.96;;;;;\r\n"
        ).encode()
    )
    before = path.read_bytes()
    panel = LibraryPanel(Bench())
    panel.search.type(words="Cera Nova")
    panel.chosen.type(inci="Cera Nova")
    panel.form.press("take")
    panel.form.press("save")
    assert "Cera Nova is kept in my_ingredients.csv." in said(panel.form)
    assert path.read_bytes() == before


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.dictionaries(st.sampled_from(["function", "content", "storage", "warnings", "durability_months"]), NUMBERS))
def test_a_label_that_is_reopened_and_saved_unchanged_changes_no_byte(particulars: dict[str, str]) -> None:
    path = particulars_file(demo().title)
    text = "particular;text\r\n" + "".join(f"{name};{words}\r\n" for name, words in particulars.items())
    path.write_bytes(text.encode())
    panel = LabelPanel(Bench(demo()))
    panel.files.press("save")
    assert path.read_bytes() == text.encode()


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(NUMBERS, st.sampled_from(["g", "kg"]))
def test_a_batch_mass_is_shown_with_all_its_digits(number: str, unit: str) -> None:
    FILE.write_text(f'title = "T"\nwritten_for = "{number} {unit}"\n[[phase]]\n[[phase.line]]\namount = "1 g"\n')
    before = FILE.read_bytes()
    panel = FormulaPanel(open_bench(FILE))
    mass = panel.bench.formula.written_for
    panel.about.type(written_for=panel.about.texts["written_for"] + " ")
    panel.about.type(written_for=panel.about.texts["written_for"].strip())
    assert panel.bench.formula.written_for == mass
    panel.files.press("save")
    assert FILE.read_bytes() == before


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.tuples(st.floats(0, 14), st.floats(0, 14)).filter(lambda limits: limits[0] < limits[1]))
def test_limits_that_are_reopened_and_set_unchanged_change_no_byte(limits: tuple[float, float]) -> None:
    path, ready = Path("autumn.plan.toml"), plans()["freeze-thaw"]
    ph = replace(every_attribute()["ph"], lower=limits[0], upper=limits[1], change=None, source="mine")
    others = tuple(one for one in ready.attributes if one.key != "ph")
    save_plan(path, replace(ready, key="autumn", title="autumn", attributes=(ph, *others)))
    before = path.read_bytes()
    start = StabilityPanel("stability.log.db", formula_title="Shake").start
    start.form.type(plan="own: autumn")
    start.saving.type(name="autumn")
    start.change_box.selected_index = 0
    start.change.limits.type(attribute="ph")
    start.change.limits.press("set")
    assert said(start.change.limits).startswith("pH:")
    start.saving.press("save")
    assert said(start.saving).startswith("Saved autumn.plan.toml")
    assert path.read_bytes() == before


class TwoWindows(RuleBasedStateMachine):
    """Two windows on one file, and a person with a text editor: what was told to be saved is never lost."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory()
        self.file = Path(self.folder.name) / "f.toml"
        save_formula(two_layers(), self.file)
        self.windows = [FormulaPanel(open_bench(self.file)) for _ in range(2)]
        for window in self.windows:
            window.files.type(file=str(self.file))
        self.wrote: list[str] = []
        self.number = 4

    def glycerin(self, path: Path) -> str:
        return read_formula(path).phases[0].lines[1].entry

    def told(self, amount: str) -> None:
        """A state that the file held, or that was promised to be kept."""
        self.wrote = [*(each for each in self.wrote if each != amount), amount][-KEPT:]

    @rule(who=st.integers(0, 1))
    def types(self, who: int) -> None:
        self.number += 1
        typed(self.windows[who].bench, 0, 1, str(self.number))

    @rule(who=st.integers(0, 1), choice=st.sampled_from(["theirs", "over"]))
    def saves(self, who: int, choice: str) -> None:
        window = self.windows[who]
        mine, there = window.bench.formula.phases[0].lines[1].entry, self.glycerin(self.file)
        window.files.press("save")
        if window.kept.is_asking:
            assert self.glycerin(self.file) == there
            window.kept.form.press(choice)
            assert not window.kept.is_asking
        self.told(mine)
        if choice == "over":
            assert self.glycerin(self.file) == mine

    @rule()
    def a_person_edits(self) -> None:
        self.number += 1
        text = self.file.read_text(encoding="utf-8")
        save_text(self.file, re.sub(r'(ingredient = "Glycerin"\namount = )"\d+"', rf'\1"{self.number}"', text))
        self.told(str(self.number))

    @rule(who=st.integers(0, 1), which=st.integers(0, 9))
    def takes_back(self, who: int, which: int) -> None:
        kept = self.windows[who].kept
        if not kept.table.value:
            kept.form.press("saves")
        if offered := choices(kept):
            kept.form.type(chosen=offered[which % len(offered)])
            kept.form.press("back")

    @invariant()
    def everything_told_is_there(self) -> None:
        there = {self.glycerin(path) for path in (self.file, *(save.path for save in earlier_saves(self.file)))}
        assert set(self.wrote) <= there

    def teardown(self) -> None:
        self.folder.cleanup()


TestTwoWindows = TwoWindows.TestCase
TestTwoWindows.settings = settings(max_examples=10, stateful_step_count=15, deadline=None)


def test_no_widget_is_left_without_words() -> None:
    """Every button of the choice says what it does, and why both states stay."""
    kept = FormulaPanel(Bench(two_layers())).kept
    assert {"theirs", "over", "beside", "back"} <= set(kept.form.actions)
    for button in kept.form.actions.values():
        assert button.words
        assert button.help
