"""Panels for the notebook: they wire, they do not compute."""
