"""The formula table in Chromium: keys, mouse, paste, names for screen readers, contrast and width.

The page holds the table alone, over a stand-in for the widget model; each test plays Python's part.
"""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any

import pytest

from kit.widgets.formula_table import FormulaTable
from kit.widgets.formula_table.table import HOLDS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, Locator, Page, Request

NAMES = [
    ["Aqua", "water"],
    ["Glycerin", "glycerol"],
    ["Glyceryl Oleate", "oleic acid ester"],
    ["Helianthus Annuus Seed Oil", "sunflower oil"],
    ["Hydroxyethylcellulose", "cellulose gum"],
    ["Prunus Armeniaca Kernel Oil", "apricot kernel oil"],
    ["Sodium Benzoate", ""],
]

MOUNT = """
async ([script, view, names, holds, read_only]) => {
  const state = { view, names, holds, read_only, answered: 0 };
  const listeners = {};
  window.sent = [];
  window.model = {
    get: (name) => state[name],
    on: (event, listener) => (listeners[event] ??= []).push(listener),
    off: (event, listener) => { listeners[event] = listeners[event].filter((one) => one !== listener); },
    send: (message) => window.sent.push(message),
    put: (name, value) => {
      state[name] = value;
      (listeners[`change:${name}`] ?? []).forEach((listener) => listener());
    },
    listening: () => Object.values(listeners).flat().length,
  };
  const source = URL.createObjectURL(new Blob([script], { type: "text/javascript" }));
  const el = document.getElementById("table");
  window.leave = (await import(source)).default.render({ model: window.model, el });
}
"""

CONTRASTS = """
() => {
  const context = Object.assign(document.createElement("canvas"), { width: 1, height: 1 })
    .getContext("2d", { willReadFrequently: true });
  const channels = (colour) => {
    context.clearRect(0, 0, 1, 1);
    context.fillStyle = colour;
    context.fillRect(0, 0, 1, 1);
    return [...context.getImageData(0, 0, 1, 1).data];
  };
  const light = (rgb) => {
    const [r, g, b] = rgb.map((v) => v / 255)
      .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (channels(colour)[3] === 255) return channels(colour).slice(0, 3);
    }
    return [255, 255, 255];
  };
  const opacity = (element) => (element ? getComputedStyle(element).opacity * opacity(element.parentElement) : 1);
  const speaks = (element) => element.matches("input, select")
    || [...element.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim());
  const shown = [...document.querySelectorAll(".shakewell *")]
    .filter((e) => speaks(e) && e.checkVisibility() && !e.matches("option, button:disabled, .sw-live"));
  return shown.flatMap((element) => {
    const called = `${element.tagName} ${element.className} “${element.value ?? element.textContent}”`;
    const placeholder = element.matches("input") ? [getComputedStyle(element, "::placeholder").color] : [];
    return [getComputedStyle(element).color, ...placeholder].map((ink) => {
      const under = ground(element);
      const seen = channels(ink).slice(0, 3).map((v, i) => v * opacity(element) + under[i] * (1 - opacity(element)));
      const [a, b] = [light(seen), light(under)].sort((x, y) => y - x);
      return [called, (a + 0.05) / (b + 0.05)];
    });
  });
}
"""

SHORT_OF_ROOM = """
() => [...document.querySelectorAll("select")].filter((select) => {
  const style = getComputedStyle(select);
  const context = document.createElement("canvas").getContext("2d");
  context.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  const needed = context.measureText(select.selectedOptions[0].text).width;
  return needed > select.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
}).map((select) => select.ariaLabel)
"""


def finding(severity: str, sentence: str, source: str = "") -> dict[str, str]:
    return {"severity": severity, "sentence": sentence, "source": source}


def line(material: str, entry: str, percent: str, hold: str = "share", **more: Any) -> dict[str, Any]:
    plain = dict(NAMES).get(material, "")
    base = {"material": material, "plain": plain, "entry": entry, "percent": percent, "hold": hold}
    return {**base, "grams": "1.00", "change": "", "findings": [], "field_marks": {}, **more}


