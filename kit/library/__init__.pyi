"""What is bought: ingredients, a maker's own additions, regulation limits, and the source of every figure.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .condition import read_condition as read_condition
from .description import Description as Description
from .description import product_types as product_types
from .hlb import Hlb as Hlb
from .hlb import hlb_of as hlb_of
from .ingredient import Figure as Figure
from .ingredient import Ingredient as Ingredient
from .ingredient import Purchase as Purchase
from .ingredient import Solubility as Solubility
from .ingredient import Stock as Stock
from .library import Library as Library
from .limit import Limit as Limit
from .limit import Limits as Limits
from .melting import Melting as Melting
from .melting import melting_of as melting_of
from .own import read_own as read_own
from .own import save_own as save_own
from .search import Wish as Wish
from .search import search as search
from .sources import Source as Source
from .sources import source_text as source_text
from .sources import sources as sources
from .table import JURISDICTIONS as JURISDICTIONS
from .table import ingredients as ingredients
from .table import limits as limits
from .table import salts as salts
from .volatility import Volatility as Volatility
from .volatility import volatility_of as volatility_of
