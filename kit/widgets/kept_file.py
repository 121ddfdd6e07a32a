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
from kit.formula.files.telling import at_words, differs_in, in_words
from kit.saving import earlier_saves, set_aside, take_back
from kit.widgets.html import sheet
from kit.widgets.panel import controls, offer, try_to

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.saving import Seen


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
        self.question, self.message, self.table = ipw.HTML(), ipw.HTML(), ipw.HTML()
        self.theirs = _button("Open the one on the disk", "mine goes to the earlier saves")
        self.over = _button("Save mine over it", "the one on the disk goes to the earlier saves")
        self.beside = _button("Save mine under another name", "both files stay")
        self.choice = ipw.VBox([self.question, controls(self.theirs, self.over, self.beside)])
        self.chosen = ipw.Dropdown(description="Which save", layout={"width": "auto", "max_width": "100%"})
        self.back = _button("Take it back", "the file holds this again; what it holds now becomes an earlier save")
        self.saves = ipw.Accordion(
            [ipw.VBox([self.table, controls(self.chosen, self.back)])], titles=("Earlier saves of this file",)
        )
        self.saves.selected_index = None
        super().__init__([self.choice, self.message, *([self.saves] if lists_saves else [])])
        self._put_away()
        self.theirs.on_click(lambda _: self._decide(self._open_theirs))
        self.over.on_click(lambda _: self._decide(self._save_over))
        self.beside.on_click(lambda _: self._decide(self._save_beside))
        self.back.on_click(lambda _: self._decide(self._take_back))
        self.saves.observe(lambda change: self.list_saves() if change["new"] == 0 else None, names="selected_index")

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
        self.beside.description = f"Save mine as {_free_name(path).name}"
        self.question.value = (
            '<div class="sw-sentences"><div class="sw-finding" data-severity="caution">▲ '
            f"<b>{escape(what)}.</b> Nothing was written yet.{escape(self._compared(path))} "
            "Whichever you choose, both are kept.</div></div>"
        )
        self.choice.layout.display = ""

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

    def _put_away(self) -> None:
        self.choice.layout.display = "none"
        self.message.value = ""

    def _decide(self, work: Callable[[], str]) -> None:
        """Do what was chosen; where the file has changed again meanwhile, ask anew."""

        def done() -> str:
            try:
                said = work()
            except ChangedOnDiskError as changed:
                self._ask(self._asked, changed)
                return ""
            self.choice.layout.display = "none"
            self.list_saves()
            return said

        try_to(self.message, done)

    def _open_theirs(self) -> str:
        set_aside(self._asked, self._mine(self._asked))
        return f"{self._reopen(self._asked)} Yours is the latest of the earlier saves of {self._asked.name}."

    def _save_over(self) -> str:
        self._seen.look(self._asked)
        said = self._written(self._asked)
        return f"{said} What was on the disk is the latest of its earlier saves."

    def _save_beside(self) -> str:
        return f"{self._written(_free_name(self._asked))} {self._asked.name} stays as it is on the disk."

    # ---- earlier saves ----------------------------------------------------------------------------------

    def list_saves(self) -> None:
        """Show the earlier saves, if they are wanted to be seen."""
        if self.saves.selected_index != 0:
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
        offer(
            self.chosen,
            [(f"{row[0]}, of {row[1]}", save.number) for row, (save, _) in zip(rows, found, strict=True)],
        )
        self.chosen.layout.display = self.back.layout.display = "" if rows else "none"

    def _take_back(self) -> str:
        path = self._path()
        if self.chosen.value is None:
            return ""
        save = take_back(path, self.chosen.value, seen=self._seen)
        return (
            f"{path.name} holds again what was saved on {at_words(save.saved_at)}. "
            f"What it held is an earlier save now. {self._reopen(path)}"
        )


def _button(words: str, hint: str) -> ipw.Button:
    return ipw.Button(description=words, tooltip=f"{words}: {hint}", layout={"width": "auto"})


def _unbroken(moment: str) -> str:
    """A moment that no narrow column breaks in two."""
    return moment.replace("-", "\N{NON-BREAKING HYPHEN}").replace(" ", "\N{NO-BREAK SPACE}")


def _free_name(path: Path) -> Path:
    """The next name that no file has: shake_2.toml, autumn_2.plan.toml."""
    stem, dot, ending = path.name.partition(".")
    number = 2
    while (free := path.with_name(f"{stem}_{number}{dot}{ending}")).exists():
        number += 1
    return free
