"""What is bought: ingredients, a maker's own additions, regulation limits, and the source of every figure.

``dir(kit.library)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
