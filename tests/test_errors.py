"""What a notebook shows of an error that is meant for the maker."""

from __future__ import annotations

from typing import Any

from IPython.core.interactiveshell import InteractiveShell
from IPython.utils.capture import capture_output


def test_a_notebook_shows_the_sentence_and_no_traceback() -> None:
    shell: Any = InteractiveShell()  # type: ignore[no-untyped-call]
    with capture_output() as shown:
        result = shell.run_cell("from kit.units import magnitude\nmagnitude(30, 'mL', name='fill')")
    assert result.error_in_exec is not None
    assert shown.stdout.strip() == str(result.error_in_exec)
    assert "Traceback" not in shown.stdout
    assert "mL" in shown.stdout
