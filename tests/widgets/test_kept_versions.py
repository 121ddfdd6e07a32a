"""Random work at the panels against a simple model: what was kept stays kept, what is in hand is what was typed.

The model knows nothing of ratios but this: moving changes no typed text, and the way home is the identity.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from kit.formula.amounts import read_amount
from kit.formula.files import read_formula
from kit.formula.model import Formula, Line, Phase
from kit.formula.versions import version_label, versions
from kit.widgets.bench import Bench, open_bench
from kit.widgets.formula_panel import FormulaPanel
from kit.widgets.ratio_panel import RatioPanel
from kit.widgets.scaling_panel import ScalingPanel
from kit.widgets.versions_panel import VersionsPanel
from tests.widgets.hands import entries, flat, said, typed

#: A cuticle soak with more oil than water, which no demo is.
SOAK = Formula(
    "Cuticle soak",
    (
        Phase("Oils", "oil", (Line("Squalane", "57.5", "fill"), Line("Tocopherol", "2.5"))),
        Phase(
            "Waters",
            "water",
            (Line("Aqua", "q.s.", "fill"), Line("Propanediol", "1.5"), Line("Sodium Benzoate", "0.4", "level")),
        ),
    ),
)
MANY = 25
#: Phase and line of amounts that a hand types, and whether the line stays put beside q.s. when the ratio moves.
PLACES = {(0, 1): False, (1, 1): False, (1, 2): True}
AMOUNTS = ["0.5", "2,5", "1.4142135", "800 ppm", "0.00044", "3 %"]


@dataclass(frozen=True)
class Hand:
    """What is in hand: the typed text of every line, and where the oil layer was moved to."""

    typed: tuple[tuple[str, ...], ...]
    oil: float | None = None

    @property
    def oil_as_typed(self) -> float:
        return sum(read_amount(text).value for text in self.typed[0])


@dataclass
class Model:
    """What must be true, as simply as it can be said."""

    hand: Hand
    kept: dict[int, Formula]
    undo: list[Hand] = field(default_factory=list)
    redo: list[Hand] = field(default_factory=list)
    is_moving: bool = False
    on_disk: tuple[Hand, dict[int, Formula]] | None = None

    def take(self, hand: Hand) -> None:
        if hand != self.hand:
            self.undo.append(self.hand)
            self.redo.clear()
            self.hand = hand

    def move(self, hand: Hand) -> None:
        """One move after another is one step; there and back is none."""
        if hand == self.hand:
            return
        if not self.is_moving:
            self.take(hand)
            self.is_moving = True
        else:
            self.hand = hand
            if self.undo[-1] == hand:
                self.undo.pop()
                self.is_moving = False


class Work(RuleBasedStateMachine):
    """A maker at four panels of one bench, and the file beside them."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = TemporaryDirectory()
        self.file = Path(self.folder.name) / "soak.toml"

    def teardown(self) -> None:
        self.folder.cleanup()

    @initialize()
    def sit_down(self) -> None:
        self.bench = Bench(SOAK)
        self.model = Model(Hand(tuple(map(tuple, entries(SOAK)))), {1: SOAK})
        self.lay_out()

    def lay_out(self) -> None:
        """The panels, before anything is done; their boxes show the ratio as it is."""
        self.writing, self.ratio = FormulaPanel(self.bench), RatioPanel(self.bench)
        self.scaling, self.versions = ScalingPanel(self.bench), VersionsPanel(self.bench)
        self.writing.files.type(file=str(self.file))

    # ---- what a maker does ------------------------------------------------------------------------------

    @rule(place=st.sampled_from(sorted(PLACES)), text=st.sampled_from(AMOUNTS))
    def type(self, place: tuple[int, int], text: str) -> None:
        before, (p, i) = self.bench.formula, place
        typed(self.bench, p, i, text)
        rows = [list(row) for row in self.model.hand.typed]
        stays = self.model.hand.oil is None or PLACES[place] or rows[p][i] == text
        if self.model.hand.oil is not None and not PLACES[place]:
            shown, number = flat(before), [(0, 0), (0, 1), (1, 0), (1, 1), (1, 2)].index(place)
            shown[number] = read_amount(text).value
            now = flat(self.bench.formula)
            rest = 2  # q.s. gives what it takes
            assert [*now[:rest], *now[rest + 1 :]] == pytest.approx([*shown[:rest], *shown[rest + 1 :]], abs=1e-9)
            stays = self.bench.formula.ratio is not None
            if not stays:
                rows = [list(row) for row in entries(self.bench.formula)]
                assert self.bench.told
        rows[p][i] = text
        hand = Hand(tuple(map(tuple, rows)), self.model.hand.oil if stays else None)
        if hand != self.model.hand:
            self.model.is_moving = False
        self.model.take(hand)
        self.model.is_moving = False

    @rule(oil=st.sampled_from([10.0, 20.0, 30.0, 50.0, 72.5, 85.0]))
    def move(self, oil: float) -> None:
        if round(self.ratio.ratio["mass"], 4) != oil:
            self.ratio.ratio.type(mass=oil)
            home = abs(oil - self.model.hand.oil_as_typed) < 1e-9
            self.model.move(replace(self.model.hand, oil=None if home else oil))

    @rule()
    def move_home(self) -> None:
        if self.model.hand.oil is not None:
            self.ratio.ratio.type(mass=f"{self.model.hand.oil_as_typed:.6g}")
            self.model.move(replace(self.model.hand, oil=None))

    @rule()
    def keep(self) -> None:
        before = self.bench.formula
        number = max(self.model.kept) + 1
        self.ratio.versions.type(note=f"the {number}th")
        self.ratio.versions.press("keep")
        assert f"Kept as version {number}" in said(self.ratio.versions)
        new = self.bench.kept[-1]
        assert (new.version, new.change_note) == (number, f"the {number}th")
        assert flat(new) == pytest.approx(flat(before), abs=0.002)
        assert (self.bench.formula.phases, self.bench.formula.percents) == (before.phases, before.percents)
        self.model.kept[number] = new
        self.model.is_moving = False
        if self.bench.file is not None:
            self.model.on_disk = (self.model.hand, dict(self.model.kept))

    @rule()
    def undo(self) -> None:
        self.bench.apply({"kind": "undo"})
        if self.model.undo:
            self.model.redo.append(self.model.hand)
            self.model.hand = self.model.undo.pop()
            self.model.is_moving = False

    @rule()
    def redo(self) -> None:
        self.bench.apply({"kind": "redo"})
        if self.model.redo:
            self.model.undo.append(self.model.hand)
            self.model.hand = self.model.redo.pop()
            self.model.is_moving = False

    @rule()
    def save(self) -> None:
        self.writing.files.press("save")
        assert "Saved soak.toml" in said(self.writing.files), said(self.writing.files)
        self.model.on_disk = (self.model.hand, dict(self.model.kept))

    @precondition(lambda self: self.model.on_disk is not None)
    @rule()
    def come_back_another_day(self) -> None:
        assert self.model.on_disk is not None
        hand, kept = self.model.on_disk
        self.bench = open_bench(self.file)
        self.model = Model(hand, dict(kept), on_disk=(hand, dict(kept)))
        self.lay_out()

    @rule(number=st.integers(1, 4))
    def take_a_version(self, number: int) -> None:
        offered = {old.version: version_label(old) for old in self.bench.formula.earlier}
        if number in offered:
            self.versions.form.type(version=offered[number])
            self.versions.form.press("take")
            self.model.take(Hand(tuple(map(tuple, entries(self.model.kept[number])))))
            self.model.is_moving = False

    @rule(by=st.sampled_from(["bottles", "mass"]))
    def make_by(self, by: str) -> None:
        before = self.bench.formula, self.bench.order.grams
        self.scaling.form.type(by=f"by {by}")
        assert (self.bench.formula, self.bench.order.grams) == before

    # ---- what must be true ------------------------------------------------------------------------------

    @invariant()
    def every_kept_version_is_there_bit_by_bit(self) -> None:
        if hasattr(self, "model"):
            assert {old.version: old for old in self.bench.kept} == self.model.kept

    @invariant()
    def what_is_in_hand_is_what_was_typed(self) -> None:
        if not hasattr(self, "model"):
            return
        hand, formula = self.model.hand, self.bench.formula
        assert tuple(map(tuple, entries(formula))) == hand.typed
        assert (formula.ratio.oil if formula.ratio else None) == hand.oil
        assert formula.is_complete
        assert formula.phase_total(0) == pytest.approx(hand.oil_as_typed if hand.oil is None else hand.oil, abs=1e-9)

    @invariant()
    def a_number_is_printed_alone_only_where_it_is_true(self) -> None:
        if not hasattr(self, "model"):
            return
        formula, kept = self.bench.formula, self.model.kept
        is_one = [number for number, version in kept.items() if version.phases == formula.phases and not formula.ratio]
        assert (version_label(formula) in [f"version {number}" for number in is_one]) is bool(is_one)

    @invariant()
    def nothing_on_disk_is_older_than_what_was_acknowledged(self) -> None:
        if not hasattr(self, "model") or self.model.on_disk is None:
            return
        hand, kept = self.model.on_disk
        found = read_formula(self.file)
        assert {old.version: old for old in versions(found)} == kept
        assert tuple(map(tuple, entries(found))) == hand.typed
        assert (found.ratio.oil if found.ratio else None) == hand.oil


@pytest.mark.parametrize("steps", [8, pytest.param(24, marks=pytest.mark.slow)])
def test_what_was_kept_stays_kept(steps: int) -> None:
    run_state_machine_as_test(Work, settings=settings(max_examples=MANY, stateful_step_count=steps, deadline=None))
