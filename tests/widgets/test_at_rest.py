"""Panels that take long follow once the hand rests; what it does in them is done on the newest state."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any

import pytest

import kit
from kit.formula.model import Formula, Line, Phase
from kit.library.description import Description
from kit.widgets.at_rest import REST, AtRest
from kit.widgets.bench import Bench
from kit.widgets.panel import Panel, forms_in
from tests.widgets.hands import words

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.widgets.form import Form


def lotion() -> Formula:
    """Alcohol and water under an oil layer of two esters, in a bottle left on."""
    low = Phase("Spirit layer", "water", (Line("Aqua", "q.s.", "fill"), Line("Alcohol", "30"), Line("Glycerin", "3")))
    oil = Phase("Light layer", "oil", (Line("Isopropyl Palmitate", "12", "fill"), Line("Coco-Caprylate", "6")))
    return Formula("Spirit shake", (low, oil), description=Description(product_kind="leave-on"))


def sent(form: Form, texts: dict[str, str] | None = None, **content: Any) -> None:
    """What the browser sends when a hand types or presses."""
    form._receive(form, {"texts": texts or {}, "number": 1, **content}, [])


def unhurried() -> list[Callable[[Bench], Panel]]:
    """The panels that take their time, by the list of what the kit offers."""
    every = [getattr(kit, name) for name in dir(kit) if name.endswith("Panel")]
    return [kind for kind in every if isinstance(kind, type) and issubclass(kind, Panel) and kind.unhurried]


def test_each_is_done_once_after_the_last_asking_and_a_hand_that_goes_on_goes_first() -> None:
    done: list[str] = []
    first, second, third = (AtRest(lambda name=name: done.append(name)) for name in ("first", "second", "third"))

    async def drag() -> None:
        for _ in range(4):
            first.ask()
            second.ask()
            third.ask()
            await asyncio.sleep(REST / 4)
            assert done == []
        third.forget()
        await asyncio.sleep(REST)
        assert done[:1] == ["first"]
        await asyncio.sleep(0.2)
        assert done == ["first", "second"]
        first.ask()
        first.now()
        first.now()
        await asyncio.sleep(REST + 0.1)

    asyncio.run(drag())
    assert done == ["first", "second", "first"]


def test_one_that_fails_does_not_keep_the_others_waiting() -> None:
    done: list[str] = []

    def fail() -> None:
        raise ValueError

    async def both() -> None:
        asyncio.get_running_loop().set_exception_handler(
            lambda _, context: done.append(type(context["exception"]).__name__)
        )
        AtRest(fail).ask()
        AtRest(lambda: done.append("drawn")).ask()
        await asyncio.sleep(REST + 0.2)

    asyncio.run(both())
    assert done == ["ValueError", "drawn"]


def note(panel: Panel, looked: list[str]) -> None:
    """Let a panel write down that it shows itself anew."""
    refresh = panel.refresh

    def noted() -> None:
        looked.append(type(panel).__name__)
        refresh()

    panel.__dict__["refresh"] = noted


def test_slow_panels_follow_a_hand_elsewhere_and_quick_ones_are_there_at_once() -> None:
    kinds = unhurried()
    looked: list[str] = []

    async def slide() -> None:
        bench = Bench(lotion())
        ratio, slow = kit.RatioPanel(bench), [kind(bench) for kind in kinds]
        for panel in slow:
            note(panel, looked)
        for oil in (17.0, 16.0, 15.0):
            bench.move_oil(oil)
            assert ratio.ratio["mass"] == pytest.approx(oil)
        assert looked == []
        for _ in range(100):
            await asyncio.sleep(0.1)
            if len(looked) >= len(kinds):
                break
        assert sorted(looked) == sorted(type(panel).__name__ for panel in slow), "each once"
        assert {*looked} >= {"SeparationPanel", "DosingPanel", "OverItsLifePanel"}

    asyncio.run(slide())


def test_a_press_in_a_slow_panel_works_with_what_is_in_hand_now() -> None:
    async def take() -> None:
        bench = Bench(lotion())
        panel = kit.SubstitutePanel(bench)
        panel.form.type(line="Isopropyl Palmitate")
        bench.apply({"kind": "set_entry", "phase": 1, "line": 0, "text": "10"})
        panel.form.type(line="Isopropyl Palmitate")
        chosen = panel.parts[0][0]
        sent(panel.form, kind="press", name="take")
        assert [line.material for line in bench.formula.phases[1].lines] == [chosen, "Coco-Caprylate"]
        assert bench.formula.phases[1].lines[0].entry == "10"
        assert "took the place of Isopropyl Palmitate" in panel.form.said["sentence"]
        bench.undo()
        await asyncio.sleep(REST + 0.1)
        assert panel.result is not None
        assert panel.result.wanted.name in ("Isopropyl Palmitate", "Coco-Caprylate", "Aqua", "Alcohol")

    asyncio.run(take())


def test_what_is_typed_in_a_slow_panel_is_answered_at_once() -> None:
    async def type_in() -> None:
        bench = Bench(lotion())
        panel = kit.ColdAndWarmPanel(bench)
        assert next(forms_in(panel), None) is not None
        bench.move_oil(25)
        before = words(panel.answer)
        sent(panel.temperature, {"celsius": "5"})
        assert not panel._at_rest.is_asked, "the newest state was shown first"
        assert words(panel.answer) != before

    asyncio.run(type_in())
