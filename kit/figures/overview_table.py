"""The overview of a study as HTML tables: a sign, a word and a colour for every judgement, and grades counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.figures.chart import as_markup
from kit.stability.overview import VERDICTS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.stability.grades import GradesAt, GradeSummary
    from kit.stability.overview import Cycles, Judgement, Overview, Verdict
    from kit.stability.plan import Attribute
    from kit.stability.study import Study


SIGNS: dict[Verdict, str] = {"fail": "✕", "watch": "▲", "pass": "✓", "not judged": "–", "not read": "·"}

INKS: dict[Verdict, str] = {
    "fail": "var(--sw-stop,#a3262a)",
    "watch": "var(--sw-caution,#7f4c08)",
    "pass": "var(--sw-note,#3f5f73)",
    "not judged": "var(--sw-soft,#55626c)",
    "not read": "var(--sw-soft,#55626c)",
}

PAPERS: dict[Verdict, str] = {
    "fail": "var(--sw-stop-paper,#fbebe9)",
    "watch": "var(--sw-caution-paper,#fbf0d9)",
    "pass": "var(--sw-note-paper,#ecf1f3)",
    "not judged": "transparent",
    "not read": "transparent",
}

LEGEND = "newest reading of each batch; in brackets its change from the start"


def overview_table(found: Overview) -> str:
    """Attributes down, conditions across; in each cell the worst word and the newest reading of every batch."""
    study = found.study
    head = "".join(f'<th scope="col">{as_markup(condition.label)}</th>' for condition in study.plan.conditions)
    body = []
    for attribute in study.plan.attributes:
        cells = "".join(
            _cell(attribute, found.cell(attribute.key, condition.key)) for condition in study.plan.conditions
        )
        body.append(f'<tr><th scope="row">{as_markup(attribute.title)}</th>{cells}</tr>')
    return (
        f'<div class="sw-subtitle sub">{as_markup(LEGEND)}</div>'
        '<div class="sw-scroll"><table class="sw-sheet overview">'
        f'<thead><tr><th scope="col">Attribute</th>{head}</tr></thead><tbody>{"".join(body)}</tbody></table></div>'
    )


def verdict_chip(verdict: Verdict) -> str:
    """Sign and word of a judgement on its colour."""
    return (
        f'<span style="color:{INKS[verdict]};background:{PAPERS[verdict]};padding:0 6px;border-radius:4px;'
        f'font-weight:600;white-space:nowrap">{SIGNS[verdict]} {verdict}</span>'
    )


def judgement_list(found: Overview, most: int | None = None) -> str:
    """What fails and what is to be watched, as sentences, worst first, at most so many; "" where there is neither."""
    study = found.study
    items = "".join(
        f"<li>{verdict_chip(one.verdict)} <b>{as_markup(one.batch)}</b>, "
        f"{as_markup(study.plan.condition(one.condition).label)}: {as_markup(one.words)}</li>"
        for one in found.to_look_at()[:most]
    )
    return f'<ul class="judgements" style="list-style:none;padding:0;margin:4px 0">{items}</ul>' if items else ""


def _cell(attribute: Attribute, judged: list[Judgement]) -> str:
    if not judged or all(one.verdict == "not read" for one in judged):
        return f"<td>{verdict_chip('not read')}</td>"
    worst = min((one.verdict for one in judged), key=VERDICTS.index)
    lines = "".join(
        f'<div style="white-space:nowrap">'
        f'<span style="color:{INKS[one.verdict]}" title="{as_markup(one.words)}">{SIGNS[one.verdict]}</span> '
        f"{as_markup(one.batch)} {as_markup(latest_in_words(attribute, one))}</div>"
        if attribute.kind != "text"
        else f"<div>{as_markup(one.batch)} {as_markup(latest_in_words(attribute, one))}</div>"
        for one in judged
    )
    return f"<td>{verdict_chip(worst)}{lines}</td>"


def latest_in_words(attribute: Attribute, one: Judgement) -> str:
    """The newest reading with its change from the start: "4.85 (−0.48)"."""
    if one.latest is None:
        return "not read"
    if attribute.kind == "colour":
        return "start" if one.change is None else f"CIEDE2000 {one.change:.1f}"
    if one.latest.number is None:
        return one.latest.value
    if one.change is None or one.latest is one.start:
        return f"{one.latest.number:g}"
    return f"{one.latest.number:g} ({signed(one.change)})"


def signed(number: float) -> str:
    """A change with its sign, without digits that arithmetic alone made: "+0.3", "−2", "±0".

    Examples
    --------
    >>> signed(5.4 - 5.3), signed(-2.0), signed(0.0)
    ('+0.1', '−2', '±0')
    """
    text = f"{abs(number):.4g}"
    return "±0" if float(text) == 0 else f"{'−' if number < 0 else '+'}{text}"


def pulls_list(found: Overview) -> str:
    """The pulls that were missed, are overdue or came late, as HTML; bottles that stand alike are one line."""
    open_pulls = [(pull, pull.words) for pull in (*found.missed, *found.overdue)]
    late = [(one.pull, f"read {one.days} day{'' if one.days == 1 else 's'} after it was due") for one in found.late]
    lines: dict[tuple[str, str, str], dict[str, list[str]]] = {}
    for pull, words in (*open_pulls, *late):
        alike = pull.time_point, str(pull.due_on), words
        lines.setdefault(alike, {}).setdefault(pull.condition, []).append(pull.batch)
    items = "".join(
        f"<li><b>{as_markup(batches)}</b>, {as_markup(place)}, "
        f"{as_markup(time_point)}, due {due_on}: {as_markup(words)}</li>"
        for (time_point, due_on, words), places in lines.items()
        for batches, place in _bottles_in_words(found.study, places)
    )
    return f'<ul class="pulls">{items}</ul>' if items else "<p>Every pull so far was read in time.</p>"


def _bottles_in_words(study: Study, places: Mapping[str, list[str]]) -> list[tuple[str, str]]:
    """Batches and where they stand, one pair for each place, or for every place where the same batches do."""
    pairs = [(", ".join(batches), study.plan.condition(key).label) for key, batches in places.items()]
    everywhere = len(pairs) == len(study.plan.conditions) > 1 and len({batches for batches, _ in pairs}) == 1
    return [(pairs[0][0], "every place")] if everywhere else pairs


def cycles_table(found: Overview) -> str:
    """How many cycles each bottle went through, as HTML; "" where the plan has none."""
    if not found.cycles:
        return ""
    rows = "".join(
        f'<tr><th scope="row">{as_markup(one.batch)}</th>'
        f"<td>{as_markup(found.study.plan.condition(one.condition).label)}</td>"
        f"<td>{verdict_chip(_of_cycles(one))}</td><td>{as_markup(one.words)}</td></tr>"
        for one in found.cycles
    )
    return (
        '<div class="sw-scroll"><table class="sw-sheet cycles"><thead><tr><th scope="col">Batch</th>'
        '<th scope="col">Kept in</th><th scope="col">So far</th><th scope="col">Cycles</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _of_cycles(one: Cycles) -> Verdict:
    if one.first_outside is not None:
        return "fail"
    return "pass" if one.passed == one.planned else "watch" if one.read else "not read"


GRADES_LEGEND = "middle grade of the batches, in brackets the lowest and highest; ✕ how many are beyond the limit"


def grade_table(study: Study, summary: GradeSummary) -> str:
    """Conditions down, pulls across, the sentence above, and the trends that could be tested below."""
    found = {(one.condition, one.time_point): one for one in summary.at}
    points = [point.label for point in study.plan.time_points]
    head = "".join(f'<th scope="col">{as_markup(point)}</th>' for point in points)
    body = "".join(
        f'<tr><th scope="row">{as_markup(condition.label)}</th>'
        + "".join(_grades_cell(found.get((condition.key, point))) for point in points)
        + "</tr>"
        for condition in study.plan.conditions
    )
    trends = "".join(
        f"<li><b>{as_markup(one.batch)}</b>, {as_markup(study.plan.condition(one.condition).label)}: "
        f"{as_markup(one.trend.words)}</li>"
        for one in summary.bottles
        if one.trend.tau is not None
    )
    return (
        f'<p>{as_markup(summary.sentence)}</p><div class="sw-subtitle sub">{as_markup(GRADES_LEGEND)}</div>'
        '<div class="sw-scroll"><table class="sw-sheet grid grades">'
        f'<thead><tr><th scope="col">Kept in</th>{head}</tr></thead><tbody>{body}</tbody></table></div>'
        + (f'<ul class="trends">{trends}</ul>' if trends else "")
    )


def _grades_cell(one: GradesAt | None) -> str:
    if one is None:
        return "<td>–</td>"
    spread = f" ({one.lowest} to {one.highest})" if one.highest > one.lowest else ""
    beyond = f' <b style="color:{INKS["fail"]}">{SIGNS["fail"]} {one.beyond}</b>' if one.beyond else ""
    return f"<td>{one.median_words}{spread}{beyond}</td>"
