"""The bench: the one product in hand, which every panel shows and any panel may change."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import traitlets

from kit.demos import demo
from kit.errors import EntryError, KitError, RangeError, StoreError
from kit.file_names import file_stem
from kit.formula import editing
from kit.formula.files import read_formula, save_formula
from kit.formula.files.telling import short_words
from kit.formula.model import Formula, PhReading
from kit.formula.versions import beside, keep_version, merged, rounded_percents, versions
from kit.layers.ratio import LayerMix, RatioPath
from kit.library.library import Library
from kit.library.own import OWN_FILE, read_own
from kit.product.beginning import blank
from kit.product.product import Product
from kit.product.workshop import find_workshop, read_workshop
from kit.saving import Seen
from kit.widgets.typing_in import apply_edit
from kit.widgets.unsaved import Session
from kit.workspace import FORMULA

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.bench.scaling import Order
    from kit.findings import Finding
    from kit.formula.model import Phase
    from kit.formula.requirements import Requirement
    from kit.layers.bottle import HeightScale
    from kit.layers.window import Window
    from kit.library.ingredient import Ingredient, Stock
    from kit.widgets.blend_in_hand import BlendInHand
    from kit.widgets.formula_table.table import Edit

#: How many steps back the bench remembers.
MOST_UNDO = 200


@dataclass(frozen=True)
class Step:
    """A step to go back to: the formula, what was kept then, and its file if the step was to open another."""

    formula: Formula
    kept: tuple[Formula, ...]
    home: tuple[Formula, Path | None, Formula | None] | None = None


@dataclass(frozen=True)
class Moving:
    """Along what the hand moves the ratio, where it has come, and whether undo knows a step for it yet."""

    along: RatioPath | LayerMix
    formula: Formula
    is_step: bool


def _part(name: str) -> property:
    """A part of the product in hand, to be read and set as if it were the bench's own."""

    def get(bench: Bench) -> Any:
        return getattr(bench.product, name)

    def put(bench: Bench, value: Any) -> None:
        old = get(bench)
        if value is not old and (name == "formula" or value != old):
            bench.product = replace(bench.product, **{name: value})
        if name == "balance":
            bench.product = bench.product.knowing("balance")

    return property(get, put)


