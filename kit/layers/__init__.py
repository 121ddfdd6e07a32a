"""Products in visible layers: ratio, window of allowed ratios, density, the bottle.

``dir(kit.layers)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
