"""Put a paper on disk: as HTML always, as PDF where that is asked for and a browser is at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.file_names import file_stem
from kit.papers.layout import on_paper
from kit.papers.pdf import PrintError, print_pdf
from kit.saving import save_bytes, save_text

if TYPE_CHECKING:
    from pathlib import Path

    from kit.papers.layout import PaperSize


def paper_name(kind: str, *about: str) -> str:
    """The name of a paper's file, without its ending: the kind of paper, then the title, the lot and so on.

    Examples
    --------
    >>> paper_name("batch_sheet", "After-swim body shake", "TL-07", "")
    'batch_sheet_after_swim_body_shake_tl_07'
    """
    return file_stem(kind, *(part for part in about if part.strip()))


def write_paper(
    html: str, path: Path, *, size: PaperSize = "a4", pdf: bool = False
) -> tuple[list[Path], PrintError | None]:
    """Write a paper, and print it where that is asked for.

    Parameters
    ----------
    path
        Where to; its ending is exchanged for .html and .pdf.

    Returns
    -------
    The files that were written, and why there is no PDF among them where one was asked for.

    Raises
    ------
    StoreError
        A file could not be written.
    """
    sized = on_paper(html, size)
    page = path.with_suffix(".html")
    save_text(page, sized)
    if not pdf:
        return [page], None
    try:
        printed = print_pdf(sized)
    except PrintError as error:
        return [page], error
    save_bytes(path.with_suffix(".pdf"), printed)
    return [page, path.with_suffix(".pdf")], None
