"""The product in hand: one frozen value from which screens, papers and commands are worked out.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .beginning import begin_from as begin_from
from .beginning import blank as blank
from .beginning import starting_points as starting_points
from .costing import Costing as Costing
from .effects import Effect as Effect
from .effects import effects as effects
from .effects import finding_effects as finding_effects
from .mending import repair_of as repair_of
from .mending import substitutes_of as substitutes_of
from .product import Product as Product
from .workshop import Workshop as Workshop
from .workshop import find_workshop as find_workshop
from .workshop import read_workshop as read_workshop
from .workshop import save_workshop as save_workshop
