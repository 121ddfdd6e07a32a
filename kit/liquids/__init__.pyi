"""Real liquids: water from 0 to 100 °C, alcohol and water, and what dissolved salts, sugars and glycols do to it.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .alcohol import ethanol_density as ethanol_density
from .aqueous import AqueousSolution as AqueousSolution
from .aqueous import aqueous_solution as aqueous_solution
from .aqueous import aqueous_solutions as aqueous_solutions
from .glycerol import glycerol_water_viscosity as glycerol_water_viscosity
from .water import water_density as water_density
from .water import water_density_at as water_density_at
from .water import water_viscosity as water_viscosity
from .water import water_viscosity_at as water_viscosity_at
