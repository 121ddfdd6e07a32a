"""The course: exercises with fresh numbers, checked answers, hints in steps, and a learner's progress.

``dir(kit.course)`` lists its public names; ``__init__.pyi`` says in which file each one stands.
"""

from kit.front_door import front_door

__getattr__, __dir__, __all__ = front_door(__name__, __file__)
