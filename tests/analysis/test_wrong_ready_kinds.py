"""How often 'ready' is wrong at the threshold for every kind of evidence: clocks, stops, counts, landings, sides, own error.

Children stand exactly at the line that the rule uses: the threshold, and half a step under it for whole counts. Fixed seeds;
margins are three standard errors of the simulated share.
"""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest

from assessments.analysis.clocks import CLOCK_BIAS, CLOCK_SD, CLOCKS
from assessments.analysis.records import ChildFacts, ErrorModel, Requirement
from assessments.analysis.scoring import day_scores
from assessments.analysis.verdicts import MET, READY, verdicts
from assessments.programme_file import starter
from tests.analysis.small_club import BORN, MONDAY, frame, measure, programme, skill, trial

CHILDREN = 2500
ALLOWED = {"low": 0.25, "medium": 0.15, "high": 0.10}
RISKS = sorted(ALLOWED)


def wrong(values, risk, *, weeks, line, kind=None, **columns):
    """Share met and share ready on the last week; values, and arrays of other columns, are [child, week]."""
    item = measure(cap=None, error=ErrorModel(5.0, 0.0)) if kind is None else kind
    one = skill("skill", Requirement(item.id, line, both_sides=item.sides), risk=risk)
    edition = programme(one, measures={item.id: item})
    rows = [
        trial(
            float(values[child, place]),
            week=week,
            athlete=f"child {child}",
            item=item.id,
            **{name: column[child, place].item() for name, column in columns.items()},
        )
        for child in range(len(values))
        for place, week in enumerate(weeks)
    ]
    on = MONDAY + timedelta(weeks=max(weeks))
    children = [ChildFacts(f"child {child}", BORN) for child in range(len(values))]
    found = verdicts(
        [one], day_scores(frame(rows), edition, on=on), programme=edition, children=children, on=on
    )
    return float((found.word == MET).mean()), float((found.state == READY).mean())


def margin(share, count=CHILDREN):
    return 3 * math.sqrt(share * (1 - share) / count)


# --- several clocks ---------------------------------------------------------------------------------


@pytest.mark.parametrize("clocks", CLOCKS)
@pytest.mark.parametrize("risk", RISKS)
@pytest.mark.parametrize("weeks", [[0], [0, 2, 4]])
def test_times_taken_with_several_clocks_keep_the_promise(clocks, risk, weeks):
    """Holds of 10 s with an error of 2 s as one watched clock takes them, stopped later with more clocks as the model says.

    Rounding down to whole seconds takes half a second off on average and is left out here.
    """
    place = CLOCKS.index(clocks)
    random = np.random.default_rng(31)
    shape = (CHILDREN, len(weeks))
    late = CLOCK_BIAS[place] - CLOCK_BIAS[0]
    scatter = math.sqrt(CLOCK_SD[place] ** 2 - CLOCK_SD[0] ** 2)
    held = random.normal(10, 2, shape) + random.normal(late, scatter, shape)
    kind = measure(cap=None, error=ErrorModel(2.0, 0.2))
    at_once = np.full(shape, int(clocks))
    met, ready = wrong(held, risk, weeks=weeks, line=10.0, kind=kind, at_once=at_once)
    assert max(met, ready) <= ALLOWED[risk] + margin(ALLOWED[risk])


# --- the child chose to stop ------------------------------------------------------------------------


def stops(share, weeks, *, early=0.0, seed=32):
    """Draws at a line of 20 s; on some days the child stops, there or somewhat before, where the hold would have broken."""
    random = np.random.default_rng(seed)
    shape = (CHILDREN, len(weeks))
    held, stopped = random.normal(20, 5, shape), random.random(shape) < share
    before = random.random(shape) < early
    held = np.where(stopped & before, held * random.uniform(0.7, 1.0, shape), held)
    return {"values": held, "outcome": np.where(stopped, "chose_to_stop", "scored").astype(object)}


class _Item(str):
    def item(self):
        return str(self)


def stopped_wrong(share, risk, weeks, **more):
    drawn = stops(share, weeks, **more)
    outcome = np.vectorize(_Item, otypes=[object])(drawn["outcome"])
    return wrong(drawn["values"], risk, weeks=weeks, line=20.0, outcome=outcome)


@pytest.mark.parametrize("risk", RISKS)
@pytest.mark.parametrize(
    ("share", "weeks"),
    [
        (1.0, [0]),
        (1.0, [0, 8]),
        (1.0, [0, 8, 16]),
        (0.5, [0, 8, 16, 24, 32, 40]),
        (0.5, [0, 3, 6, 9, 12, 15]),
    ],
)
def test_stops_where_the_hold_would_have_broken_keep_the_promise(risk, share, weeks):
    met, ready = stopped_wrong(share, risk, weeks)
    assert max(met, ready) <= ALLOWED[risk] + margin(ALLOWED[risk])


