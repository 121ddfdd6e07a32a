"""The trial of blends in hand, which the blend panels of one bench share; and the file that keeps it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw
import traitlets

from kit.blends.models import fit_blend, fit_every_model, likeliest_model
from kit.blends.trial import BlendTrial
from kit.blends.trial_file import TRIAL_FILE, demo_trial, read_trial, save_trial
from kit.errors import EntryError, KitError
from kit.file_names import beside
from kit.inputs import REQUIRED, FileName, Input
from kit.product.beginning import is_demo
from kit.widgets.form import Button, Form
from kit.widgets.html import soft
from kit.widgets.kept_file import KeptFile

if TYPE_CHECKING:
    from kit.blends.fit import BlendFit
    from kit.findings import Finding
    from kit.widgets.bench import Bench

#: How many trials back are remembered.
MOST_UNDO = 50
#: The choice of the model that foretells best.
LIKELIEST = "likeliest"
NONE_YET = "There is no trial of blends yet. Plan one with BlendDesignPanel, or open its file there."


class BlendInHand(traitlets.HasTraits):
    """A trial, how its scores are modelled, and its file.

    Attributes
    ----------
    trial
        None until one is planned or opened; the invented one where the product is a demo.
    models
        Name of what is scored → the model that a hand chose; the likeliest where none is named.
    path
        Where it is kept.
    saved
        The trial as it was last opened or saved.
    trouble
        What is wrong with the file that lay beside the notebook.
    """

    trial = traitlets.Instance(BlendTrial, allow_none=True)
    models: traitlets.Dict[str, str] = traitlets.Dict()
    path = traitlets.Instance(Path)
    saved = traitlets.Instance(BlendTrial, allow_none=True)
    trouble = ""

    def __init__(self, trial: BlendTrial | None, path: Path) -> None:
        super().__init__(trial=trial, path=path)
        self._earlier: list[BlendTrial | None] = []
        self._fits: dict[str, BlendFit] = {}

    @classmethod
    def of(cls, bench: Bench) -> BlendInHand:
        """What the blend panels of a bench share; its file is read where it lies beside the notebook."""
        if bench.blends is None:
            bench.blends = hand = cls(demo_trial() if is_demo(bench.formula) else None, Path(TRIAL_FILE))
            if hand.trial is None and hand.path.is_file():
                try:
                    hand.saved = hand.trial = bench.seen.read(hand.path, lambda there: read_trial(there, []))
                except KitError as error:
                    hand.trouble = str(error)
        return bench.blends

    @property
    def trial_there(self) -> BlendTrial:
        """The trial, where there is one; an EntryError says what to do where there is none."""
        if self.trial is None:
            raise EntryError(NONE_YET)
        return self.trial

    def put(self, trial: BlendTrial | None) -> None:
        """Take another trial, or a changed one, in hand; `go_back` brings back the one before."""
        if trial != self.trial:
            self._earlier = [*self._earlier[-MOST_UNDO + 1 :], self.trial]
            self._fits = {}
            self.trial = trial

    @property
    def can_go_back(self) -> bool:
        """Whether there was another trial before."""
        return bool(self._earlier)

    def go_back(self) -> str:
        """Bring back the trial as it was before."""
        if self._earlier:
            *self._earlier, before = self._earlier
            self._fits = {}
            self.trial = before
        return "The trial is as it was before."

    def choose(self, name: str, model: str) -> None:
        """Model a score in this way from now on."""
        self._fits.pop(name, None)
        self.models = {**self.models, name: model}

    def fit(self, name: str) -> BlendFit:
        """The model of a score, as it was chosen; remembered until a score changes.

        Raises
        ------
        KitError
            The scores are not enough for it.
        """
        if name not in self._fits:
            trial, model = self.trial_there, self.models.get(name, LIKELIEST)
            given = trial.points, trial.scores[name]
            if model == LIKELIEST:
                self._fits[name] = likeliest_model(fit_every_model(*given, trial.region.names, name))
            else:
                self._fits[name] = fit_blend(*given, model, trial.region.names, name)  # type: ignore[arg-type]
        return self._fits[name]


class TrialFile(ipw.VBox):  # type: ignore[misc]  # ipywidgets has no types
    """Open and save the file of the trial in hand."""

    def __init__(self, bench: Bench, hand: BlendInHand) -> None:
        self._bench, self._hand = bench, hand
        self.form = Form(
            [Input("file", "File of the trial", FileName(".csv"), REQUIRED, example=TRIAL_FILE)],
            [
                Button("open", "Open", self._open, "Open this trial"),
                Button("save", "Save", self._save, "Save the trial, with its scores and goals, to this file"),
                Button("undo", "Undo", hand.go_back, "Back to the trial as it was"),
            ],
        )
        self.form.set(file=hand.path)
        self.kept = KeptFile(
            bench.seen,
            path=lambda: self.form.read()["file"],
            save=self._save_to,
            copy=lambda path: save_trial(hand.trial_there, path),
            reopen=self._read,
        )
        self.state = ipw.HTML()
        super().__init__([self.form, self.kept, self.state])
        self.form.tell(hand.trouble, "stop")
        self.show()
        hand.observe(lambda _: self.show(), names=["trial", "path", "saved"])

    def show(self) -> None:
        """Let only those buttons be pressed that do something."""
        self.form.enable("save", can=self._hand.trial is not None)
        self.form.enable("undo", can=self._hand.can_go_back)
        self.form.follow(file=self._hand.path)
        self.state.value = soft(self._in_words())

    def _in_words(self) -> str:
        """What is in hand, and whether the disk has it."""
        trial = self._hand.trial
        if trial is None:
            return "No trial is in hand yet."
        scored = f", scored for {', '.join(trial.scores)}" if trial.scores else ", nothing scored yet"
        said = f"In hand: {len(trial.bottles)} bottles of {', '.join(trial.region.names)}{scored}."
        if is_demo(self._bench.formula) and self._hand.saved is None:
            return f"{said} Invented for Tern Lane Workshop: no real bottle stands behind it, and nothing is saved."
        return said if trial == self._hand.saved else f"{said} Not saved yet."

    def _open(self) -> str:
        return self._read(self.form.read()["file"])

    def _read(self, path: Path) -> str:
        notes: list[Finding] = []
        self._hand.put(self._bench.seen.read(path, lambda there: read_trial(there, notes)))
        self._hand.saved, self._hand.path = self._hand.trial, path
        return " ".join([f"Opened {path.name}.", *(note.sentence for note in notes)])

    def _save(self) -> str:
        return self.kept.save(self.form.read()["file"])

    def _save_to(self, path: Path) -> str:
        save_trial(self._hand.trial_there, path, seen=self._bench.seen)
        self._hand.saved, self._hand.path = self._hand.trial, path
        return f"Saved {path.name} {beside(path)}."