def body_shake() -> dict[str, Any]:
    """The invented body shake of the Tern Lane Workshop, with one finding of each severity."""
    unread = finding("stop", "“0,3x” cannot be read as an amount. Type a number such as 0,35.")
    small = finding("caution", "0.25 g is a small weighing: make 390 g.", "common practice")
    water = [
        line("Aqua", "q.s.", "80.00", "fill", change="-0.35"),
        line("Glycerin", "4,0 %", "4.00"),
        line("Citric Acid", "0,3x", "", "level", findings=[unread], field_marks={"amount": "stop"}),
    ]
    oil = [
        line("Prunus Armeniaca Kernel Oil", "15", "15.00", "fill"),
        line("Parfum", "0.1", "0.10", "level", findings=[small], field_marks={"amount": "caution"}),
    ]
    lines = [water, oil]
    for phase, its_lines in enumerate(lines):
        for at, one in enumerate(its_lines):
            one["key"] = f"{phase}.{at}"
    return {
        "title": "After-swim body shake",
        "subtitle": "Tern Lane Workshop · version 3 · invented for teaching",
        "phases": [
            {"name": "Water layer", "kind": "water", "total": "84.00", "colour_index": 0, "findings": []},
            {"name": "Oil layer", "kind": "oil", "total": "15.10", "colour_index": 0, "findings": []},
        ],
        "lines": lines,
        "total": "99.10 %",
        "total_state": "stop",
        "total_sentence": "0.90 % is missing.",
        "findings": [finding("note", "Shake before every use.")],
        "grams_head": "g in 250 g",
        "can_undo": True,
        "can_redo": True,
        "add_name": "",
    }


class Bench:
    """The table on a page, and the other end of its model."""

    def __init__(self, page: Page, view: dict[str, Any], *, dark: bool, read_only: bool) -> None:
        self.page, self.view = page, view
        page.set_content(
            f"<!doctype html><style>body {{ margin: 0 }} {FormulaTable._css}</style>"
            f'<body data-jp-theme-light="{"false" if dark else "true"}"><div id="table"></div>'
        )
        page.evaluate(MOUNT, [FormulaTable._esm, view, NAMES, HOLDS, read_only])

    def sent(self) -> list[dict[str, Any]]:
        """The messages since the last time, without their numbers."""
        messages = self.page.evaluate("sent.splice(0).map(({ number, ...message }) => message)")
        return list(messages)

    def show(self, change: Callable[[dict[str, Any]], object]) -> None:
        """A new view, as Python would set it."""
        self.view = copy.deepcopy(self.view)
        change(self.view)
        self.page.evaluate("(view) => model.put('view', view)", self.view)

    def answer(self, change: Callable[[dict[str, Any]], object], message: int = -1) -> None:
        """A new view as the answer to a message, the last unless said otherwise."""
        number = self.page.evaluate("(message) => sent.at(message).number", message)
        self.show(change)
        self.page.evaluate("(number) => model.put('answered', number)", number)

    def field(self, phase: int, at: int, field: str) -> Locator:
        return self.page.locator(f'.sw-line[data-phase="{phase}"][data-line="{at}"] [data-field={field}]')

    def listbox(self) -> Locator:
        return self.page.get_by_role("listbox")

    def focus(self) -> tuple[str, str]:
        """The accessible name and the text of what has the focus."""
        name, text = self.page.evaluate("(({ ariaLabel, value }) => [ariaLabel, value])(document.activeElement)")
        return name, text

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)


@pytest.fixture
def open_table(browser: Browser) -> Iterator[Callable[..., Bench]]:
    pages: list[Page] = []
    faults: list[str] = []

    def note(request: Request) -> None:
        if not request.url.startswith("blob:"):
            faults.append(request.url)

    def opened(width: int = 1000, *, dark: bool = False, read_only: bool = False) -> Bench:
        page = browser.new_page(viewport={"width": width, "height": 800})
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.on("request", note)
        pages.append(page)
        return Bench(page, body_shake(), dark=dark, read_only=read_only)

    yield opened
    for page in pages:
        page.close()
    assert faults == []


