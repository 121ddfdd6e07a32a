"""A product that a notebook has open: its unsaved work as a draft on the disk, and other notebooks that have it too.

In the folder ``.unsaved`` beside the formula's file every notebook has two files of its own: a draft of what is in
hand, as long as that is not saved, and a sign that it is there, which it renews. A sign that grows old, or whose
process is gone, is that of a notebook that ended; a draft without a living sign is unsaved work to be taken up.
Nothing here ever writes the formula's own file.
"""

from __future__ import annotations

import atexit
import json
import os
import socket
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from secrets import token_hex
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import traitlets

from kit.errors import KitError, StoreError
from kit.formula.files import save_formula
from kit.formula.files.draft import of_draft, to_draft
from kit.formula.files.telling import at_words, changes_in_words
from kit.in_browser import IN_BROWSER, in_background
from kit.saving import set_aside, why
from kit.widgets.soon import Soon

if TYPE_CHECKING:
    from kit.formula.model import Formula
    from kit.widgets.bench import Bench

FOLDER = ".unsaved"
#: A change is on the disk after so long, a sign is renewed so often, and one that was not for so long is dead. [s]
DEBOUNCE, BEAT, DEAD = 0.4, 20.0, 90.0


@dataclass(frozen=True)
class Draft:
    """Unsaved work that a notebook left behind."""

    path: Path
    formula: Formula
    #: What the formula's file held when this began.
    mark: str
    written: datetime


class Session(traitlets.HasTraits):
    """One notebook that has a product open.

    Attributes
    ----------
    found
        Unsaved work of an earlier session, until it is taken up or put aside.
    others
        What to say of other notebooks that have the product open; empty where there are none.
    trouble
        Why unsaved work cannot be kept on the disk, if it cannot.
    """

    found = traitlets.Any(None, allow_none=True)
    others = traitlets.Unicode()
    trouble = traitlets.Unicode()

    #: The sessions of this process, by the names of their files.
    here: dict[str, Session] = {}  # noqa: RUF012

    def __init__(self, bench: Bench, file: Path) -> None:
        super().__init__()
        self.bench, self.file = bench, file.absolute()
        self.folder = self.file.parent / FOLDER
        self.name = f"{os.getpid()}-{token_hex(4)}"
        self.draft, self.sign = self.folder / f"{self.name}.draft", self.folder / f"{self.name}.sign"
        self._soon = Soon(self.write, DEBOUNCE)
        for other in [*Session.here.values()]:
            if other.file == self.file:
                other.end()  # the notebook is run anew; what its panels of before hold is on the disk then
        self.find()
        Session.here[self.name] = self
        self._ended = threading.Event()
        self._show_sign()
        in_background(self._beat, "shakewell-sign")
        bench.observe(lambda _: self._soon.ask(), ["product", "saved", "file"])

    # ---- the draft --------------------------------------------------------------------------------------

    def write(self) -> None:
        """Let the draft hold what is in hand where that is not saved; else there is none."""
        try:
            if self.bench.formula == self.bench.saved:
                self.draft.unlink(missing_ok=True)
            else:
                _replace(self.draft, to_draft(self.bench.formula, self.bench.seen.mark(self.file)))
            self.trouble = ""
        except OSError as error:
            self.trouble = f"Unsaved work is kept in this notebook only, not on the disk: {why(error)}."

    def now(self) -> None:
        """Do at once what the debounce still waits for."""
        self._soon.now()

    def find(self) -> None:
        """Look for unsaved work that no living notebook holds; the newest is offered first."""
        drafts = []
        with suppress(OSError):
            for path in self.folder.glob("*.draft"):
                sign = _read_sign(path.with_suffix(".sign"))
                if path != self.draft and path.stem not in Session.here and not (sign and sign.is_alive):
                    drafts.append(path)
        self.found = None
        for path in sorted(drafts, key=_age):
            draft = self._read(path)
            if draft is not None:
                self.found = draft
                return

    def _read(self, path: Path) -> Draft | None:
        """A draft that holds something else than what is saved; one that does not is cleared away."""
        try:
            data, when = path.read_bytes(), path.stat().st_mtime
        except OSError:
            return None
        try:
            formula, mark = of_draft(data, path.name)
        except KitError:
            with suppress(OSError):  # for whoever wants to look at it; it is not offered again
                path.replace(path.with_suffix(".unreadable"))
            return None
        if formula == self.bench.saved:
            _clear(path)
            return None
        return Draft(path, formula, mark, datetime.fromtimestamp(when, UTC))

    def offer(self) -> str:
        """What to say of unsaved work that was found."""
        if self.found is None:
            return ""
        draft: Draft = self.found
        what = changes_in_words(self.bench.saved or self.bench.start, draft.formula)
        return (
            f"There is unsaved work of {at_words(draft.written)}{f' ({what})' if what else ''}. "
            "Take it up or put it aside: nothing is lost by either."
        )

    def take_up(self) -> str:
        """Take unsaved work in hand; undo brings back what was.

        Raises
        ------
        StoreError
            There is none.
        """
        draft = self._chosen()
        self.bench.change(draft.formula)
        if draft.mark:  # so that a save asks, where the file was saved by another since this work began
            self.bench.seen.recall(self.file, draft.mark)
        self._soon.ask()
        self.now()
        if not self.trouble:
            _clear(draft.path)
        self.find()
        return "The unsaved work is in hand now, and still not saved: Save writes it. Undo brings back what was."

    def put_aside(self) -> str:
        """Put unsaved work among the earlier saves of the file.

        Raises
        ------
        StoreError
            There is none, or it cannot be written there.
        """
        draft = self._chosen()
        with TemporaryDirectory() as folder:
            trial = Path(folder) / self.file.name
            save_formula(draft.formula, trial, like=self.file)
            set_aside(self.file, trial.read_bytes())
        _clear(draft.path)
        self.find()
        return (
            f"The unsaved work is the latest of the earlier saves of {self.file.name}; "
            "Earlier saves of this file, under the formula table, takes it back."
        )

    def _chosen(self) -> Draft:
        if self.found is None:
            msg = "There is no unsaved work to choose about."
            raise StoreError(msg)
        found: Draft = self.found
        return found

    # ---- the sign ---------------------------------------------------------------------------------------

    def look(self) -> None:
        """See which other notebooks have the product open now, and say it."""
        told = []
        with suppress(OSError):
            for path in sorted(self.folder.glob("*.sign")):
                sign = _read_sign(path)
                if path.stem in Session.here or sign is None or not sign.is_alive:
                    continue
                where = "on this computer" if sign.host == socket.gethostname() else f"on {sign.host}"
                work = ", with unsaved work" if path.with_suffix(".draft").exists() else ""
                told.append(f"{where} since {at_words(sign.started)}{work}")
        self.others = (
            f"Another notebook has this product open too: {'; '.join(told)}. Work in one of them: a save over what "
            "the other saved is asked about, and their unsaved work stays apart."
            if told
            else ""
        )

    def end(self) -> None:
        """Be there no more; a draft of unsaved work stays."""
        self.now()
        self._ended.set()
        Session.here.pop(self.name, None)
        _clear(self.sign)

    def _show_sign(self) -> None:
        about = {"host": socket.gethostname(), "pid": os.getpid(), "started": time.time()}
        try:
            self.folder.mkdir(exist_ok=True)
            _replace(self.sign, json.dumps(about).encode())
            for path in self.folder.glob("*.sign"):  # of those that are long gone
                if time.time() - path.stat().st_mtime > 100 * DEAD:
                    path.unlink(missing_ok=True)
        except OSError as error:
            self.trouble = f"Unsaved work is kept in this notebook only, not on the disk: {why(error)}."
        self.look()

    def _beat(self) -> None:
        while not self._ended.wait(BEAT):
            with suppress(OSError):
                os.utime(self.sign)
            self.look()


