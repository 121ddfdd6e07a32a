"""Real liquids: water from 0 to 100 °C, alcohol and water, and what dissolved salts, sugars and glycols do to it.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""

from .alcohol import Blend as Blend
from .alcohol import Dilution as Dilution
from .alcohol import dilute_by_volume as dilute_by_volume
from .alcohol import ethanol_density as ethanol_density
from .alcohol import mix_by_volume as mix_by_volume
from .alcohol import strength_by_mass as strength_by_mass
from .alcohol import strength_by_volume as strength_by_volume
from .alcohol import strength_from_density as strength_from_density
from .alcohol import uk_proof as uk_proof
from .alcohol import us_proof as us_proof
from .aqueous import AqueousSolution as AqueousSolution
from .aqueous import aqueous_solution as aqueous_solution
from .aqueous import aqueous_solutions as aqueous_solutions
from .aqueous import unknown_solutions as unknown_solutions
from .freezing import FreezingCurve as FreezingCurve
from .freezing import freezing_curve as freezing_curve
from .freezing import freezing_curves as freezing_curves
from .freezing import ideal_lowering as ideal_lowering
from .glycerol import glycerol_water_density as glycerol_water_density
from .glycerol import glycerol_water_viscosity as glycerol_water_viscosity
from .propylene_glycol import propylene_glycol_density as propylene_glycol_density
from .water import water_density as water_density
from .water import water_density_at as water_density_at
from .water import water_viscosity as water_viscosity
from .water import water_viscosity_at as water_viscosity_at