@pytest.fixture
def bench(open_table: Callable[..., Bench]) -> Bench:
    return open_table()


# Keys


def test_enter_keeps_the_amount_and_goes_down(bench: Bench) -> None:
    bench.field(0, 0, "amount").click()
    bench.press("Control+a")
    bench.page.keyboard.type("80,5")
    bench.press("Enter")
    assert bench.sent() == [{"kind": "set_entry", "phase": 0, "line": 0, "text": "80,5"}]
    assert bench.focus() == ("Amount of Glycerin", "4,0 %")


def test_enter_without_a_change_sends_nothing(bench: Bench) -> None:
    bench.field(0, 0, "material").click()
    bench.press("Enter")
    assert bench.sent() == []
    assert bench.focus() == ("Amount of Aqua", bench.field(0, 0, "amount").input_value())


def test_leaving_a_field_keeps_what_was_typed(bench: Bench) -> None:
    bench.field(0, 1, "amount").fill("5")
    bench.press("Tab")
    assert bench.sent() == [{"kind": "set_entry", "phase": 0, "line": 1, "text": "5"}]
    assert bench.focus()[0] == "What Glycerin does when the ratio moves"
    bench.press("Tab")
    assert bench.focus()[0] == "Ingredient, line 3"
    bench.press("Shift+Tab", "Shift+Tab")
    assert bench.focus()[0] == "Amount of Glycerin"


def new_line(phase: int) -> Callable[[dict[str, Any]], object]:
    def change(view: dict[str, Any]) -> None:
        view["lines"][phase].append(line("", "", "", key=f"{phase}.{len(view['lines'][phase])}"))

    return change


def test_enter_on_the_last_line_adds_one_and_what_is_typed_meanwhile_lands_there(bench: Bench) -> None:
    bench.field(1, 1, "amount").fill("0.2")
    bench.press("Enter", "g", "l", "x", "Backspace", "y")
    messages = bench.page.evaluate("sent.map(({ number, ...message }) => message)")
    assert messages == [
        {"kind": "set_entry", "phase": 1, "line": 1, "text": "0.2"},
        {"kind": "add_line", "phase": 1, "after": 1},
    ]
    bench.answer(lambda view: view["lines"][1][1].update(entry="0.2"), message=0)
    assert bench.focus() == ("Amount of Parfum", "0.2")
    bench.answer(new_line(1))
    assert bench.focus() == ("Ingredient, line 3", "gly")
    assert bench.listbox().get_by_role("option").all_inner_texts() == [
        "Glycerin glycerol",
        "Glyceryl Oleate oleic acid ester",
    ]


def test_enter_on_an_empty_last_line_adds_no_second_one(bench: Bench) -> None:
    bench.show(new_line(1))
    bench.field(1, 2, "amount").click()
    bench.press("Enter")
    assert bench.sent() == []


def test_arrows_move_between_lines_and_across_layers(bench: Bench) -> None:
    bench.field(0, 1, "amount").click()
    bench.press("ArrowDown", "ArrowDown")
    assert bench.focus() == ("Amount of Prunus Armeniaca Kernel Oil", "15")
    bench.press("ArrowUp")
    assert bench.focus() == ("Amount of Citric Acid", "0,3x")
    bench.field(0, 0, "material").click()
    bench.press("ArrowUp")
    assert bench.focus() == ("Ingredient, line 1", "Aqua")
    bench.press("ArrowDown")
    assert bench.focus() == ("Ingredient, line 2", "Glycerin")
    assert bench.sent() == []


def test_escape_takes_back_what_was_typed(bench: Bench) -> None:
    bench.field(0, 1, "amount").fill("77")
    bench.press("Escape")
    assert bench.focus() == ("Amount of Glycerin", "4,0 %")
    bench.press("Tab")
    assert bench.sent() == []


def swap(first: int, second: int) -> Callable[[dict[str, Any]], object]:
    def change(view: dict[str, Any]) -> None:
        water = view["lines"][0]
        water[first], water[second] = water[second], water[first]
        for at, one in enumerate(water):
            one["key"] = f"0.{at}"

    return change