@dataclass(frozen=True)
class _Sign:
    host: str
    pid: int
    started: datetime
    renewed: float

    @property
    def is_alive(self) -> bool:
        """Whether it was renewed of late, and its process runs where that can be seen."""
        if time.time() - self.renewed > DEAD:
            return False
        return self.host != socket.gethostname() or _runs(self.pid)


def _read_sign(path: Path) -> _Sign | None:
    try:
        about: dict[str, Any] = json.loads(path.read_bytes())
        return _Sign(
            str(about["host"]),
            int(about["pid"]),
            datetime.fromtimestamp(float(about["started"]), UTC),
            path.stat().st_mtime,
        )
    except (OSError, ValueError, TypeError, KeyError, OverflowError):
        return None


def _runs(pid: int) -> bool:
    """Whether a process runs; on Windows, where asking would end it, its sign alone must tell.

    A page in a browser sees no other, and its own of before is gone when it is loaded anew.
    """
    if IN_BROWSER:
        return False
    if sys.platform == "win32":
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True  # another person's
    return True


def _replace(path: Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    path.parent.mkdir(exist_ok=True)
    fresh = path.with_name(f"{path.name}.new")
    try:
        with fresh.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    except OSError:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)
        raise


def _clear(path: Path) -> None:
    """Take a file away, and the folder with the last of them."""
    with suppress(OSError):
        path.unlink(missing_ok=True)
        path.parent.rmdir()


def _age(path: Path) -> float:
    """The newest first."""
    try:
        return -path.stat().st_mtime
    except OSError:
        return 0.0


@atexit.register
def _end_all() -> None:
    for session in [*Session.here.values()]:
        session.end()
