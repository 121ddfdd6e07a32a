"""The formula on paper: lines, phases, amounts, expansion to substances, checks, versions and files.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .amounts import read_amount as read_amount
from .checks import check as check
from .compare import compare as compare
from .compare import compare_substances as compare_substances
from .compare import comparison_table as comparison_table
from .differences import Differences as Differences
from .differences import differences as differences
from .differences import finding_changes as finding_changes
from .editing import add_lines as add_lines
from .editing import add_phase as add_phase
from .editing import move_line as move_line
from .editing import remove_line as remove_line
from .editing import remove_phase as remove_phase
from .editing import set_line as set_line
from .editing import set_phase as set_phase
from .editing import with_material as with_material
from .expansion import Materials as Materials
from .expansion import expand as expand
from .expansion import substances_table as substances_table
from .expansion import where_from as where_from
from .files import read_formula as read_formula
from .files import save_formula as save_formula
from .model import Formula as Formula
from .model import Line as Line
from .model import MeasuredDensity as MeasuredDensity
from .model import Phase as Phase
from .model import PhReading as PhReading
from .model import Rule as Rule
from .model import Variant as Variant
from .moved import Ratio as Ratio
from .paste import read_pasted as read_pasted
from .requirements import Requirement as Requirement
from .requirements import requirements as requirements
from .usual_ranges import habits_along as habits_along
from .versions import keep_version as keep_version
from .versions import rounded_percents as rounded_percents
from .versions import variant_formula as variant_formula
from .versions import version_label as version_label
from .versions import versions as versions
from .versions import with_variant as with_variant
from .versions import without_variant as without_variant
