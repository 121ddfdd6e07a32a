"""The papers that the papers panel writes: for each, the fields that stand on it and how it is made out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.bench.price_list import demo_prices, read_prices
from kit.inputs import read_group
from kit.label.declaration import Choices
from kit.label.particulars import Particulars, particulars_file, read_particulars
from kit.label.statements import read_statements
from kit.papers.batch_sheet import SheetDetails
from kit.papers.lots import read_lots
from kit.units import magnitude
from kit.widgets.panel import number_box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.findings import Finding
    from kit.papers.desk import Desk
    from kit.papers.paper import Paper

WIDE = {"description_width": "initial"}


class Hand:
    """What the maker would otherwise write by hand; the same boxes serve every paper that has room for it."""

    def __init__(self) -> None:
        self.lot = ipw.Text(description="Lot")
        self.made_by = ipw.Text(description="Made by")
        self.made_on = ipw.DatePicker(description="Made on")

    @property
    def details(self) -> SheetDetails:
        """As it is printed."""
        made_on = self.made_on.value.isoformat() if self.made_on.value else ""
        return SheetDetails(self.lot.value.strip(), self.made_by.value.strip(), made_on)


class PaperForm:
    """One paper: its title, the boxes it needs, and how it is made out."""

    title = ""
    subtitle = ""

    def __init__(self, hand: Hand) -> None:
        self.hand = hand

    @property
    def boxes(self) -> Sequence[ipw.Widget]:
        """What is asked for this paper."""
        raise NotImplementedError

    def paper(self, desk: Desk) -> Paper:
        """The paper of the formula at the desk; raises a KitError that says why it cannot be made out."""
        raise NotImplementedError

    def about(self, desk: Desk) -> tuple[str, ...]:
        """What its file is named after, besides the kind of paper."""
        return (desk.formula.title, self.hand.lot.value)


class BatchSheetForm(PaperForm):
    """The batch sheet."""

    title = "Batch sheet"
    subtitle = "what to weigh and do, with room for what was done"

    def __init__(self, hand: Hand) -> None:
        super().__init__(hand)
        self.ph = ipw.Text(description="pH wanted", placeholder="4.5 to 4.8")
        self.lots = ipw.Textarea(
            description="Lots of materials", placeholder="Glycerin = G-12", style=WIDE, layout={"height": "auto"}
        )
        self.within = number_box("Yield may be off, %", 5, 0, 99, step=1)

    @property
    def boxes(self) -> Sequence[ipw.Widget]:
        """Lot, maker, day, pH, lots of materials, limits of the yield."""
        return (self.hand.lot, self.hand.made_by, self.hand.made_on, self.ph, self.within, self.lots)

    def paper(self, desk: Desk) -> Paper:
        """The batch sheet."""
        lots = read_lots(self.lots.value.splitlines())
        ph = self.ph.value.strip()
        return desk.batch_sheet(self.hand.details, ph=ph, lots=lots, yield_within=self.within.value)


class FormulaCardForm(PaperForm):
    """The formula card."""

    title = "Formula card"
    subtitle = "percents, grams for several batches, and how the formula bears another ratio"

    def __init__(self, hand: Hand) -> None:
        super().__init__(hand)
        self.batches = ipw.Text(value="100 g; 250 g; 1 kg", description="Batches, between ;", style=WIDE)
        self.keeping = ipw.Text(description="Keeping", placeholder="cool and dark", style=WIDE)

    @property
    def boxes(self) -> Sequence[ipw.Widget]:
        """Batch sizes and how it is kept."""
        return (self.batches, self.keeping)

    def paper(self, desk: Desk) -> Paper:
        """The formula card."""
        wanted = [text for text in self.batches.value.split(";") if text.strip()]
        batches = [magnitude(text.strip(), "g", name="batch") for text in wanted]
        return desk.formula_card(batches, keeping=self.keeping.value.strip())

    def about(self, desk: Desk) -> tuple[str, ...]:
        """A card belongs to the formula, not to a lot."""
        return (desk.formula.title,)


class StockLabelsForm(PaperForm):
    """Labels for stocks."""

    title = "Stock labels"
    subtitle = "for the stocks that travel with the formula, to be cut out"

    def __init__(self, hand: Hand) -> None:
        super().__init__(hand)
        self.copies = ipw.BoundedIntText(value=1, min=1, max=100, description="Labels of each", style=WIDE)

    @property
    def boxes(self) -> Sequence[ipw.Widget]:
        """Lot, maker, day and how many."""
        return (self.hand.lot, self.hand.made_by, self.hand.made_on, self.copies)

    def paper(self, desk: Desk) -> Paper:
        """The labels."""
        return desk.stock_labels(self.hand.details, copies=self.copies.value)


class CostSheetForm(PaperForm):
    """The cost sheet."""

    title = "Cost sheet"
    subtitle = "what the batch, a bottle and 100 g cost"

    def __init__(self, hand: Hand) -> None:
        super().__init__(hand)
        self.prices = ipw.Text(description="Price list", placeholder="empty: that of the bench", style=WIDE)
        self.waste = number_box("Waste, %", 0, 0, 99)
        self.labour = number_box("Labour for the batch", 0, 0, 1e9)

    @property
    def boxes(self) -> Sequence[ipw.Widget]:
        """Price list, waste, labour, lot."""
        return (self.prices, self.waste, self.labour, self.hand.lot)

    def paper(self, desk: Desk) -> Paper:
        """The cost sheet."""
        named = self.prices.value.strip()
        notes: list[Finding] = []
        if named:
            desk = replace(desk, prices=read_prices(named, notes))
        elif not desk.prices.prices:
            desk = replace(desk, prices=demo_prices())
        paper = desk.cost_sheet(self.hand.details, waste_percent=self.waste.value, labour=self.labour.value)
        return replace(paper, findings=(*notes, *paper.findings))


class LabelForm(PaperForm):
    """The label text."""

    title = "Label text"
    subtitle = "the list of ingredients with its reasons, and what is missing; empty boxes: as kept by the label panel"

    def __init__(self, hand: Hand) -> None:
        super().__init__(hand)
        self.content = ipw.Text(description="Net content", placeholder="empty: the fill", style=WIDE)
        self.function = ipw.Text(description="What it is and does", placeholder="body oil", style=WIDE)
        self.period = ipw.Text(description="After opening", placeholder="12M", style=WIDE)
        self.best_before = ipw.Text(description="Best before", placeholder="11/2027", style=WIDE)
        self.responsible = ipw.Text(description="Responsible", placeholder="name, address", style=WIDE)
        self.allergens = ipw.Text(
            value="allergen_statements.csv", description="Allergen statements, if there", style=WIDE
        )

    @property
    def boxes(self) -> Sequence[ipw.Widget]:
        """Content, function, dates, who is responsible, allergens, batch."""
        typed = (self.content, self.function, self.period, self.best_before, self.responsible)
        return (*typed, self.allergens, self.hand.lot)

    def paper(self, desk: Desk) -> Paper:
        """The label text for the bench's place; an empty box stands for what the label panel kept."""
        typed = {
            "content": self.content.value,
            "function": self.function.value,
            "batch_code": self.hand.lot.value,
            "period_after_opening": self.period.value,
            "best_before": self.best_before.value,
            "responsible_person": self.responsible.value,
        }
        kept = particulars_file(desk.formula.title)
        said = read_particulars(kept) if kept.is_file() else {}
        said |= {name: text for name, text in typed.items() if text.strip()}
        file = Path(self.allergens.value.strip() or ".")
        choices = Choices(statements=read_statements(file), weighing_error=desk.tolerance) if file.is_file() else None
        return desk.label_text(read_group(Particulars, said), choices=choices)


class ComparisonForm(PaperForm):
    """The comparison of versions."""

    title = "Comparison"
    subtitle = "beside its own earlier versions, up to five: lines, findings, cost, label"

    @property
    def boxes(self) -> Sequence[ipw.Widget]:
        """Nothing: the bench says it all."""
        return ()

    def paper(self, desk: Desk) -> Paper:
        """The comparison."""
        return desk.comparison()

    def about(self, desk: Desk) -> tuple[str, ...]:
        """A comparison belongs to the formula, not to a lot."""
        return (desk.formula.title,)


#: The papers in the order in which they are offered.
FORMS: tuple[type[PaperForm], ...] = (
    BatchSheetForm,
    FormulaCardForm,
    LabelForm,
    StockLabelsForm,
    CostSheetForm,
    ComparisonForm,
)
