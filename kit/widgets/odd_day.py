"""A question before a day that is odd goes into a log that only grows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.stability.check import findings_for_date
from kit.widgets.form import Button, Form

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from kit.stability.study import Study

KEEP = "Keep it all the same"
NOT_YET = f"Nothing was saved yet, and what the log holds stays in it. Mend the day or the pull, or press “{KEEP}”."


class OddDay(Form):
    """Asks once about each odd day of a pull; only its button answers.

    Parameters
    ----------
    keep
        Saves, called when the button is pressed.
    """

    def __init__(self, keep: Callable[[], str | None]) -> None:
        self._save = keep
        self._asked: tuple[int, str, date] | None = None
        self._kept: set[tuple[int, str, date]] = set()
        super().__init__([], [Button("keep", KEEP, self._keep)])
        self.show()

    def asks(self, study: Study, label: str, day: date, today: date) -> bool:
        """Whether a reading of this day has to be asked about first; then the question is on show."""
        self.take_back()
        found = findings_for_date(study, study.plan.time_point(label), day, today)
        asked = study.id, label, day
        if not found or asked in self._kept:
            return False
        self._asked = asked
        self.show("keep")
        self.tell(" ".join([*(one.sentence for one in found), NOT_YET]), "caution")
        return True

    def take_back(self) -> None:
        """Ask no more: the day or the pull is another one."""
        self._asked = None
        self.show()
        self.tell("")

    def _keep(self) -> str | None:
        if self._asked is None:
            return None
        self._kept.add(self._asked)
        self.take_back()
        return self._save()
