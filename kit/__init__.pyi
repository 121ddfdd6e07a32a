"""The public names of the kit; ``__init__.py`` fetches each from its room when it is first used."""

from . import bench as bench
from . import formula as formula
from . import label as label
from . import layers as layers
from . import library as library
from . import liquids as liquids
from . import stability as stability
from .bench.balance import Balance as Balance
from .bench.dilution import make_stock as make_stock
from .bench.weighing import weigh as weigh
from .demos import demo as demo
from .formula.files import read_formula as read_formula
from .formula.files import save_formula as save_formula
from .formula.model import Formula as Formula
from .formula.model import Line as Line
from .formula.model import Phase as Phase
from .layers.bottle import Bottle as Bottle
from .layers.window import window as window
from .library.ingredient import Ingredient as Ingredient
from .library.ingredient import Stock as Stock
from .library.library import Library as Library
from .stability.log.store import StabilityLog as StabilityLog
from .widgets.actual_weights_panel import ActualWeightsPanel as ActualWeightsPanel
from .widgets.bench import Bench as Bench
from .widgets.bench import open_bench as open_bench
from .widgets.bottle_panel import BottlePanel as BottlePanel
from .widgets.compare_panel import ComparePanel as ComparePanel
from .widgets.cost_panel import CostPanel as CostPanel
from .widgets.dilution_panel import DilutionPanel as DilutionPanel
from .widgets.dosing_panel import DosingPanel as DosingPanel
from .widgets.family_panel import FamilyPanel as FamilyPanel
from .widgets.findings_panel import FindingsPanel as FindingsPanel
from .widgets.formula_panel import FormulaPanel as FormulaPanel
from .widgets.label_panel import LabelPanel as LabelPanel
from .widgets.library_panel import LibraryPanel as LibraryPanel
from .widgets.overview_panel import OverviewPanel as OverviewPanel
from .widgets.papers_panel import PapersPanel as PapersPanel
from .widgets.ph_panel import PhPanel as PhPanel
from .widgets.preservation_panel import PreservationPanel as PreservationPanel
from .widgets.ratio_panel import RatioPanel as RatioPanel
from .widgets.rules_panel import RulesPanel as RulesPanel
from .widgets.scaling_panel import ScalingPanel as ScalingPanel
from .widgets.separation_panel import SeparationPanel as SeparationPanel
from .widgets.shelf_life_panel import ShelfLifePanel as ShelfLifePanel
from .widgets.stability_panel import StabilityPanel as StabilityPanel
from .widgets.stock_panel import StockPanel as StockPanel
from .widgets.stock_panel import SubstancesPanel as SubstancesPanel
from .widgets.triangle_panel import TrianglePanel as TrianglePanel
from .widgets.versions_panel import VersionsPanel as VersionsPanel
from .widgets.weighing_panel import WeighingPanel as WeighingPanel

__all__: tuple[str, ...]
_ROOMS: tuple[str, ...]
