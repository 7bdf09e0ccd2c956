"""Contrast of the colours in the style sheet, by the formula of WCAG 2.2 (relative luminance, success criteria
1.4.3, 1.4.6 and 1.4.11). Text 4.5, glyphs and edges of controls 3, numbers on the floor 7; light and dark alike."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

CSS = (Path(__file__).parents[2] / "club" / "static" / "club" / "groundwork.css").read_text()

TEXT = [
    ("ink", "paper card side done highlight mat-soft warm-soft zone-build zone-aim"),
    ("ink-2", "paper card side done highlight mat-soft warm-soft"),
    ("ink-3", "paper card side"),
    ("mat", "paper card side mat-soft"),
    ("on-mat", "mat mat-press"),
    ("warm", "paper card side warm-soft"),
    ("ready", "card paper ready-soft"),
    ("nearly", "card nearly-soft"),
    ("resting", "card resting-soft"),
    ("zone-build-ink", "zone-build card"),
    ("zone-aim-ink", "zone-aim card"),
    ("paper", "ink"),
    ("bar-ink", "bar bar-chip"),
    ("bar-2", "bar"),
]
GLYPHS = [
    ("ready", "card paper highlight"),
    ("nearly", "card paper highlight"),
    ("notyet", "card paper highlight"),
    ("resting", "card paper highlight"),
    ("ink", "card paper highlight mat-soft"),
    ("card", "ready ink"),
    ("mat", "card track paper"),
    ("edge", "card paper side"),
    ("focus", "paper card side done mat-soft bar"),
    ("warm", "card paper"),
    ("ink", "zone-build zone-aim"),
]
FLOOR_NUMBERS = [("ink", "card done paper"), ("bar-ink", "bar")]


def _tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})\b", block))


def _block(selector: str) -> str:
    start = CSS.index(selector + " {") + len(selector) + 2
    return CSS[start : CSS.index("}", start)]


LIGHT = _tokens(_block("\n:root"))
DARK = LIGHT | _tokens(_block('\n:root[data-theme="dark"]'))
THEMES = {"light": LIGHT, "dark": DARK}


def _luminance(colour: str) -> float:
    def channel(at: int) -> float:
        value = int(colour[at : at + 2], 16) / 255
        return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

    return 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)


def contrast(first: str, second: str) -> float:
    """(lighter + 0.05) / (darker + 0.05)."""
    darker, lighter = sorted((_luminance(first), _luminance(second)))
    return (lighter + 0.05) / (darker + 0.05)


def _too_low(theme: str, pairs: list[tuple[str, str]], least: float) -> list[str]:
    tokens = THEMES[theme]
    return [
        f"--{front} on --{back}: {contrast(tokens[front], tokens[back]):.2f}"
        for front, backs in pairs
        for back in backs.split()
        if contrast(tokens[front], tokens[back]) < least
    ]


def test_formula_gives_the_figures_known_for_black_white_and_grey():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("theme", THEMES)
def test_text_can_be_read(theme):
    assert _too_low(theme, TEXT, 4.5) == []


@pytest.mark.parametrize("theme", THEMES)
def test_glyphs_edges_and_focus_can_be_seen(theme):
    assert _too_low(theme, GLYPHS, 3.0) == []


@pytest.mark.parametrize("theme", THEMES)
def test_numbers_on_the_floor_can_be_read_at_arms_length(theme):
    assert _too_low(theme, FLOOR_NUMBERS, 7.0) == []


def test_dark_is_the_same_by_system_wish_and_by_choice():
    assert _tokens(_block(':root:not([data-theme="light"])')) == _tokens(_block('\n:root[data-theme="dark"]'))


def test_dark_gives_a_value_of_its_own_to_every_colour_of_light():
    assert set(_tokens(_block('\n:root[data-theme="dark"]'))) == set(LIGHT)


def test_every_colour_outside_the_tokens_is_black_white_or_grey_for_print():
    rules = CSS[CSS.index("/* 2 ---- base") :]
    colours = set(re.findall(r"#[0-9a-fA-F]{3,8}\b", rules))
    assert all(len(set(c[1:])) == 1 or c[1:3] == c[3:5] == c[5:7] for c in colours), colours


def test_every_token_that_is_used_is_defined():
    used = set(re.findall(r"var\(--([\w-]+)\)", CSS))
    defined = set(re.findall(r"--([\w-]+):", CSS))
    assert used <= defined
