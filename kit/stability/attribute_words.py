"""An attribute in a few words: what to type, and within which limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kit.stability.attribute import Attribute


def what_to_type(attribute: Attribute) -> str:
    """What stands faintly in an empty box."""
    if attribute.kind == "grade":
        return ", ".join(f"{n} {words.split(':')[0]}" for n, words in enumerate(attribute.scale))
    kinds = {"yes/no": "yes or no", "text": "a few words", "colour": "L* a* b*, such as 62,1 4,5 18,0"}
    return kinds.get(attribute.kind, attribute.unit or "a number")


def limit_phrases(attribute: Attribute, *, brief: bool = True) -> list[str]:
    """The limits of an attribute, a few words for each; not brief, from what a change counts is said as well.

    Examples
    --------
    >>> from kit.stability.plan import every_attribute
    >>> limit_phrases(every_attribute()["ph"]), limit_phrases(every_attribute()["ph"], brief=False)
    (['change at most 0.5'], ['change from the start at most 0.5'])
    """
    unit = f" {attribute.unit}" if attribute.unit else ""
    grade = "grade " if brief and attribute.kind == "grade" else ""
    change = "change" if brief else "change from the start"
    words = [
        f"{word} {grade}{limit:g}{unit}"
        for word, limit in (("at least", attribute.lower), ("at most", attribute.upper))
        if limit is not None
    ]
    if attribute.change is not None:
        of = " (CIEDE2000)" if attribute.kind == "colour" else unit
        words.append(f"{change} at most {attribute.change:g}{of}")
    if attribute.change_percent is not None:
        words.append(f"{change} at most {attribute.change_percent:g} %")
    if attribute.expected:
        words.append(f"expected: {attribute.expected}")
    return words


def limits_in_brief(attribute: Attribute) -> str:
    """The limits of an attribute on one line: "at most 20 shakes", "change at most 0.5"; empty where it has none.

    Examples
    --------
    >>> from kit.stability.plan import every_attribute
    >>> limits_in_brief(every_attribute()["ph"]), limits_in_brief(every_attribute()["leak"])
    ('change at most 0.5', 'expected: no')
    """
    return ", ".join(limit_phrases(attribute))
