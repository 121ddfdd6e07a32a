"""Every paper is valid HTML by the judgement of a general-purpose parser, and stands on its own."""

from __future__ import annotations

import pytest

from kit.papers.layout import PAPER_SIZES, on_paper
from tests.papers.all_papers import PAPERS, TAME
from tests.papers.reading import Page


@pytest.mark.parametrize("name", PAPERS)
def test_a_paper_is_valid_and_stands_alone(name: str) -> None:
    html = PAPERS[name](TAME)
    assert Page(html).faults() == []
    assert html.startswith("<!DOCTYPE html>")
    assert '<meta charset="utf-8">' in html


@pytest.mark.parametrize("name", PAPERS)
def test_every_paper_fits_a4_and_letter(name: str) -> None:
    html = PAPERS[name](TAME)
    for size, (word, *_) in PAPER_SIZES.items():
        sized = on_paper(html, size)
        assert sized.count(f"@page {{ size: {word};") == 1
        assert Page(sized).faults() == []


def test_what_is_no_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="not a paper of the kit"):
        on_paper("<style>\n@page { size: A5; }</style>", "letter")


@pytest.mark.parametrize(
    ("html", "fault"),
    [
        ("<!DOCTYPE html><html><title>t</title><body><h1>a</h1>", "no language"),
        ('<!DOCTYPE html><html lang="en"><title> </title><body><h1>a</h1>', "no title"),
        ('<!DOCTYPE html><html lang="en"><title>t</title><body><h2>a</h2>', "only h1"),
        ('<!DOCTYPE html><html lang="en"><title>t</title><body><h1>a</h1><h3>b</h3>', "h3 follows h1"),
        ('<!DOCTYPE html><html lang="en"><title>t</title><body><h1 id="a">a</h1><p id="a">', "'a' is there 2 times"),
        ('<!DOCTYPE html><html lang="en"><title>t</title><body><h1 aria-labelledby="b">a</h1>', "no"),
        ('<!DOCTYPE html><html lang="en"><title>t</title><body><h1>a</h1><script></script>', "it holds script"),
        ('<!DOCTYPE html><html lang="en"><title>t</title><body><h1>a</h1><img src="//x.y/z">', "it asks for //x.y/z"),
        ('<!DOCTYPE html><html lang="en"><title>t</title><style>@import "x";</style><body><h1>a</h1>', "@import"),
    ],
)
def test_the_reader_would_notice(html: str, fault: str) -> None:
    assert any(fault in found for found in Page(html).faults())


def test_the_parser_forgives_nothing() -> None:
    with pytest.raises(Exception, match="in table context"):
        Page('<!DOCTYPE html><html lang="en"><title>t</title><body><table><p>a</table>')
