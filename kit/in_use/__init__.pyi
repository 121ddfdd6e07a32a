"""What happens to layers in use: evaporation, what dissolves in what, parting trials, dispensing, cold and warmth.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .colour_readings import Bleed as Bleed
from .colour_readings import LayerColours as LayerColours
from .colour_readings import absorbance as absorbance
from .colour_readings import bleed as bleed
from .colour_readings import light_of as light_of
from .interface import capillary_length as capillary_length
from .interface import critical_weber as critical_weber
from .interface import largest_drop as largest_drop
from .interface import tension_effect as tension_effect
from .line_between import line_cautions as line_cautions
from .line_between import line_grade as line_grade
from .line_between import line_grades as line_grades
from .logged_colours import logged_colours as logged_colours
from .meeting_line import meeting_findings as meeting_findings
from .mixing_check import mixing_findings as mixing_findings
from .mutual_solubility import mutual_solubilities as mutual_solubilities
from .mutual_solubility import mutual_solubility as mutual_solubility
from .mutual_solubility import taken_up as taken_up
from .parting_compare import compare_variants as compare_variants
from .parting_compare import log_rank as log_rank
from .parting_compare import rank_ratio as rank_ratio
from .parting_compare import welch_ratio as welch_ratio
from .parting_fit import PartingLaw as PartingLaw
from .parting_fit import fit_parting as fit_parting
from .parting_trial import Reading as Reading
from .parting_trial import Trial as Trial
from .product_system import product_system as product_system
from .shake_share import least_share as least_share
from .shake_share import most_share as most_share
from .shake_share import shake_advice as shake_advice
from .shake_share import trials_for_share as trials_for_share
from .ternary_systems import Composition as Composition
from .ternary_systems import TernarySystem as TernarySystem
from .ternary_systems import TieLine as TieLine
from .ternary_systems import plait_point as plait_point
from .ternary_systems import straight_line as straight_line
from .ternary_systems import ternary_system as ternary_system
from .ternary_systems import ternary_systems as ternary_systems
from .tie_lines import along_ratio as along_ratio
from .tie_lines import settle as settle
from .tie_lines import water_share as water_share
from .trial_book import TrialBook as TrialBook
from .trial_design import Design as Design
from .trial_design import trial_plan as trial_plan
from .wanderers import Wanderer as Wanderer
from .wanderers import read_colours as read_colours
from .wanderers import wanderers as wanderers
from .wanderers import wandering_findings as wandering_findings
from .wandering import Course as Course
from .wandering import course as course
from .wandering import log_d as log_d
from .wandering import neutral_share as neutral_share
from .wandering import share_in_oil as share_in_oil
