"""How each measure of the starter programme looks, and its easier and harder versions."""

from __future__ import annotations

from club.figures.draw import Figure

MEASURES: tuple[Figure, ...] = ()
