"""The product: a formula with all that it is made for, and everything that follows from it, worked out once."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, TypeVar

from kit.bench.balance import Balance
from kit.bench.batch_text import ByBottles
from kit.bench.cost import CostSheet, bottles_filled, cost, left_over
from kit.bench.price_list import PriceList
from kit.bench.scaling import BatchSize, Order
from kit.bench.weighing import Batch, weigh
from kit.errors import KitError
from kit.findings import Finding, Place, worst_first
from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.looked_up import LookedUp, looked_up
from kit.formula.model import Formula
from kit.formula.requirements import Requirement, requirements
from kit.formula.usual_ranges import habits_along
from kit.label.content import NetContent, content_of_volume, read_content
from kit.label.declaration import Choices
from kit.label.label_text import LabelText, label
from kit.label.particulars import Particulars
from kit.layers.bottle import Bottle, HeightScale, Standing, bundled_bottles, stand, usual_bottle, usual_fill
from kit.layers.density import Layer, as_one, layers_of, product_density, product_density_off
from kit.layers.ratio import KINDS, LayerMix, RatioPath
from kit.layers.window import Window, window_of
from kit.library.library import Library
from kit.library.table import limits
from kit.product.costing import Costing
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Callable

    from kit.layers.window import End
    from kit.library.limit import Limits
    from kit.library.table import Jurisdiction

Value = TypeVar("Value")


class Memory:
    """What was worked out last, by name, with what it was worked out from. Products that follow one another share it.

    Inputs count as the same only where they are the same objects: frozen values are not compared through.
    """

    def __init__(self) -> None:
        self._known: dict[str, tuple[tuple[object, ...], Any]] = {}

    def once(self, name: str, inputs: tuple[object, ...], work: Callable[[], Value]) -> Value:
        """Work something out, unless it was for these very inputs."""
        known = self._known.get(name)
        same = known is not None and len(known[0]) == len(inputs)
        if known is None or not same or any(a is not b for a, b in zip(known[0], inputs, strict=True)):
            known = self._known[name] = (inputs, work())
        value: Value = known[1]
        return value


_TYPES: dict[str, Any] = {
    "formula": Formula, "library": Library, "order": Order, "balance": Balance, "tolerance": float | int,
    "bottle": Bottle, "fill": float | int, "prices": PriceList, "costing": Costing, "particulars": Particulars,
    "choices": Choices, "on": str, "known": frozenset,
}  # fmt: skip

#: What is taken for the balance and the batch until somebody says what they are.
USUAL_BALANCE, USUAL_ORDER = Balance(), Order()


@dataclass(frozen=True)
class Product:
    """A formula and what it is made for; everything else about it is worked out when asked for, and remembered.

    Attributes
    ----------
    formula, library
        What is in hand, and where it finds its materials.
    jurisdiction
        Whose limits count; see :data:`kit.library.table.JURISDICTIONS`.
    on
        The day on which the product is placed on the market, as ISO text; empty: today.
    order, balance, tolerance
        What is to be made, weighed on what, within what. [%]
    bottle
        Filled with ``fill``, which is the order's.
    prices, costing
        What the materials cost, empty without a list; and what else a batch costs.
    particulars, choices
        What is typed for the label, and what is chosen for the list of ingredients.
    extra_ends
        Ends of the window that rest on more than the formula, such as a preservative's least level in the water.
    known
        Of "batch" and "balance", what somebody said: a hand, a file, a command. What differs from the kit's own
        figures was said by somebody.
    """

    formula: Formula
    library: Library = field(default_factory=Library.bundled)
    jurisdiction: Jurisdiction = "eu"
    on: str = ""
    order: Order = field(default_factory=lambda: Order(fill=usual_fill(usual_bottle())))
    balance: Balance = field(default_factory=Balance)
    tolerance: float = 1.0
    bottle: Bottle = field(default_factory=usual_bottle)
    prices: PriceList = field(default_factory=PriceList)
    costing: Costing = field(default_factory=Costing)
    particulars: Particulars = field(default_factory=Particulars)
    choices: Choices = field(default_factory=Choices)
    extra_ends: tuple[End, ...] = ()
    known: frozenset[str] = frozenset()
    memory: Memory = field(default_factory=Memory, repr=False, compare=False)

    def __post_init__(self) -> None:
        for name, wanted in _TYPES.items():
            if not isinstance(value := getattr(self, name), wanted) or isinstance(value, bool):
                msg = f"The '{name}' of a Product cannot be {value!r}: {getattr(wanted, '__name__', wanted)} is wanted."
                raise TypeError(msg)
        said = {"balance"} if self.balance != USUAL_BALANCE else set()
        if replace(self.order, fill=USUAL_ORDER.fill) != USUAL_ORDER:
            said.add("batch")
        object.__setattr__(self, "known", self.known | said)

    def knowing(self, *parts: str) -> Product:
        """The product of which somebody said these parts, whatever they are."""
        return replace(self, known=self.known.union(parts))

    def with_bottle(self, bottle: Bottle, fill: float | None = None) -> Product:
        """The product in another bottle, filled as is usual where nothing is said. [mL]"""
        return replace(self, bottle=bottle, order=replace(self.order, fill=fill or usual_fill(bottle)))

    def with_batch(self, batch: float | ByBottles) -> Product:
        """The product of which so much is to be made: a mass of product [g], or bottles.

        Bottles of another content than that of the kit's bottle in hand are the kit's own of that content, where
        there is one.
        """
        bottle = self.bottle
        if isinstance(batch, ByBottles) and bottle.nominal and bottle.nominal != batch.fill:
            known = {one.nominal: one for one in bundled_bottles().values()}
            bottle = known.get(batch.fill, bottle)
        return replace(self, bottle=bottle, order=self.order.taking(batch)).knowing("batch")

    @property
    def fill(self) -> float:
        """The volume of product in each bottle. [mL]"""
        return self.order.fill

    # ---- the formula ------------------------------------------------------------------------------------

    @property
    def materials(self) -> Materials:
        """Where the formula finds its materials."""
        own = self.formula.materials
        return self.memory.once("materials", (own, self.library), lambda: Materials(self.library, own))

    @property
    def ph(self) -> float | None:
        """Measured in the water layer, and kept with the formula; None where it was not."""
        return self.formula.ph

    @property
    def limits(self) -> Limits:
        """The limits of the jurisdiction on the day."""
        return limits(self.jurisdiction, self.on)

    @property
    def looked_up(self) -> LookedUp:
        """What the findings were compared with, and what nobody looked up."""
        inputs = (self.formula, self.materials, self.limits)
        return self.memory.once("looked up", inputs, lambda: looked_up(*inputs))

    @property
    def findings(self) -> list[Finding]:
        """Everything to say about the formula, worst first."""
        return self.memory.once(
            "findings",
            (self.formula, self.materials, self.limits),
            lambda: check(self.formula, self.materials, self.limits, ph=self.ph),
        )

    @property
    def stops(self) -> list[Finding]:
        """Findings that say that arithmetic or a law is broken: every paper bears them at its head."""
        return [finding for finding in self.findings if finding.severity == "stop"]

    # ---- its layers -------------------------------------------------------------------------------------

    @property
    def layers(self) -> list[Layer]:
        """The layers; raises a CompositionError where a material is part of itself."""
        return self.memory.once(
            "layers", (self.formula, self.materials), lambda: layers_of(self.formula, self.materials)
        )

    @property
    def density(self) -> float:
        """Of the shaken product; 1 while it has no layer. [g/mL]"""
        return product_density(self.layers) if self.layers else 1.0

    @property
    def in_bottle(self) -> list[Layer]:
        """What stands in the bottle: the layers, or all of it as one where it is said to stand in none."""
        if len(self.layers) < 2 or not self.formula.description.is_one_piece:
            return self.layers
        return self.memory.once("in bottle", (self.layers,), lambda: [as_one(self.layers)])

    @property
    def standing(self) -> list[Standing]:
        """How it stands in the bottle; raises a KitError where it cannot."""
        return self.memory.once(
            "standing",
            (self.in_bottle, self.bottle, self.order),
            lambda: stand(self.in_bottle, self.bottle, self.fill),
        )

    @property
    def path(self) -> RatioPath:
        """The formula at every ratio; raises a KitError where there is no ratio to move."""
        return self.memory.once("path", (self.formula,), lambda: RatioPath.of(self.formula))

    @property
    def mix(self) -> LayerMix:
        """The formula at every size of its three layers; raises a KitError where it has not three."""
        return self.memory.once("mix", (self.formula,), lambda: LayerMix.of(self.formula, KINDS))

    def requirements_along(self, path: RatioPath) -> list[Requirement]:
        """The limits and rules along a path."""
        inputs = (path, self.materials, self.limits)
        return self.memory.once("requirements", inputs, lambda: requirements(path.formula, self.materials, self.limits))

    def habits_along(self, path: RatioPath) -> tuple[list[Requirement], list[Requirement]]:
        """The habits of the trade that can end a window along a path, and those that are passed already."""
        return self.memory.once("habits", (path, self.materials), lambda: habits_along(path.formula, self.materials))

    def window_along(self, path: RatioPath) -> Window:
        """The ratios along a path at which all holds that can be judged there: limits, own rules, habits."""
        required, (kept, passed) = self.requirements_along(path), self.habits_along(path)
        inputs = (path, required, kept, self.extra_ends)
        return self.memory.once("window", inputs, lambda: window_of(path, [*required, *kept], self.extra_ends, passed))

    def heights_along(self, path: RatioPath) -> HeightScale:
        """How high the oil layer stands at each ratio of a path."""
        inputs = (path, self.materials, self.bottle, self.order)
        return self.memory.once("heights", inputs, lambda: HeightScale.of(path, self.materials, self.bottle, self.fill))

    @property
    def window(self) -> Window:
        """The ratios at which all holds that was judged; raises a KitError where there is no ratio to move."""
        return self.window_along(self.path)

    @property
    def oil(self) -> float:
        """The oil layer now. [% w/w of the whole]"""
        return sum(self.formula.phase_total(p) for p, phase in enumerate(self.formula.phases) if phase.kind == "oil")

    # ---- its batch --------------------------------------------------------------------------------------

    @property
    def batch_size(self) -> BatchSize:
        """The batch that the order asks for."""
        return self.order.size(self.density if self.order.by == "bottles" else 1.0)

    @property
    def batch(self) -> Batch:
        """What to weigh; raises a KitError while the formula is not complete."""
        return self.memory.once(
            "batch",
            (self.formula, self.materials, self.order, self.balance, self.tolerance),
            lambda: weigh(self.formula, f"{all_digits(self.batch_size.mass)} g", self.balance, self.tolerance),
        )

    @property
    def weighing_findings(self) -> list[Finding]:
        """What to say of the weighings once batch and balance are known; raises a KitError as ``batch`` does.

        That a line would be left out is said before, too.
        """
        return self.batch.findings if {"batch", "balance"} <= self.known else self.batch.lost

    @property
    def bottles(self) -> int:
        """How many bottles are filled: those that are ordered, or those that the ordered mass fills."""
        if self.order.by == "bottles":
            return sum(size.count for size in self.order.by_bottles.sizes)
        return bottles_filled(self.batch_size.product, self.fill, self.density)

    @property
    def cost(self) -> CostSheet:
        """What the batch costs; raises a KitError while it cannot be weighed."""
        return self.memory.once("cost", (self.batch, self.materials, self.prices, self.costing), self._cost)

    def _cost(self) -> CostSheet:
        size = self.batch_size
        sheet = cost(
            self.batch,
            self.materials,
            self.prices,
            product=size.product,
            bottles=self.bottles or None,
            sizes=self.order.by_bottles.sizes if self.order.by == "bottles" else (),
            waste_percent=self.costing.waste,
            labour=self.costing.labour,
        )
        over = [] if self.order.by == "bottles" else left_over(size.product, self.bottles, self.fill, self.density)
        return replace(sheet, findings=tuple(worst_first([*sheet.findings, *over])))

    # ---- its label --------------------------------------------------------------------------------------

    @property
    def net_content(self) -> NetContent | None:
        """What one pack holds: as typed, else what the bottle is filled with; None where the layers are not known.

        Raises
        ------
        KitError
            A content that was typed and cannot be read.
        """
        try:
            layers = self.layers
        except KitError:
            layers = []
        density, off = (product_density(layers), product_density_off(layers)) if layers else (0.0, 0.0)
        if self.particulars.content.strip():
            return read_content(self.particulars.content, density, off)
        return content_of_volume(self.fill, density, off) if layers else None

    @property
    def label(self) -> LabelText:
        """The text of the label, with what is missing in it; raises a KitError where the content cannot be read."""
        said = (self.particulars, self.choices, self.tolerance, self.order)
        inputs = (self.formula, self.materials, self.jurisdiction, self.on, *said)
        return self.memory.once("label", inputs, lambda: self.label_with(self.net_content))

    def label_with(self, content: NetContent | None) -> LabelText:
        """The text of the label with this content, or with a blank for it."""
        made = label(
            self.formula,
            self.materials,
            jurisdiction=self.jurisdiction,
            content=content,
            details=self.particulars,
            choices=replace(self.choices, weighing_error=self.tolerance),
            on=self.on,
        )
        others = self.order.besides if self.order.by == "bottles" else ()
        if not others:
            return made
        sentence = (
            f"The batch fills bottles of other sizes too ({' + '.join(map(str, others))}), and each size needs a label "
            "with its own content: type it in place of the one that follows from the bottle, and write the label again."
        )
        return replace(made, findings=(*made.findings, Finding("note", sentence, Place(field="content"))))
