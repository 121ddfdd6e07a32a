"""What stands on the label: ingredient list, allergens, content, cautions, and what is still missing.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .allergens import allergen_named as allergen_named
from .allergens import allergens as allergens
from .allergens import threshold as threshold
from .colourants import colourants as colourants
from .content import NetContent as NetContent
from .content import content_of_volume as content_of_volume
from .content import read_content as read_content
from .declaration import Choices as Choices
from .declaration import Declaration as Declaration
from .declaration import declaration as declaration
from .entries import DeclaredSubstance as DeclaredSubstance
from .entries import printed_name as printed_name
from .label_text import LabelText as LabelText
from .label_text import label as label
from .label_text import missing_particulars as missing_particulars
from .particulars import Particulars as Particulars
from .particulars import is_period as is_period
from .particulars import read_months as read_months
from .particulars import read_particulars as read_particulars
from .particulars import save_particulars as save_particulars
from .statements import AllergenStatement as AllergenStatement
from .statements import collected as collected
from .statements import read_statement as read_statement
from .statements import read_statements as read_statements
from .statements import save_statements as save_statements
from .typical import typical_shares as typical_shares
