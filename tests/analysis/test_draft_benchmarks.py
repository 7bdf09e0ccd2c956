"""A draft whose figures fall with age says so and changes nothing: the director looks. Worked out by hand."""

from __future__ import annotations

from assessments.analysis import draft_benchmarks
from assessments.analysis.norms import NormBand, Norms

LOWER = "look at it before you publish."


def drafted(**middles: tuple[float | None, float | None]) -> dict[str, tuple[float, float, bool]]:
    """Band -> building, aim and whether its note says that it is lower."""
    bands = tuple(
        NormBand(name, 6.5, 30, values[0] is not None, values, (None, None))
        for name, values in middles.items()
    )
    rows = draft_benchmarks(Norms((25, 50), bands, 20, 0.8), "hollow_hold")
    return {row.band: (row.building, row.aim, LOWER in row.note) for row in rows}


def test_a_band_under_the_one_before_it_says_so_and_keeps_its_figures() -> None:
    assert drafted(five=(10, 20), six=(12, 18), seven=(11, 25), eight=(11, 25)) == {
        "five": (10, 20, False),
        "six": (12, 18, True),  # the aim fell
        "seven": (11, 25, True),  # the start fell
        "eight": (11, 25, False),
    }


def test_the_band_before_is_the_last_that_has_figures() -> None:
    found = drafted(five=(10, 20), six=(None, None), seven=(9, 19))
    assert found == {"five": (10, 20, False), "seven": (9, 19, True)}


def test_what_falls_by_less_than_a_step_of_the_measure_does_not_fall() -> None:
    assert drafted(five=(10.9, 20.9), six=(10.1, 20.1)) == {"five": (10, 20, False), "six": (10, 20, False)}


def test_the_note_names_the_band_before() -> None:
    bands = tuple(
        NormBand(name, 6.5, 30, True, (value, value + 5), (None, None))
        for name, value in (("five", 9), ("six", 8))
    )
    *_, last = draft_benchmarks(Norms((25, 50), bands, 20, 0.8), "hollow_hold")
    assert last.note == (
        "Draft: percentiles 25 and 50 of 30 children of this club. Lower than at five: look at it before you publish."
    )
