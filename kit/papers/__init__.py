"""Printable documents that stand on their own, offline.

``dir(kit.papers)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

from kit.front_door import front_door

__getattr__, __dir__, __all__ = front_door(__name__, __file__)
