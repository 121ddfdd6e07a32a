"""What happens to layers in use: evaporation, what dissolves in what, parting trials, dispensing, cold and warmth.

``dir(kit.in_use)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

from kit.front_door import front_door

__getattr__, __dir__, __all__ = front_door(__name__, __file__)
