"""What is bought: ingredients, a maker's own additions, regulation limits, and the source of every figure.

``dir(kit.library)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

from kit.front_door import front_door

__getattr__, __dir__, __all__ = front_door(__name__, __file__)