def test_alt_arrows_move_the_line_and_the_focus_goes_along(bench: Bench) -> None:
    bench.field(0, 1, "amount").click()
    bench.press("Alt+ArrowUp", "Alt+ArrowUp")
    moved = {"kind": "move_line", "phase": 0, "line": 1, "to_phase": 0, "to_line": 0}
    assert bench.page.evaluate("sent.map(({ number, ...message }) => message)") == [moved]
    bench.answer(swap(0, 1))
    assert bench.focus() == ("Amount of Glycerin", "4,0 %")
    assert bench.field(0, 0, "amount").evaluate("(input) => input === document.activeElement")


def test_alt_arrows_go_on_into_the_next_layer(bench: Bench) -> None:
    bench.field(0, 2, "material").click()
    bench.press("Alt+ArrowDown")
    assert bench.sent() == [{"kind": "move_line", "phase": 0, "line": 2, "to_phase": 1, "to_line": 0}]


def test_alt_arrows_stop_at_the_ends_and_go_up_to_the_end_of_the_layer_above(bench: Bench) -> None:
    bench.field(0, 0, "amount").click()
    bench.press("Alt+ArrowUp")
    bench.field(1, 1, "amount").click()
    bench.press("Alt+ArrowDown")
    assert bench.sent() == []
    bench.field(1, 0, "amount").click()
    bench.press("Alt+ArrowUp")
    assert bench.sent() == [{"kind": "move_line", "phase": 1, "line": 0, "to_phase": 0, "to_line": 3}]


def test_alt_arrows_on_a_name_move_the_layer(bench: Bench) -> None:
    bench.page.get_by_label("Name of layer 2").fill("Oil on top")
    bench.press("Alt+ArrowUp")
    assert bench.sent() == [
        {"kind": "set_phase_name", "phase": 1, "text": "Oil on top"},
        {"kind": "move_phase", "phase": 1, "to": 0},
    ]


def test_undo_and_redo_by_key_unless_something_is_being_typed(bench: Bench) -> None:
    bench.field(0, 1, "amount").click()
    bench.press("Control+z", "Control+y", "Control+Shift+Z", "Meta+z")
    assert [message["kind"] for message in bench.sent()] == ["undo", "redo", "redo", "undo"]
    bench.press("End")
    bench.page.keyboard.type("9")
    bench.press("Control+z")
    assert bench.sent() == []
    assert bench.focus() == ("Amount of Glycerin", "4,0 %")


def test_nothing_is_undone_where_there_is_nothing_to_undo(bench: Bench) -> None:
    bench.show(lambda view: view.update(can_undo=False))
    bench.field(0, 1, "amount").click()
    bench.press("Control+z")
    assert bench.sent() == []
    assert bench.page.get_by_role("button", name="Undo").is_disabled()


@pytest.mark.parametrize("keys", ["Alt+Delete", "Control+Delete"])
def test_a_line_is_removed_by_key_and_the_focus_stays_near(bench: Bench, keys: str) -> None:
    bench.field(1, 1, "amount").click()
    bench.press(keys)
    assert bench.page.evaluate("sent.map(({ number, ...message }) => message)") == [
        {"kind": "remove_line", "phase": 1, "line": 1}
    ]
    bench.answer(lambda view: view["lines"][1].pop())
    assert bench.focus() == ("Amount of Prunus Armeniaca Kernel Oil", "15")


def test_control_delete_in_a_half_typed_name_only_deletes_a_word(bench: Bench) -> None:
    bench.field(0, 1, "material").fill("Glycerin pure")
    bench.press("Home", "Control+Delete")
    assert bench.sent() == []
    assert bench.field(0, 1, "material").input_value() != "Glycerin pure"


def test_the_notebook_hears_none_of_the_keys(bench: Bench) -> None:
    bench.page.evaluate("window.heard = []; document.addEventListener('keydown', (e) => heard.push(e.key))")
    bench.field(0, 1, "material").click()
    bench.press("a", "b", "Enter", "Escape", "ArrowDown", "Control+z", "Alt+ArrowUp")
    bench.page.get_by_role("button", name="Undo").focus()
    bench.press("d", "d")
    assert bench.page.evaluate("heard") == ["Escape"]  # which leads out of the panel, to the cell
    assert bench.page.locator(".sw-table").get_attribute("data-lm-suppress-shortcuts") == "true"


