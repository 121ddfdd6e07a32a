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
    from kit.widgets.form import Form


def lotion() -> Formula:
    """Alcohol and water under an oil layer of two esters, in a bottle left on."""
    low = Phase("Spirit layer", "water", (Line("Aqua", "q.s.", "fill"), Line("Alcohol", "30"), Line("Glycerin", "3")))
    oil = Phase("Light layer", "oil", (Line("Isopropyl Palmitate", "12", "fill"), Line("Coco-Caprylate", "6")))
    return Formula("Spirit shake", (low, oil), description=Description(product_kind="leave-on"))


def sent(form: Form, texts: dict[str, str] | None = None, **content: Any) -> None:
    """What the browser sends when a hand types or presses."""
    form._receive(form, {"texts": texts or {}, "number": 1, **content}, [])


def unhurried() -> list[type[Panel]]:
    every = [getattr(kit, name) for name in dir(kit) if name.endswith("Panel")]
    return [kind for kind in every if isinstance(kind, type) and issubclass(kind, Panel) and kind.unhurried]


def test_it_is_done_once_after_the_last_asking() -> None:
    async def drag() -> list[int]:
        done: list[int] = []
        rest = AtRest(lambda: done.append(1), after=0.05)
        for _ in range(5):
            rest.ask()
            await asyncio.sleep(0.02)
            assert done == []
        await asyncio.sleep(0.1)
        rest.ask()
        rest.forget()
        await asyncio.sleep(0.1)
        rest.now()
        return done

    assert asyncio.run(drag()) == [1]


def test_slow_panels_follow_a_hand_elsewhere_and_quick_ones_are_there_at_once() -> None:
    kinds = unhurried()
    assert {kind.__name__ for kind in kinds} >= {"SeparationPanel", "DosingPanel", "OverItsLifePanel"}
    looked: list[str] = []

    async def slide() -> None:
        bench = Bench(lotion())
        ratio, slow = kit.RatioPanel(bench), [kind(bench) for kind in kinds]
        was = {panel: panel.refresh for panel in slow}
        for panel in slow:
            name = type(panel).__name__
            panel.refresh = lambda name=name, panel=panel: (looked.append(name), was[panel]())  # type: ignore[method-assign]
        for oil in (17.0, 16.0, 15.0):
            bench.move_oil(oil)
            assert ratio.ratio["mass"] == pytest.approx(oil)
        assert looked == []
        await asyncio.sleep(REST + 0.1)
        assert sorted(looked) == sorted(kind.__name__ for kind in kinds), "each once"

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
        assert panel._at_rest._waits is None, "the newest state was shown first"
        assert words(panel.answer) != before

    asyncio.run(type_in())
