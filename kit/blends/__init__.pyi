"""Blends: mixture designs and models, substitutes, emulsifier pairs, and the smallest change that mends a formula.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .blend_match import match_blend as match_blend
from .bottles import BottlesToMake as BottlesToMake
from .bottles import weigh_bottles as weigh_bottles
from .designs import BlendDesign as BlendDesign
from .designs import Bottle as Bottle
from .designs import bottles_of as bottles_of
from .designs import constrained_design as constrained_design
from .designs import simplex_centroid as simplex_centroid
from .designs import simplex_lattice as simplex_lattice
from .desirability import Best as Best
from .desirability import Goal as Goal
from .desirability import best_blend as best_blend
from .desirability import overall_desirability as overall_desirability
from .exchange import DOptimal as DOptimal
from .exchange import candidates as candidates
from .exchange import d_optimal as d_optimal
from .fit import BlendFit as BlendFit
from .fit import Coefficient as Coefficient
from .fit import Variation as Variation
from .hlb import EmulsifierPair as EmulsifierPair
from .hlb import RequiredHlb as RequiredHlb
from .hlb import emulsifier_pair as emulsifier_pair
from .hlb import known_emulsifiers as known_emulsifiers
from .hlb import oils_of as oils_of
from .hlb import required_hlb as required_hlb
from .into_formula import with_blend as with_blend
from .lighter_richer import OilPath as OilPath
from .mended import Repair as Repair
from .models import fit_blend as fit_blend
from .models import fit_every_model as fit_every_model
from .models import likeliest_model as likeliest_model
from .next_bottle import NextBottle as NextBottle
from .next_bottle import least_known as least_known
from .next_bottle import most_promising as most_promising
from .programme import Condition as Condition
from .programme import Programme as Programme
from .properties import Weights as Weights
from .region import BlendRegion as BlendRegion
from .region import Part as Part
from .repair import repair as repair
from .repair_wishes import RepairWishes as RepairWishes
from .scheffe import model_matrix as model_matrix
from .scheffe import model_terms as model_terms
from .substitutes import Substitutes as Substitutes
from .substitutes import matching_blend as matching_blend
from .substitutes import substitutes as substitutes
from .substitutes import swapped as swapped
from .trial import BlendTrial as BlendTrial
from .trial_file import demo_trial as demo_trial
from .trial_file import pasted_scores as pasted_scores
from .trial_file import read_trial as read_trial
from .trial_file import save_trial as save_trial
from .trial_file import trial_of as trial_of