# Names by type-ahead


def test_an_ingredient_is_found_by_part_of_its_plain_name(bench: Bench) -> None:
    field = bench.field(0, 1, "material")
    field.click()
    bench.press("Control+a")
    bench.page.keyboard.type("flow")
    assert field.get_attribute("aria-expanded") == "true"
    assert bench.listbox().get_by_role("option").all_inner_texts() == ["Helianthus Annuus Seed Oil sunflower oil"]
    bench.press("ArrowDown")
    option = bench.listbox().get_by_role("option", selected=True)
    assert field.get_attribute("aria-activedescendant") == option.get_attribute("id")
    assert field.get_attribute("aria-controls") == bench.page.locator("[role=listbox]").get_attribute("id")
    bench.press("Enter")
    assert bench.sent() == [{"kind": "set_material", "phase": 0, "line": 1, "text": "Helianthus Annuus Seed Oil"}]
    assert field.input_value() == "Helianthus Annuus Seed Oil"
    assert bench.focus()[0].startswith("Amount of")
    assert field.get_attribute("aria-expanded") == "false"
    assert not bench.listbox().is_visible()


def test_names_that_begin_so_come_first_then_words_then_any_part(bench: Bench) -> None:
    def offered(typed: str) -> list[str]:
        bench.field(0, 1, "material").fill(typed)
        options = bench.listbox().get_by_role("option")
        return [str(name) for name in options.evaluate_all("(all) => all.map((one) => one.dataset.name)")]

    assert offered("ol") == ["Glyceryl Oleate", "Glycerin"]
    assert offered("CELL") == ["Hydroxyethylcellulose"]
    assert offered("o") == [
        "Glyceryl Oleate",
        "Helianthus Annuus Seed Oil",
        "Prunus Armeniaca Kernel Oil",
        "Glycerin",
        "Hydroxyethylcellulose",
        "Sodium Benzoate",
    ]
    assert offered("nowhere") == []


def test_the_list_wraps_round_and_a_click_takes_a_name(bench: Bench) -> None:
    bench.field(0, 1, "material").fill("gly")
    bench.press("ArrowUp")
    assert bench.listbox().get_by_role("option", selected=True).inner_text() == "Glyceryl Oleate oleic acid ester"
    bench.press("ArrowDown")
    assert bench.listbox().get_by_role("option", selected=True).inner_text() == "Glycerin glycerol"
    bench.listbox().get_by_role("option", name="Glyceryl Oleate").click()
    assert bench.sent() == [{"kind": "set_material", "phase": 0, "line": 1, "text": "Glyceryl Oleate"}]
    assert bench.focus()[0] == "Ingredient, line 2"


def test_a_name_of_the_makers_own_is_not_replaced_by_the_list(bench: Bench) -> None:
    bench.field(0, 0, "material").fill("glyc")
    bench.press("Enter")
    assert bench.sent() == [{"kind": "set_material", "phase": 0, "line": 0, "text": "glyc"}]
    assert bench.focus()[0].startswith("Amount of")


def test_escape_closes_the_list_first_and_takes_back_second(bench: Bench) -> None:
    bench.field(0, 1, "material").fill("gly")
    bench.press("Escape")
    assert not bench.listbox().is_visible()
    assert bench.focus()[1] == "gly"
    bench.press("Escape")
    assert bench.focus()[1] == "Glycerin"


# Paste


def copy_text(bench: Bench, text: str) -> None:
    """Copy real text, as from a spreadsheet, by the keyboard."""
    bench.page.evaluate(
        "(text) => { const area = document.createElement('textarea'); area.value = text; area.id = 'from';"
        " document.body.append(area); area.select(); }",
        text,
    )
    bench.press("Control+c")
    bench.page.evaluate("document.getElementById('from').remove()")