def test_six_days_that_are_all_stops_are_beyond_the_promise_and_by_how_much():
    """Chosen are the best two of six. Measured here, 'met' at low, medium and high risk; the guide tells it."""
    found = [stopped_wrong(1.0, risk, [0, 3, 6, 9, 12, 15])[0] for risk in ("low", "medium", "high")]
    assert found == pytest.approx([0.45, 0.28, 0.19], abs=margin(0.3))


@pytest.mark.parametrize("risk", RISKS)
def test_stops_that_half_come_early_are_well_within_the_promise(risk):
    met, _ = stopped_wrong(0.5, risk, [0, 3, 6, 9, 12, 15], early=0.5)
    assert met <= ALLOWED[risk]


# --- whole counts, landings, sides, own error ---------------------------------------------------------


COUNTS = [(5, 1.5), (3, 1.0), (12, 1.8)]


def counted_wrong(line, error, risk, weeks):
    kind = measure("push_ups", kind="count", unit="reps", cap=None, error=ErrorModel(error, 0.0))
    drawn = np.random.default_rng(33).normal(line - 0.5, error, (CHILDREN, len(weeks)))
    return wrong(np.floor(np.maximum(drawn + 0.5, 0)), risk, weeks=weeks, line=float(line), kind=kind)


@pytest.mark.parametrize("risk", RISKS)
@pytest.mark.parametrize(("line", "error"), COUNTS)
def test_whole_counts_keep_the_promise_for_a_child_half_a_step_under_the_line(risk, line, error):
    met, ready = counted_wrong(line, error, risk, [0, 2, 4])
    assert max(met, ready) <= ALLOWED[risk] + margin(ALLOWED[risk])


@pytest.mark.parametrize("risk", RISKS)
@pytest.mark.parametrize(("line", "error"), COUNTS)
@pytest.mark.parametrize("weeks", [[0], [0, 2]])
def test_whole_steps_add_a_little_where_they_are_as_large_as_the_error(risk, line, error, weeks):
    """One or two days of whole counts cannot hold a share exactly: up to 8 of 100 more, measured here."""
    assert max(counted_wrong(line, error, risk, weeks)) <= ALLOWED[risk] + 0.08


def landings(share, days, *, tries=5, seed=34):
    return np.random.default_rng(seed).binomial(tries, share, (CHILDREN, days)).astype(float)


def landing(error):
    return measure(
        "landings",
        kind="score_count",
        unit="of_5",
        combine="sum",
        attempts=1,
        cap=5.0,
        error=ErrorModel(error, 0),
    )


@pytest.mark.parametrize("risk", RISKS)
def test_five_landings_keep_the_promise_over_two_days(risk):
    """A child who lands 2.5 of 5 on average, half a landing under a line of 3; the error is that of the starter.

    Five tries that succeed or not spread by sqrt(5 p (1 - p)), 1.1 at p = 0.5: no error may be smaller than that.
    """
    _, ready = wrong(
        landings(0.5, 2),
        risk,
        weeks=[0, 2],
        line=3.0,
        kind=landing(starter().measures["stick_landings"].error.a),
    )
    assert ready <= ALLOWED[risk] + margin(ALLOWED[risk])


@pytest.mark.parametrize("risk", RISKS)
def test_both_sides_asked_for_are_surer_than_one(risk):
    kind = measure("one_leg", sides=True, cap=None, error=ErrorModel(5.0, 0.0))
    random = np.random.default_rng(35)
    values = random.normal(20, 5, (CHILDREN, 2))
    side = np.vectorize(_Item, otypes=[object])(np.tile(np.array(["left", "right"], object), (CHILDREN, 1)))
    met, _ = wrong(values, risk, weeks=[0, 0], line=20.0, kind=kind, side=side)
    assert met == pytest.approx(ALLOWED[risk] ** 2, abs=margin(ALLOWED[risk] ** 2))


@pytest.mark.parametrize("risk", RISKS)
def test_an_error_found_from_few_children_keeps_the_promise(risk):
    """Each club finds its own error from 15 children (14 degrees of freedom), which may be too small or too large."""
    random = np.random.default_rng(36)
    shares = []
    for _ in range(40):
        error = 5 * math.sqrt(random.chisquare(14) / 14)
        kind = measure(cap=None, error=ErrorModel(error, 0.0, children=15))
        shares.append(wrong(random.normal(20, 5, (100, 1)), risk, weeks=[0], line=20.0, kind=kind)[0])
    assert float(np.mean(shares)) <= ALLOWED[risk] + margin(ALLOWED[risk], 4000)
