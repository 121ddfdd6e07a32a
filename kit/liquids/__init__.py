"""Real liquids: water from 0 to 100 °C, alcohol and water, and what dissolved salts, sugars and glycols do to it.

``dir(kit.liquids)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

from kit.front_door import front_door

__getattr__, __dir__, __all__ = front_door(__name__, __file__)