def test_several_cells_are_pasted_as_they_are(bench: Bench) -> None:
    copy_text(bench, "Aqua\t80,5\nGlycerin\t4\n")
    bench.field(0, 1, "material").click()
    bench.press("Control+v")
    assert bench.sent() == [
        {"kind": "paste", "phase": 0, "line": 1, "field": "material", "text": "Aqua\t80,5\nGlycerin\t4\n"}
    ]
    assert bench.focus() == ("Ingredient, line 2", "Glycerin")


def test_one_cell_is_pasted_as_text(bench: Bench) -> None:
    copy_text(bench, "12,5\n")
    bench.field(0, 1, "amount").click()
    bench.press("Control+a", "Control+v")
    assert bench.sent() == []
    assert bench.focus() == ("Amount of Glycerin", "12,5")


# What is typed is never lost


def test_typing_and_caret_survive_a_new_view(bench: Bench) -> None:
    bench.field(0, 1, "amount").fill("4,25 %")
    bench.press("Home", "ArrowRight", "ArrowRight")
    bench.show(lambda view: (view["lines"][0][1].update(entry="9"), view["lines"][0][0].update(percent="1")))
    assert bench.focus() == ("Amount of Glycerin", "4,25 %")
    assert bench.page.evaluate("document.activeElement.selectionStart") == 2
    assert bench.page.locator(".sw-line .sw-percent").first.inner_text().startswith("1")


def test_typing_travels_with_its_line_when_its_key_does(bench: Bench) -> None:
    bench.field(0, 2, "amount").fill("0,35")
    bench.press("ArrowLeft")
    bench.show(lambda view: view["lines"][1].append(view["lines"][0].pop(2)))
    assert bench.focus() == ("Amount of Citric Acid", "0,35")
    assert bench.page.evaluate("document.activeElement.selectionStart") == 3
    assert bench.field(1, 2, "amount").input_value() == "0,35"
    assert bench.sent() == []


def test_a_name_that_python_words_anew_replaces_the_one_that_was_sent(bench: Bench) -> None:
    field = bench.field(0, 1, "material")
    field.fill("sunfl")
    bench.press("ArrowDown", "Enter")
    bench.show(lambda view: view["lines"][0][1].update(material="Helianthus annuus seed oil"))
    assert field.input_value() == "Helianthus annuus seed oil"
    assert bench.focus()[0].startswith("Amount of")


def test_enter_takes_the_only_name_that_answers_and_goes_to_its_amount(bench: Bench) -> None:
    bench.field(0, 1, "material").fill("sunfl")
    assert bench.listbox().get_by_role("option").count() == 1
    bench.press("Enter", "5", "Tab")
    named, amount = bench.sent()
    assert (named["kind"], named["text"]) == ("set_material", "Helianthus Annuus Seed Oil")
    assert (amount["kind"], amount["line"], amount["text"]) == ("set_entry", 1, "5")


def test_an_unreadable_entry_stays_as_typed_and_says_what_is_wrong(bench: Bench) -> None:
    field = bench.field(0, 2, "amount")
    assert field.input_value() == "0,3x"
    assert field.get_attribute("aria-invalid") == "true"
    described = field.get_attribute("aria-describedby") or ""
    said = bench.page.locator(f'[id="{described}"]').inner_text()
    assert "Stop: “0,3x” cannot be read as an amount. Type a number such as 0,35." in said
    assert field.evaluate("(input) => getComputedStyle(input).borderBottomStyle") == "double"
    assert bench.field(0, 1, "amount").get_attribute("aria-invalid") is None


def test_the_live_region_tells_total_and_findings_after_a_change_only(bench: Bench) -> None:
    live = bench.page.get_by_role("status")
    assert live.inner_text() == ""
    bench.show(lambda view: view.update(total="100.00 %", total_state="ok", findings=[]))
    assert live.inner_text() == "Total 100.00 %. 2 findings."
    bench.show(lambda view: (view["lines"][0].pop(), view["lines"][1].pop()))
    assert live.inner_text() == "Total 100.00 %. No findings."


