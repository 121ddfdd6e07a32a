"""What happens to layers in use: evaporation, what dissolves in what, parting trials, dispensing, cold and warmth.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .interface import capillary_length as capillary_length
from .interface import critical_weber as critical_weber
from .interface import largest_drop as largest_drop
from .interface import tension_effect as tension_effect
from .line_between import line_cautions as line_cautions
from .line_between import line_grade as line_grade
from .line_between import line_grades as line_grades
from .parting_compare import compare_variants as compare_variants
from .parting_compare import log_rank as log_rank
from .parting_compare import rank_ratio as rank_ratio
from .parting_compare import welch_ratio as welch_ratio
from .parting_fit import PartingLaw as PartingLaw
from .parting_fit import fit_parting as fit_parting
from .parting_trial import Reading as Reading
from .parting_trial import Trial as Trial
from .shake_share import least_share as least_share
from .shake_share import most_share as most_share
from .shake_share import shake_advice as shake_advice
from .shake_share import trials_for_share as trials_for_share
from .trial_book import TrialBook as TrialBook
from .trial_design import Design as Design
from .trial_design import trial_plan as trial_plan
