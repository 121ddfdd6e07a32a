"""What belongs to a file that a panel keeps: a choice where somebody else wrote it, and its earlier saves."""

from __future__ import annotations

from datetime import UTC, datetime
from html import escape
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.errors import ChangedOnDiskError, KitError
from kit.file_lock import about_locks
from kit.file_names import free_name
from kit.formula.files.telling import at_words, differs_in, in_words
from kit.inputs import Choice, Input
from kit.saving import earlier_saves, set_aside, take_back
from kit.widgets.form import Button, Form
from kit.widgets.html import sheet

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.saving import Seen

MINE_KEPT = "Mine goes to the earlier saves"
THEIRS_KEPT = "The one on the disk goes to the earlier saves"
BOTH_STAY = "Both files stay"
TAKEN_BACK = "The file holds this again; what it holds now becomes an earlier save"


class KeptFile(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """A panel's file: saved through here, chosen about where it changed on the disk, and taken back.

    Parameters
    ----------
    seen
        What the panel has read of its files.
    path
        The file as it is named now.
    save
        Save what is in hand to a file, with ``seen``; gives what to say. It may turn the panel to that file.
    copy
        Save what is in hand to a file that nobody has seen, and turn to nothing.
    reopen
        Take what is on the disk in hand; gives what to say.
    lists_saves
        Whether its earlier saves are shown here too; the command ``saves`` lists those of every file.
    """

    def __init__(
        self,
        seen: Seen,
        *,
        path: Callable[[], Path],
        save: Callable[[Path], str],
        copy: Callable[[Path], object],
        reopen: Callable[[Path], str],
        lists_saves: bool = True,
    ) -> None:
        self._seen, self._path, self._write, self._copy, self._reopen = seen, path, save, copy, reopen
        self._asked = Path()
        self._lists_saves, self._is_listing = lists_saves, False
        self.question, self.table = ipw.HTML(), ipw.HTML()
        self.form = Form(
            [Input("chosen", "Which save", Choice({}))],
            [
                Button("theirs", "Open the one on the disk", lambda: self._decide(self._open_theirs), MINE_KEPT),
                Button("over", "Save mine over it", lambda: self._decide(self._save_over), THEIRS_KEPT),
                Button("beside", "Save mine under another name", lambda: self._decide(self._save_beside), BOTH_STAY),
                Button("saves", "Earlier saves of this file", self._show_saves, "Show them, or put them away"),
                Button("back", "Take it back", lambda: self._decide(self._take_back), TAKEN_BACK),
            ],
        )
        super().__init__([self.question, self.table, self.form])
        self._put_away()

    # ---- saving -----------------------------------------------------------------------------------------

    def save(self, path: Path) -> str:
        """Save what is in hand; where somebody else wrote the file since, ask what is to be done, and say nothing.

        Raises
        ------
        KitError
            It cannot be saved at all.
        """
        self._put_away()
        try:
            said = self._written(path)
        except ChangedOnDiskError as changed:
            self._ask(path, changed)
            return ""
        self.list_saves()
        return said

    def _written(self, path: Path) -> str:
        """Save, and say too what is to be known of the disk."""
        return f"{self._write(path)} {about_locks(path)}".rstrip()

    def _ask(self, path: Path, changed: ChangedOnDiskError) -> None:
        self._asked = path
        what = str(changed).partition(". ")[0]
        self.form.call("beside", f"Save mine as {free_name(path).name}")
        self.question.value = (
            '<div class="sw-sentences"><div class="sw-finding" data-severity="caution">▲ '
            f"<b>{escape(what)}.</b> Nothing was written yet.{escape(self._compared(path))} "
            "Whichever you choose, both are kept.</div></div>"
        )
        self._show()

    def _compared(self, path: Path) -> str:
        """What lies on the disk, and how it differs from what is in hand."""
        try:
            theirs, mine = path.read_bytes(), self._mine(path)
            written = at_words(datetime.fromtimestamp(path.stat().st_mtime, UTC))
        except (OSError, KitError):
            return ""
        return (
            f" On the disk: {in_words(path.name, theirs)}, saved {written}. Against yours it has: "
            f"{differs_in(path.name, theirs, mine)}."
        )

    def _mine(self, path: Path) -> bytes:
        """What is in hand, as this file would hold it, with the comments that are in it."""
        with TemporaryDirectory() as folder:
            trial = Path(folder) / path.name
            if path.is_file():
                trial.write_bytes(path.read_bytes())
            self._copy(trial)
            return trial.read_bytes()

    @property
    def is_asking(self) -> bool:
        """Whether a person has to choose, because somebody else wrote the file."""
        return bool(self.question.value)

    def _put_away(self) -> None:
        self.question.value = ""
        self.form.tell("")
        self._show()

    def _show(self) -> None:
        """Show the buttons that can be used now."""
        asks = ("theirs", "over", "beside") if self.is_asking else ()
        takes_back = ("chosen", "back") if self._is_listing and self.form.texts["chosen"] else ()
        self.form.show(*asks, *takes_back, *(("saves",) if self._lists_saves else ()))

    def _decide(self, work: Callable[[], str]) -> str:
        """Do what was chosen; where the file has changed again meanwhile, ask anew."""
        try:
            said = work()
        except ChangedOnDiskError as changed:
            self._ask(self._asked, changed)
            return ""
        self._put_away()
        self.list_saves()
        return said

    def _open_theirs(self) -> str:
        set_aside(self._asked, self._mine(self._asked))
        return f"{self._reopen(self._asked)} Yours is the latest of the earlier saves of {self._asked.name}."

    def _save_over(self) -> str:
        self._seen.look(self._asked)
        said = self._written(self._asked)
        return f"{said} What was on the disk is the latest of its earlier saves."

    def _save_beside(self) -> str:
        return f"{self._written(free_name(self._asked))} {self._asked.name} stays as it is on the disk."

    # ---- earlier saves ----------------------------------------------------------------------------------

    def _show_saves(self) -> None:
        self._is_listing = not self._is_listing
        self.table.value = ""
        self.list_saves()
        self._show()

    def list_saves(self) -> None:
        """Show the earlier saves, if they are wanted to be seen."""
        if not self._is_listing:
            return
        try:
            path = self._path()
            now = path.read_bytes() if path.is_file() else b""
            found = [(save, save.read()) for save in earlier_saves(path)]
        except (KitError, OSError) as error:
            self.table.value = escape(str(error))
            return
        rows = [
            [
                str(save.number),
                _unbroken(at_words(save.saved_at)),
                in_words(path.name, data),
                differs_in(path.name, data, now),
            ]
            for save, data in found
        ]
        head = ["no.", "saved", "what it holds", "what taking it back changes"]
        self.table.value = (
            sheet(head, rows, numbers=(0,), caption="the last ten; each is a file in the folder earlier_saves")
            if rows
            else f"{escape(path.name)} has no earlier saves yet: it gets one whenever it is saved changed."
        )
        self.form.offer(
            "chosen", {save.number: f"{row[0]}, of {row[1]}" for row, (save, _) in zip(rows, found, strict=True)}
        )
        self._show()

    def _take_back(self) -> str:
        path = self._path()
        save = take_back(path, self.form["chosen"], seen=self._seen)
        return (
            f"{path.name} holds again what was saved on {at_words(save.saved_at)}. "
            f"What it held is an earlier save now. {self._reopen(path)}"
        )


def _unbroken(moment: str) -> str:
    """A moment that no narrow column breaks in two."""
    return moment.replace("-", "\N{NON-BREAKING HYPHEN}").replace(" ", "\N{NO-BREAK SPACE}")