def test_text_of_the_makers_is_shown_as_text(bench: Bench) -> None:
    odd = "<img src=x onerror=alert(1)>"
    bench.show(
        lambda view: (
            view.update(title=odd, findings=[finding("note", odd, odd)]),
            view["lines"][0][0].update(material=odd, plain=odd, key='0"<b>'),
        )
    )
    assert bench.page.locator(".sw-title").inner_text() == odd
    assert bench.page.locator(".sw-table img").count() == 0


# Mouse


def grip(bench: Bench, phase: int, at: int) -> tuple[float, float]:
    row = bench.page.locator(f'.sw-line[data-phase="{phase}"][data-line="{at}"]')
    box = row.locator(".sw-grip").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


@pytest.mark.parametrize(
    ("start", "over", "below", "to"),
    [
        ((0, 2), (0, 0), False, (0, 0)),
        ((0, 0), (0, 1), True, (0, 1)),
        ((0, 1), (1, 0), True, (1, 1)),
        ((1, 1), (0, 0), True, (0, 1)),
    ],
)
def test_a_line_is_dragged_by_its_handle(
    bench: Bench, start: tuple[int, int], over: tuple[int, int], below: bool, to: tuple[int, int]
) -> None:
    x, y = grip(bench, *start)
    _, target = grip(bench, *over)
    bench.page.mouse.move(x, y)
    bench.page.mouse.down()
    bench.page.mouse.move(x, (y + target) / 2)
    bench.page.mouse.move(x, target + (9 if below else -9))
    assert bench.page.locator(".sw-drop").is_visible()
    bench.page.mouse.up()
    assert not bench.page.locator(".sw-drop").is_visible()
    assert bench.sent() == [
        {"kind": "move_line", "phase": start[0], "line": start[1], "to_phase": to[0], "to_line": to[1]}
    ]


def test_a_drag_is_called_off_by_escape_and_a_drop_in_place_moves_nothing(bench: Bench) -> None:
    x, y = grip(bench, 0, 2)
    for last_key in ("Escape", None):
        bench.page.mouse.move(x, y)
        bench.page.mouse.down()
        bench.page.mouse.move(x, y - 60)
        if last_key:
            bench.press(last_key)
        else:
            bench.page.mouse.move(x, y + 9)
        bench.page.mouse.up()
    assert bench.sent() == []


@pytest.mark.parametrize(
    ("button", "message"),
    [
        ("Undo", {"kind": "undo"}),
        ("Redo", {"kind": "redo"}),
        ("Add a line to Water layer", {"kind": "add_line", "phase": 0, "after": 2}),
        ("Add a layer", {"kind": "add_phase", "after": 1}),
        ("Remove Oil layer", {"kind": "remove_phase", "phase": 1}),
        ("Move Oil layer up", {"kind": "move_phase", "phase": 1, "to": 0}),
        ("Remove Glycerin", {"kind": "remove_line", "phase": 0, "line": 1}),
        (
            "Move Glycerin down",
            {"kind": "move_line", "phase": 0, "line": 1, "to_phase": 0, "to_line": 2},
        ),
    ],
)
def test_each_button_says_what_it_does(bench: Bench, button: str, message: dict[str, Any]) -> None:
    bench.page.get_by_role("button", name=button, exact=True).click()
    assert bench.sent() == [message]


def test_choices_are_sent(bench: Bench) -> None:
    bench.page.get_by_label("What Glycerin does when the ratio moves").select_option("keeps its % of the whole")
    bench.page.get_by_label("What Oil layer is").select_option("other")
    assert bench.sent() == [
        {"kind": "set_hold", "phase": 0, "line": 1, "value": "level"},
        {"kind": "set_phase_kind", "phase": 1, "value": "other"},
    ]


def test_a_table_to_read_takes_no_edits(open_table: Callable[..., Bench]) -> None:
    bench = open_table(read_only=True)
    assert bench.page.locator("button:visible").count() == 0
    assert bench.page.locator("select:enabled").count() == 0
    bench.field(0, 1, "amount").click()
    bench.press("9", "Enter", "Alt+ArrowUp", "Alt+Delete", "Control+z")
    assert bench.sent() == []