class Bench(traitlets.HasTraits):
    """The product in hand, with its history and its file.

    Panels observe its traits. What follows from the product is the product's: ``bench.product.window``.

    Attributes
    ----------
    product
        What is in hand; its parts can be set one by one: ``bench.formula``, ``bench.order`` and so on.
    start
        What changes are shown against: the version last opened or kept.
    file
        Where the formula is saved.
    saved
        What was in hand when it was last saved or opened; None where nothing is on disk yet.
    told
        What the last change did besides what the hand asked for, or how the files were read with which it was
        opened; empty where there is nothing to say.
    workshop
        The file of the workshop whose numbers were taken; None where there was none.
    """

    product = traitlets.Instance(Product)
    start = traitlets.Instance(Formula)
    file = traitlets.Instance(Path, allow_none=True)
    saved = traitlets.Instance(Formula, allow_none=True)
    told = traitlets.Unicode()
    workshop = traitlets.Instance(Path, allow_none=True)

    formula, library, jurisdiction = _part("formula"), _part("library"), _part("jurisdiction")
    balance, tolerance, bottle = _part("balance"), _part("tolerance"), _part("bottle")
    prices, costing, extra_ends = _part("prices"), _part("costing"), _part("extra_ends")
    particulars, choices, on, known = _part("particulars"), _part("choices"), _part("on"), _part("known")

    def __init__(self, formula: Formula | None = None, *, library: Library | None = None) -> None:
        formula = formula if formula is not None else demo()
        if not isinstance(formula, Formula):
            msg = f"A bench is made of a Formula, not of {str(formula)[:60]!r}. kit.open_bench opens a formula's file."
            raise EntryError(msg)
        kept = versions(formula)
        formula = beside(formula, kept)
        self._kept: dict[Path | None, tuple[Formula, ...]] = {None: kept}
        super().__init__(product=Product(formula, library or Library.bundled()), start=formula)
        self.seen = Seen()
        self._undo: list[Step] = []
        self._redo: list[Step] = []
        self._moving: Moving | None = None
        #: Keeps unsaved work on the disk, and knows of other notebooks, where the bench is that of a product's folder.
        self.session: Session | None = None
        #: The trial of blends that the blend panels of this bench share; they make it when the first is shown.
        self.blends: BlendInHand | None = None

    @classmethod
    def of(cls, source: Bench | Product | Formula | str | Path | None) -> Bench:
        """The bench of a panel: one that is there, or a new one for a product, a formula, a file or the demo."""
        if isinstance(source, cls):
            return source
        if isinstance(source, (str, Path)) or source is None:
            return open_bench(source)
        if isinstance(source, Formula):
            return cls(source)
        if not isinstance(source, Product):
            msg = f"A panel shows a bench, a product, a formula or a formula's file, not {str(source)[:60]!r}."
            raise EntryError(msg)
        bench = cls(source.formula)
        bench.product = replace(source, formula=bench.formula)
        return bench

    @traitlets.observe("file")
    def _same_under_another_name(self, change: dict[str, Path | None]) -> None:
        self._kept.setdefault(self.home, self._kept.get(_home(change["old"]), ()))

    @property
    def order(self) -> Order:
        """What is to be made; one by mass says nothing about bottles, so they stay as full as they are."""
        return self.product.order

    @order.setter
    def order(self, order: Order) -> None:
        if getattr(order, "by", "bottles") != "bottles":
            order = replace(order, fill=self.fill)
        self.product = replace(self.product, order=order).knowing("batch")

    @property
    def ph(self) -> float | None:
        """The measured pH of the water layer; it is kept with the formula, and undo takes it back."""
        return self.product.ph

    @ph.setter
    def ph(self, ph: float | None) -> None:
        if ph != self.ph:
            self.measure_ph(None if ph is None else PhReading(ph))

    def measure_ph(self, measured: PhReading | None) -> None:
        """Keep a measured pH of the water layer, or none, with the formula."""
        if measured != self.formula.measured_ph:
            self.change(replace(self.formula, measured_ph=measured))

    @property
    def fill(self) -> float:
        """The volume of product in each bottle. [mL]"""
        return self.product.fill

    @fill.setter
    def fill(self, millilitres: float) -> None:
        self.product = replace(self.product, order=replace(self.order, fill=millilitres))

    # ---- what follows while the hand moves the ratio ----------------------------------------------------

    @property
    def path(self) -> RatioPath:
        """The formula at every ratio; raises a KitError where there is no ratio to move.

        While the hand moves the ratio, the path stays the one it started on.
        """
        going = self._going_along
        return going if isinstance(going, RatioPath) else self.product.path

    @property
    def mix(self) -> LayerMix:
        """The formula at every size of its three layers; raises a KitError where it has not three.

        While the hand moves their sizes, the mix stays the one it started on.
        """
        going = self._going_along
        return going if isinstance(going, LayerMix) else self.product.mix

    @property
    def _going_along(self) -> RatioPath | LayerMix | None:
        return self._moving.along if self._moving is not None and self._moving.formula is self.formula else None

    @property
    def requirements(self) -> list[Requirement]:
        """The limits and rules along the path."""
        return self.product.requirements_along(self.path)

    @property
    def window(self) -> Window:
        """The ratios at which all holds that was judged."""
        return self.product.window_along(self.path)

    @property
    def heights(self) -> HeightScale:
        """How high the oil layer stands at each ratio."""
        return self.product.heights_along(self.path)

    # ---- changing it ------------------------------------------------------------------------------------

    def apply(self, edit: Edit) -> None:
        """Do what a hand did in the formula table."""
        if edit["kind"] == "undo":
            self.undo()
        elif edit["kind"] == "redo":
            self.redo()
        else:
            self.edit(lambda formula: apply_edit(formula, edit))

    def edit(self, do: Callable[[Formula], Formula]) -> None:
        """Do something to the formula as it stands on the screen; undo brings this one back.

        Where the ratio is moved and the typed amounts cannot stay what they are, the moved ones take their place,
        and ``told`` says so.
        """
        before, oil = self.formula, self.product.oil
        self.change(editing.edited(before, do))
        if before.ratio is not None and self.formula.ratio is None:
            self.told = (
                f"The ratio was moved, so the amounts at {oil:.4g} % oil layer are the typed ones from now on. "
                "Undo brings back the ones before."
            )

    def change(self, formula: Formula) -> None:
        """Take another formula in hand; undo brings this one back.

        The versions that were kept stay beside it; a formula that brings versions of its own comes with those.
        """
        self._moving = None
        if any(version not in self.kept for version in formula.earlier):
            self._kept[self.home] = versions(formula)
        self._take(beside(formula, self.kept))

    def move_oil(self, oil: float) -> None:
        """Move the ratio so that the oil layer is this much of the whole. [% w/w]

        One move after another counts as one step for undo.
        """
        path = self.path
        self._move(path, path.at(min(max(oil, 0.0), path.most)))

    def move_layers(self, oil: float, other: float) -> None:
        """Move three layers; the water layer takes what these two leave, and "other" gives way to oil. [% w/w]"""
        mix = self.mix
        oil = min(max(oil, 0.0), 100.0)
        other = min(max(other, 0.0), 100.0 - oil)
        self._move(mix, mix.at({"water": 100.0 - oil - other, "oil": oil, "other": other}))

    def _move(self, along: RatioPath | LayerMix, formula: Formula) -> None:
        if formula == self.formula:
            return
        formula = beside(formula, self.kept)
        goes_on = self._moving is not None and self._moving.is_step and self._going_along is along
        there_and_back = goes_on and bool(self._undo) and self._undo[-1].formula == formula
        self._moving = Moving(along, formula, not there_and_back)
        if there_and_back:
            self._undo.pop()
        if goes_on:
            self.formula = formula
        else:
            self._take(formula)

    def move_oil_volume(self, share: float) -> None:
        """Move the ratio so that the oil layer takes this share of the volume. [%]"""
        self.move_oil(self.heights.oil_for_volume(share))

    def move_oil_height(self, share: float) -> None:
        """Move the ratio so that the oil layer stands at this share of the visible height. [%]"""
        self.move_oil(self.heights.oil_for(share))

    @property
    def home(self) -> Path | None:
        """The one name of the file that the formula lives in."""
        return _home(self.file)

    @property
    def kept(self) -> tuple[Formula, ...]:
        """Every version of this formula that was kept, by number; whatever is done to what is in hand, they stay."""
        return self._kept.get(self.home, ())

    def keep(self, note: str = "") -> Formula:
        """Keep a copy of what is in hand as the next version, and save it too where the formula has a file.

        What the ratio moved is rounded to 0.001 % in the copy; what is in hand stays as it is.

        Raises
        ------
        RangeError
            The formula is not complete.
        StoreError
            The version is kept beside what is in hand, but could not be saved.
        """
        before = replace(self.formula, earlier=self.kept, changed=True)
        kept = keep_version(rounded_percents(self.formula), before, note)
        self._kept[self.home] = versions(kept)
        self._moving = None
        self.formula = beside(replace(self.formula, version=kept.version), self.kept)
        self.start = kept
        if self.file is not None:
            try:
                self.save()
            except KitError as error:
                msg = f"Kept as version {kept.version} in hand only, not on disk yet. {error}"
                raise StoreError(msg) from error
        return kept

    def take_version(self, number: int) -> None:
        """Take a version that was kept in hand again; undo brings back what was.

        Raises
        ------
        RangeError
            None of that number was kept.
        """
        found = next((version for version in self.kept if version.version == number), None)
        if found is None:
            msg = f"No version {number} of {self.formula.title} was kept."
            raise RangeError(msg)
        self.change(replace(found, variants=self.formula.variants, earlier=self.kept))

    def change_phases(self, phases: tuple[Phase, ...]) -> None:
        """Take other lines in hand, the rest of the formula as it is."""
        self.change(replace(self.formula, phases=phases))

    def add_material(self, material: Ingredient | Stock) -> None:
        """Let a stock or an own ingredient travel with the formula."""
        self.change(editing.with_material(self.formula, material))

    def undo(self) -> None:
        """Go one step back, if there is one."""
        if self._undo:
            self._go(self._undo.pop(), self._redo)

    def redo(self) -> None:
        """Take back the last undo, if there was one."""
        if self._redo:
            self._go(self._redo.pop(), self._undo)

    def _go(self, step: Step, way_back: list[Step]) -> None:
        self._moving = None
        way_back.append(Step(self.formula, self.kept, self._home if step.home else None))
        with self.hold_trait_notifications():
            if step.home:
                self.start, self.file, self.saved = step.home
            self._kept[self.home] = merged(self.kept, step.kept)
            self.formula = beside(step.formula, self.kept)
            self.told = ""

    @property
    def _home(self) -> tuple[Formula, Path | None, Formula | None]:
        return self.start, self.file, self.saved

    @property
    def can_undo(self) -> bool:
        """Whether there is a step back."""
        return bool(self._undo)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step forward again."""
        return bool(self._redo)

    @property
    def undoes(self) -> str:
        """What undo would bring back, in a few words."""
        return short_words(self.formula, self._undo[-1].formula) if self._undo else ""

    @property
    def redoes(self) -> str:
        """What redo would bring again, in a few words."""
        return short_words(self.formula, self._redo[-1].formula) if self._redo else ""

    def _take(self, formula: Formula, step: Step | None = None) -> None:
        step = step or Step(self.formula, self.kept)
        self.told = ""
        now = self.formula
        as_now = replace(
            formula, version=now.version, changed=now.changed, change_note=now.change_note, earlier=now.earlier
        )
        if as_now == now and step.home is None:  # the same under another number is no step
            self.formula = formula
            return
        self._undo = [*self._undo[-MOST_UNDO + 1 :], step]
        self._redo = []
        self.formula = formula

    # ---- files ------------------------------------------------------------------------------------------

    def open(self, path: str | Path) -> list[Finding]:
        """Open a file; undo brings back what was in hand, with its own file and start.

        Returns
        -------
        What is to be said of how it was read.
        """
        notes: list[Finding] = []
        read = self.seen.read(path, lambda there: read_formula(there, notes))
        kept = versions(read)
        formula = beside(read, kept)
        self._moving = None
        self._take(formula, Step(self.formula, self.kept, self._home if self.file != Path(path) else None))
        self.start = next((old for old in kept if formula.changed and old.version == formula.version), formula)
        self.saved = formula
        self.file = Path(path)
        self._kept[self.home] = kept
        return notes

    def save(self, path: str | Path | None = None) -> list[Finding]:
        """Save to a file, or to the one it came from; returns what that kind of file leaves out.

        Raises
        ------
        ChangedOnDiskError
            The file is not as it was when it was opened or saved here. Nothing is written then. To save over it all
            the same, ``bench.seen.look(path)`` comes first; what is on the disk is kept among its earlier saves.
        """
        target = Path(path) if path is not None else self.file or Path(f"{file_stem(self.formula.title)}.toml")
        notes = save_formula(self.formula, target, seen=self.seen, like=self.file)
        self._kept[_home(target)] = self.kept
        self.file, self.saved = target, self.formula
        return notes


def _home(file: Path | None) -> Path | None:
    return file.absolute() if file else None


def open_bench(
    file: str | Path | None = None,
    *,
    start_from: str = "",
    own_file: str | Path = OWN_FILE,
    workshop: str | Path | None = None,
) -> Bench:
    """A bench with a formula in hand, and the maker's own ingredients at hand.

    Parameters
    ----------
    file
        Opened if it is there; otherwise the bench begins with an empty formula, named after it, and saves to it.
        None: the demo, which has no file.
    start_from
        The name of a demo formula to begin with where there is no file yet; see :func:`kit.demos.demo_names`.
    own_file
        Her own ingredients, if the file is there.
    workshop
        The numbers of her workshop. None: those in ``workshop.toml`` beside the file or in the folder above it.

    Raises
    ------
    FileFaultsError
        Every fault of a file that is there and cannot be read.
    """
    if start_from or file is None:
        bench = Bench(demo(start_from or "after_swim_body_shake"))
    else:
        bench = Bench(blank(Path(file).stem.replace("_", " ").strip().capitalize() or "Untitled"))
    notes: list[Finding] = []
    if Path(own_file).exists():
        bench.library = Library(bench.library.supplied, read_own(Path(own_file), notes))
    bench.workshop = Path(workshop) if workshop else find_workshop(Path(file).parent) if file is not None else None
    if bench.workshop:
        bench.product = bench.seen.read(bench.workshop, read_workshop).put_into(bench.product)
    if file is not None:
        bench.file = Path(file)
        if bench.file.exists():
            notes += bench.open(bench.file)
            bench._undo.clear()
    bench.told = " ".join(note.sentence for note in notes)
    return bench


def open_product(folder: str | Path = ".") -> Bench:
    """The bench of a product, from its folder; see :mod:`kit.product_folder`.

    Raises
    ------
    StoreError
        The folder holds no product.
    FileFaultsError
        Every fault of a file that is there and cannot be read.
    """
    file = Path(folder) / FORMULA
    if not file.is_file():
        where = Path(folder).resolve()
        msg = f"{where} holds no {FORMULA}, so it is no product's folder. Make one: python3 -m kit new NAME"
        raise StoreError(msg)
    bench = open_bench(file, own_file=Path(folder) / OWN_FILE)
    bench.session = Session(bench, file)
    return bench
