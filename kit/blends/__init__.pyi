"""Blends: mixture designs and models, substitutes, emulsifier pairs, and the smallest change that mends a formula.

These are the public names of the room; ``__init__.py`` fetches each from its file when it is first used.
"""
