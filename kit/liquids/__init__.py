"""Real liquids: water from 0 to 100 °C, alcohol and water, and what dissolved salts, sugars and glycols do to it.

``dir(kit.liquids)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
