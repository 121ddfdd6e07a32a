"""Every panel of the kit in a real JupyterLab: nothing cut off, in both themes, for keyboard and screen reader."""

from __future__ import annotations

import re
from contextlib import suppress
from importlib.resources import files
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import TimeoutError, expect  # noqa: A004

from tests.browser import every_panel as every
from tests.browser.steps import PATIENCE, Lab, assert_quiet, watch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

NAMES = every.panel_names()
#: Those with a chart that a hand can read off.
CHARTED = (
    "ColdAndWarmPanel",
    "DispensersPanel",
    "DosingPanel",
    "MutualSolubilityPanel",
    "OverItsLifePanel",
    "PartingTrialsPanel",
    "PhPanel",
    "SeparationPanel",
    "StabilityPanel",
    "TrianglePanel",
    "WeighingPanel",
)
#: The rules of axe-core, carried by its package, so that nothing is fetched while a test runs.
AXE = (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
#: One run for all panels: each run looks at the whole page first.
RUN_AXE = """([names, only]) => axe.run(
    { include: names.map((name) => [`.of-${name}`]) }, { resultTypes: ["violations"], ...only })"""
#: What a theme changes; names and roles are the same in both.
IN_DARK = {"runOnly": {"type": "rule", "values": ["color-contrast"]}}


@pytest.fixture(scope="module")
def shown(browser: Browser, lab: Lab) -> Iterator[Page]:
    """Every panel in one notebook, the side bar as open as it is at first, everything folded away opened."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    watch(page)
    every.show_every_panel(page, lab)
    every.unfold(page)
    yield page
    for dialog in page.locator(".jp-Dialog button.jp-mod-reject, .jp-Dialog button.jp-mod-accept").all():
        dialog.click()  # its kernel may have been stopped meanwhile, and the page asks about that
    with suppress(TimeoutError):
        every.dress(page, "Light")
    context.close()


def resize(page: Page, width: int, height: int = 900) -> None:
    """Give the window this size."""
    page.set_viewport_size({"width": width, "height": height})
    page.wait_for_timeout(500)


@pytest.mark.parametrize("width", [1024, 1280])
def test_nothing_sticks_out_of_a_panel_or_is_cut(shown: Page, width: int) -> None:
    resize(shown, width)
    assert len(NAMES) >= 28
    assert every.asked(shown, "stickingOut", "brokenWords") == {"stickingOut": {}, "brokenWords": {}}
    assert_quiet(shown)


def test_every_box_is_whole_in_a_narrow_window_with_the_list_of_files_beside_it(shown: Page) -> None:
    """Words of charts may reach out there; what is typed into may not."""
    resize(shown, 768)
    found = every.asked(shown, "stickingOut", patience=2)["stickingOut"]
    typed = ("<input", "<select", "<textarea", "<button")
    assert [one for told in found.values() for one in told if any(tag in one for tag in typed)] == []


def test_charts_follow_when_a_panel_becomes_narrower_in_a_window_that_stays(shown: Page) -> None:
    resize(shown, 1280)
    panels = shown.locator(", ".join(f".of-{name}" for name in CHARTED))
    panels.evaluate_all(  # each chart has a size of its own at that moment, as one has that is being changed
        """(panels) => panels.forEach((e) => {
            for (const chart of e.querySelectorAll(".js-plotly-plot"))
                Object.assign(chart.layout, { width: chart.clientWidth, height: chart.clientHeight });
            e.style.width = `${e.clientWidth - 60}px`;
        })"""
    )
    try:
        assert every.asked(shown, "stickingOut") == {"stickingOut": {}}
    finally:
        panels.evaluate_all("(panels) => panels.forEach((e) => (e.style.width = ''))")


def test_an_example_in_an_empty_box_can_be_read_to_its_end(shown: Page) -> None:
    assert every.asked(shown, "cutExamples", patience=0) == {"cutExamples": {}}


def test_focus_is_seen_on_every_control(shown: Page) -> None:
    assert every.asked(shown, "unseenFocus", patience=0) == {"unseenFocus": {}}


def test_bottle_and_window_stand_in_one_view(shown: Page) -> None:
    resize(shown, 1024, 768)
    panel = shown.locator(".of-RatioPanel")
    panel.locator(".sw-ratio").evaluate("(e) => e.scrollIntoView({ block: 'start' })")
    seen = shown.locator(".jp-WindowedPanel-outer").bounding_box()
    bottle, window = panel.locator(".sw-bottle").bounding_box(), panel.locator(".sw-ratios").bounding_box()
    handle = panel.locator('[data-grip="oil"]').bounding_box()
    assert seen
    for box in (bottle, window, handle):
        assert box
        assert seen["y"] <= box["y"]
        assert box["y"] + box["height"] <= seen["y"] + seen["height"]
    assert bottle
    assert window
    assert bottle["x"] + bottle["width"] <= window["x"], "they stand beside each other"


def test_a_screen_reader_can_go_from_panel_to_panel_and_hears_what_a_chart_shows(shown: Page) -> None:
    unnamed = []
    for name in NAMES:
        panel = shown.locator(f".of-{name}").first
        if (
            not re.search(r'^ *- heading "[^"]+" \[level=3\]', panel.aria_snapshot(), re.MULTILINE)
            and name != "StatusPanel"
        ):
            unnamed.append(name)
        if panel.locator(".sw-title").count():
            assert panel.get_attribute("aria-label") == panel.locator(".sw-title").first.text_content()
    assert unnamed == [], "each has a heading, but the one line that says how the product stands"
    separation = shown.locator(".of-SeparationPanel")
    expect(separation.get_by_role("group", name=re.compile("^Chart: .+")).first).to_be_attached()
    assert shown.locator(".shakewell-panel .js-plotly-plot:not([aria-label^='Chart: '])").count() == 0


@pytest.mark.parametrize("theme", ["Light", "Dark"])
def test_axe_finds_nothing_serious(shown: Page, theme: str) -> None:
    resize(shown, 1280)
    every.dress(shown, theme)
    shown.evaluate(AXE)
    said = shown.evaluate(RUN_AXE, [list(NAMES), IN_DARK if theme == "Dark" else {}])
    assert {rule["id"] for rule in said["passes"]} >= {"color-contrast"}
    serious = [one for one in said["violations"] if one["impact"] in ("serious", "critical")]
    wrong = [f"{one['id']}: {node['target']}, {node['html'][:120]}" for one in serious for node in one["nodes"]]
    assert wrong == []


@pytest.mark.slow
@pytest.mark.parametrize("theme", ["Light", "Dark"])
def test_every_word_stands_out_from_what_is_painted_under_it(shown: Page, theme: str) -> None:
    resize(shown, 1280)
    every.dress(shown, theme)
    faint = shown.add_style_tag(
        content=".of-RatioPanel .sw-subtitle, .of-RatioPanel .sw-small { color: grey; fill: grey }"
    )
    found = shown.locator(".of-RatioPanel").evaluate(f"(panel) => ({every.MEASURES}).faintWords(panel)")
    assert len(found) >= 2, "in the page and in the drawing"
    faint.evaluate("(style) => style.remove()")
    assert every.asked(shown, "faintWords", patience=0) == {"faintWords": {}}


def luminance(colour: str) -> float:
    """Relative luminance of a computed colour (WCAG 2.2)."""
    channels = [int(one) / 255 for one in re.findall(r"\d+", colour)[:3]]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.slow
def test_charts_follow_the_theme_while_they_are_open(shown: Page) -> None:
    resize(shown, 1280)
    papers = []
    for theme in ("Dark", "Light", "Dark"):
        every.dress(shown, theme)
        for name in CHARTED:
            seen = every.chart_colours(shown, name)
            paper = seen["paper"]
            assert seen["ground"] == paper, (theme, name)
            assert seen["inks"], (theme, name)
            assert min(contrast(ink, paper) for ink in seen["inks"]) >= 4.5, (theme, name, seen["inks"])
            assert all(1.1 < contrast(grid, paper) < 4.5 for grid in seen["grids"]), (theme, name, seen["grids"])
            assert any(contrast(mark, paper) >= 3 for mark in seen["marks"]), (theme, name, seen["marks"])
        papers.append(paper)
    assert papers[0] == papers[2] != papers[1]
    assert luminance(papers[0]) < 0.05
    assert_quiet(shown)


def test_every_slider_moves_by_key(shown: Page) -> None:
    resize(shown, 1280)
    moved = 0
    for name in ("TrianglePanel", "WeighingPanel", "SeparationPanel", "RatioPanel"):
        panel = shown.locator(f".of-{name}")
        panel.scroll_into_view_if_needed()
        slider = panel.get_by_role("slider").last
        read = "(e) => e.value ?? e.getAttribute('aria-valuenow')"
        before = slider.evaluate(read)
        slider.focus()
        shown.keyboard.press("ArrowRight")
        for _ in range(100):  # every panel on the bench follows first
            shown.wait_for_timeout(200)
            if panel.get_by_role("slider").last.evaluate(read) != before:
                moved += 1
                break
    assert moved == 4


def test_every_panel_says_its_answer_when_it_has_changed(shown: Page) -> None:
    resize(shown, 1280)
    for name in NAMES:
        panel = shown.locator(f".of-{name}")
        panel.scroll_into_view_if_needed()
        expect(panel.locator('.sw-voice[role="status"]')).to_have_count(1)
        assert panel.locator(".sw-answer, .sw-live").count() >= 1, name
    adjust = shown.locator(".of-PhPanel")
    target = adjust.get_by_label("Target pH", exact=True)
    target.fill("5,5")
    target.press("Enter")
    expect(adjust.locator(".sw-voice")).to_contain_text("pH 5.5 lies at about")
    weigh = shown.locator(".of-WeighingPanel")
    box = weigh.get_by_label("A weighing may be off", exact=True)
    box.fill("2")
    box.press("Enter")
    expect(weigh.locator(".sw-voice")).to_contain_text("Within 2 %")
    assert_quiet(shown)


@pytest.mark.slow
def test_text_is_large_for_a_projector_and_ordinary_again_after_it(shown: Page) -> None:
    resize(shown, 1280, 720)
    every.dress(shown, "Light")
    title = shown.locator(".of-WeighingPanel .sw-title").first
    tick = shown.locator(".of-WeighingPanel .ytick text").first

    def sizes() -> list[float]:
        title.scroll_into_view_if_needed()
        return [one.evaluate("(e) => parseFloat(getComputedStyle(e).fontSize)") for one in (title, tick)]

    before = sizes()
    run_line(shown, "kit.projector(True)")
    expect(title).to_have_css("font-size", re.compile(r"(2[5-9]|[3-9]\d)"), timeout=PATIENCE)
    assert every.asked(shown, "smallTexts", "stickingOut", patience=20) == {"smallTexts": {}, "stickingOut": {}}
    large = sizes()
    assert large[0] > 25
    assert large[1] >= 18
    run_line(shown, "kit.projector(False)")
    expect(title).to_have_css("font-size", f"{before[0]:g}px", timeout=PATIENCE)
    assert max(before) < 20
    assert_quiet(shown)


def run_line(page: Page, line: str) -> None:
    """Run a line in the last cell."""
    last = page.locator(".jp-CodeCell .cm-content").last
    last.scroll_into_view_if_needed()
    last.click()
    page.keyboard.press("Control+a")
    page.keyboard.type(line)
    page.keyboard.press("Control+Enter")
    expect(page.locator("#jp-main-statusbar")).to_contain_text("| Idle", timeout=PATIENCE)
