"""What stands in a PDF, page by page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pypdfium2  # type: ignore[import-untyped]


@dataclass(frozen=True)
class PrintedPage:
    """One page: its size in points, and its text with single spaces."""

    width: float
    height: float
    text: str


def pages_of(pdf: bytes) -> list[PrintedPage]:
    """Every page of a PDF."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [PrintedPage(page.get_width(), page.get_height(), _text(page)) for page in document]


def _text(page: Any) -> str:
    return " ".join(page.get_textpage().get_text_bounded().split())
