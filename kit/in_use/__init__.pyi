"""What happens to layers in use: evaporation, what dissolves in what, parting trials, dispensing, cold and warmth.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""