def test_a_table_that_is_taken_away_leaves_nothing_behind(bench: Bench) -> None:
    bench.page.evaluate("leave()")
    assert bench.page.evaluate("model.listening()") == 0
    assert bench.page.locator(".shakewell").count() == 0


# For every eye and ear


def test_every_control_has_a_name_of_its_own(bench: Bench) -> None:
    bench.field(0, 1, "material").fill("gly")
    tree = bench.page.locator(".sw-table").aria_snapshot()
    assert '- table "After-swim body shake"' in tree
    nameless = bench.page.evaluate(
        "[...document.querySelectorAll('input, select, button')]"
        ".filter((e) => !e.ariaLabel?.trim()).map((e) => e.outerHTML)"
    )
    assert nameless == []
    names = bench.page.locator("input, select").evaluate_all("(all) => all.map((one) => one.ariaLabel)")
    assert len(names) == 2 * 2 + 5 * 3
    headings = bench.page.get_by_role("columnheader").all_inner_texts()
    assert headings == ["ingredient", "amount", "% of whole", "change", "when the ratio moves", "g in 250 g"]


def test_the_eye_is_told_in_words_and_signs_not_by_colour_alone(bench: Bench) -> None:
    said = [text.split(":")[0].split() for text in bench.page.locator(".sw-finding").all_inner_texts()]
    assert said == [["■", "Stop"], ["▲", "Caution"], ["■", "Stop"], ["●", "Note"]]
    marks = [text for text in bench.page.locator(".sw-mark").all_inner_texts() if text]
    assert marks == ["■", "▲"]


@pytest.mark.parametrize("width", [560, 1000])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_text_stands_out_from_its_ground(open_table: Callable[..., Bench], dark: bool, width: int) -> None:
    bench = open_table(width, dark=dark)
    bench.show(new_line(1))
    bench.page.get_by_text("Keys").click()
    bench.field(0, 1, "material").fill("gly")
    bench.press("ArrowDown")
    contrasts = bench.page.evaluate(CONTRASTS)
    assert len(contrasts) > 80
    assert [pair for pair in contrasts if pair[1] < 4.5] == []
    ground = bench.page.locator(".shakewell").evaluate("(root) => getComputedStyle(root).backgroundColor")
    assert ground == ("rgb(27, 33, 38)" if dark else "rgb(251, 249, 243)")


@pytest.mark.parametrize("width", [560, 800, 1200])
def test_nothing_is_cut_off_at_the_side(open_table: Callable[..., Bench], width: int) -> None:
    bench = open_table(width)
    bench.page.get_by_text("Keys").click()
    cut = bench.page.evaluate(
        "[...document.querySelectorAll('.shakewell *')].filter((e) => e.checkVisibility()"
        " && !e.matches('.sw-live') && e.getBoundingClientRect().right > innerWidth).map((e) => e.outerHTML)"
    )
    assert cut == []
    assert bench.page.evaluate("document.documentElement.scrollWidth") <= width
    short = bench.page.evaluate(SHORT_OF_ROOM)
    assert short == []
    grams = bench.page.locator(".sw-line").first.get_by_text("1.00", exact=False)
    assert "1.00" in " ".join(text for text in grams.all_inner_texts() if text)


def test_a_new_view_of_25_lines_is_shown_at_once(bench: Bench) -> None:
    def twenty_five(view: dict[str, Any]) -> None:
        view["lines"][0] = [line(f"Material {at}", "1", "1.00", key=f"0.{at}") for at in range(23)]

    bench.show(twenty_five)
    assert bench.page.locator(".sw-line").count() == 25
    quickest = bench.page.evaluate(
        """() => Math.min(...Array.from({ length: 20 }, (_, turn) => {
          const view = structuredClone(model.get("view"));
          view.lines.flat().forEach((line) => { line.percent = `${turn}.00`; line.grams = `${turn}.50`; });
          const start = performance.now();
          model.put("view", view);
          return performance.now() - start;
        }))"""
    )
    assert quickest < 10  # [ms]
