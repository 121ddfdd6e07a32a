"""Which cautions belong on the papers of a formula: those of :mod:`kit.label.cautions`, under their old name."""

from __future__ import annotations

from kit.label.cautions import cautions_for

__all__ = ["cautions_for"]
