"""Skills whose start or middle can be told from one picture."""

from __future__ import annotations

from club.figures.draw import Figure

SKILLS: tuple[Figure, ...] = ()
