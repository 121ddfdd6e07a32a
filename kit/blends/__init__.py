"""Blends: mixture designs and models, substitutes, emulsifier pairs, and the smallest change that mends a formula.

``dir(kit.blends)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

from kit.front_door import front_door

__getattr__, __dir__, __all__ = front_door(__name__, __file__)
