"""Records -> plotly figures as plain dictionaries, and small drawings as SVG paths. One theme for all. Pure.

Colours are names of the style sheet's tokens, `var(--ink)`; the page's script puts in what the token holds now, so
that a chart follows light, dark and print without being sent twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from assessments.analysis.records import BenchmarkStep, DayScore, Interpretation, MeasureSpec, ShapeSpec
from assessments.progress_words import between_words, day_words, series_words
from assessments.progress_words import figure as amount
from athletes.ages import completed_years

Figure = dict[str, Any]
Spec = MeasureSpec | ShapeSpec

INK, INK_2, INK_3, LINE = "var(--ink)", "var(--ink-2)", "var(--ink-3)", "var(--line-2)"
CARD, MAT = "var(--card)", "var(--mat)"
BUILD, AIM = "var(--zone-build)", "var(--zone-aim)"
BUILD_INK, AIM_INK = "var(--zone-build-ink)", "var(--zone-aim-ink)"
HEIGHT = 320
MARGIN = {"l": 44, "r": 92, "t": 26, "b": 40}
LABEL_GAP = 17  # pixels between two lines of text
SHORTEST = timedelta(weeks=10)


@dataclass(frozen=True, slots=True)
class Ask:
    """A value that a skill asks for, and the words that stand on its line."""

    value: float
    words: str
    short: str = ""  # for a narrow screen


@dataclass(frozen=True, slots=True)
class Frame:
    """What the axes hold."""

    first: date
    last: date
    low: float
    high: float

    def pixels(self, amount: float) -> float:
        """How many pixels an amount takes on the vertical axis."""
        return amount / (self.high - self.low) * (HEIGHT - MARGIN["t"] - MARGIN["b"])


def theme() -> Figure:
    """The layout that every chart starts from."""
    axis = {
        "showgrid": False,
        "zeroline": False,
        "linecolor": LINE,
        "tickfont": {"color": INK_2, "size": 13},
        "fixedrange": True,
    }
    return {
        "autosize": True,
        "margin": dict(MARGIN),
        "paper_bgcolor": CARD,
        "plot_bgcolor": CARD,
        "font": {"family": "Inter, system-ui, sans-serif", "size": 13, "color": INK_2},
        "showlegend": False,
        "dragmode": False,
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": CARD, "bordercolor": LINE, "font": {"color": INK, "size": 14}},
        "xaxis": {**axis, "type": "date", "tickformat": "%b\n%Y", "showline": True},
        "yaxis": {**axis, "nticks": 6},
    }


def progress_chart(
    lines: Sequence[Interpretation],
    *,
    spec: Spec,
    steps: Sequence[BenchmarkStep],
    born_on: date,
    on: date,
    asks: Sequence[Ask] = (),
) -> Figure:
    """One measure or shape of one child over time, on the zones of the child's own age bands.

    Series and sides are never joined; play days are left out; the line starts at the second scored day.
    """
    lines = [line for line in lines if evidence(line)]
    frame = _frame(lines, steps, asks, spec=spec, on=on)
    steps = [step for step in steps if step.begins_on < frame.last and step.ends_on > frame.first]
    layout = theme()
    layout["xaxis"]["range"] = [frame.first.isoformat(), frame.last.isoformat()]
    layout["xaxis"] |= {"tick0": "2020-01-01", "dtick": f"M{_months(frame)}"}
    layout["yaxis"]["range"] = [frame.low, frame.high]
    layout["shapes"] = _zone_shapes(steps, frame) + _birthdays(steps, frame) + _ask_lines(asks, frame)
    layout["annotations"] = [
        *_zone_words(steps, frame),
        *_birthday_words(steps, frame, born_on),
        *_ask_words(asks, frame, [day for line in lines for day in evidence(line)]),
        *_line_words(lines, spec, frame),
    ]
    return {"data": [trace for line in lines for trace in _traces(line, spec)], "layout": layout}


def evidence(line: Interpretation) -> list[DayScore]:
    """The days of a line that are drawn: play days are kept in the table only."""
    return [day for day in line.days if not day.familiarisation]


def _months(frame: Frame) -> int:
    """Whole months between two dates on the axis, so that no month is written twice."""
    months = (frame.last - frame.first).days / 30.4
    return next((step for step in (1, 2, 3, 6) if months / step <= 6), 12)


def _frame(
    lines: Sequence[Interpretation],
    steps: Sequence[BenchmarkStep],
    asks: Sequence[Ask],
    *,
    spec: Spec,
    on: date,
) -> Frame:
    days = [day for line in lines for day in evidence(line)]
    last = max([day.on for day in days] + [on])
    first = min([day.on for day in days] + [last - SHORTEST])
    pad = max((last - first) * 0.04, timedelta(days=7))
    # Two sides have their newest words to the right of the dots: they need more room there.
    right = pad * (5 if any(line.side for line in lines) else 2)
    seen = [step for step in steps if step.begins_on <= last and step.ends_on > first]
    low = min([day.value for day in days] + [step.benchmark.building for step in seen] + [0.0])
    if low < 0:
        low -= max((day.sem for day in days), default=0.0) + 1
    if spec.kind == "shape":
        return Frame(first - pad, last + right, 0.0, (spec.cap or 10.0) * 1.06)
    tops = (
        [day.value + day.sem for day in days]
        + [step.benchmark.aim for step in seen]
        + [ask.value for ask in asks]
    )
    top = max(tops, default=1.0)
    return Frame(first - pad, last + right, low, top + (top - low) * 0.16)


def _traces(line: Interpretation, spec: Spec) -> list[Figure]:
    days = evidence(line)
    first = [day for day in days if day.first_look]
    later = [day for day in days if not day.first_look]
    traces = [_trace(first, line, spec, joined=False)] if first else []
    return [*traces, _trace(later, line, spec, joined=True)] if later else traces


def _trace(days: Sequence[DayScore], line: Interpretation, spec: Spec, *, joined: bool) -> Figure:
    symbol = "square" if line.side == "right" else "circle"
    lowest = 0.0 if spec.unit != "cm" else float("-inf")
    return {
        "type": "scatter",
        "mode": "lines+markers" if joined else "markers",
        "x": [day.on.isoformat() for day in days],
        "y": [day.value for day in days],
        "cliponaxis": False,
        "line": {"color": INK, "width": 2.5, "dash": "4px 4px" if line.side == "right" else "solid"},
        "marker": {
            "size": [15 if day.at_least else 11 for day in days],
            "symbol": ["triangle-up" if day.at_least else symbol for day in days],
            "color": [INK if joined and not day.at_least else CARD for day in days],
            "line": {"color": INK, "width": 2},
            "opacity": 1,
        },
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": [0.0 if day.at_least else day.sem for day in days],
            "arrayminus": [min(day.sem, day.value - lowest) for day in days],
            "color": INK_3,
            "thickness": 2,
            "width": 4 if line.side == "right" else 0,
        },
        "customdata": [_hover(day, line, spec) for day in days],
        "hovertemplate": "%{customdata}<extra></extra>",
    }


def _hover(day: DayScore, line: Interpretation, spec: Spec) -> str:
    side = f", {line.side}" if line.side else ""
    value = amount(spec, day.value, at_least=day.at_least)
    return f"{day_words(day.on)}{side}<br>{value}, {between_words(day, spec)}"


def _zone_shapes(steps: Sequence[BenchmarkStep], frame: Frame) -> list[Figure]:
    def zone(step: BenchmarkStep, low: float, high: float, colour: str) -> Figure:
        return {
            "type": "rect",
            "layer": "below",
            "x0": max(step.begins_on, frame.first).isoformat(),
            "x1": min(step.ends_on, frame.last).isoformat(),
            "y0": low,
            "y1": high,
            "fillcolor": colour,
            "line": {"width": 0},
        }

    return [
        shape
        for step in steps
        for shape in (
            zone(step, step.benchmark.building, step.benchmark.aim, BUILD),
            zone(step, step.benchmark.aim, max(frame.high, step.benchmark.aim), AIM),
        )
    ]


def _zone_words(steps: Sequence[BenchmarkStep], frame: Frame) -> list[Figure]:
    """The names of the zones at the right edge, pushed apart where a zone is too thin for its name."""
    if not steps or steps[-1].ends_on < frame.last - (frame.last - frame.first) * 0.2:
        return []
    newest = steps[-1].benchmark
    gap = LABEL_GAP / frame.pixels(1.0)
    middle = (newest.building + newest.aim) / 2
    high = max((newest.aim + frame.high) / 2, middle + gap)
    low = min((newest.building + frame.low) / 2, middle - gap)
    names = [("club aim", high, AIM_INK), ("building", middle, BUILD_INK), ("starting out", low, INK_2)]
    return [
        _words(name, y=y, colour=colour, xref="paper", x=1, xanchor="left", xshift=6)
        for name, y, colour in names
        if y > frame.low - gap
    ]


def _inner(steps: Sequence[BenchmarkStep], frame: Frame) -> list[BenchmarkStep]:
    return [step for step in steps if frame.first < step.begins_on < frame.last]


def _birthdays(steps: Sequence[BenchmarkStep], frame: Frame) -> list[Figure]:
    return [
        {
            "type": "line",
            "layer": "below",
            "x0": step.begins_on.isoformat(),
            "x1": step.begins_on.isoformat(),
            "y0": frame.low,
            "y1": frame.high,
            "line": {"color": INK_3, "width": 1.5, "dash": "2px 5px"},
        }
        for step in _inner(steps, frame)
    ]


def _birthday_words(steps: Sequence[BenchmarkStep], frame: Frame, born_on: date) -> list[Figure]:
    return [
        _words(
            f"turned {completed_years(born_on, step.begins_on)}",
            x=step.begins_on.isoformat(),
            yref="paper",
            y=1,
            yanchor="bottom",
        )
        for step in _inner(steps, frame)
    ]


def _ask_lines(asks: Sequence[Ask], frame: Frame) -> list[Figure]:
    return [
        {
            "type": "line",
            "layer": "below",
            "x0": frame.first.isoformat(),
            "x1": frame.last.isoformat(),
            "y0": ask.value,
            "y1": ask.value,
            "line": {"color": MAT, "width": 1.5, "dash": "7px 5px"},
        }
        for ask in asks
    ]


def _ask_words(asks: Sequence[Ask], frame: Frame, days: Sequence[DayScore]) -> list[Figure]:
    """Words on the line, at the end where the dots are farther away; under it when the line above is too near."""
    ordered = sorted(asks, key=lambda ask: -ask.value)
    made = []
    for place, ask in enumerate(ordered):
        near = place > 0 and frame.pixels(ordered[place - 1].value - ask.value) < LABEL_GAP * 1.6
        anchor = "top" if near else "bottom"
        left, right = (_room(ask, frame, days, late=late) for late in (False, True))
        at_the_end = left < LABEL_GAP * 1.6 < right
        made.append(
            _words(
                ask.words,
                name=ask.short or ask.words,
                x=1 if at_the_end else 0,
                xref="paper",
                y=ask.value,
                colour=MAT,
                xanchor="right" if at_the_end else "left",
                xshift=-6 if at_the_end else 6,
                yanchor=anchor,
            )
        )
    return made


def _room(ask: Ask, frame: Frame, days: Sequence[DayScore], *, late: bool) -> float:
    """Pixels from the line to the nearest dot in the first or the last two fifths of the chart."""
    reach = (frame.last - frame.first) * 0.4
    there = [day for day in days if (day.on > frame.last - reach if late else day.on < frame.first + reach)]
    return min(
        (abs(frame.pixels(day.value - ask.value)) for day in there if day.value is not None), default=1e9
    )


def _line_words(lines: Sequence[Interpretation], spec: Spec, frame: Frame) -> list[Figure]:
    """First look and where a series begins, beside its first dot; then the newest values."""
    made: list[Figure] = []
    named: set[str] = set()
    several = len({line.series for line in lines}) > 1
    for line in lines:
        first = evidence(line)[0]
        if line.series in named or not (several or first.first_look) or first is line.latest:
            continue
        named.add(line.series)
        look = "first look" if first.first_look else ""
        which = series_words(line, spec) if several else ""
        late = first.on > frame.first + (frame.last - frame.first) * 0.6
        made.append(
            _words(
                ": ".join(word for word in (which, look) if word), name=which or look, x=first.on.isoformat(),
                y=first.value, xanchor="right" if late else "left", xshift=-11 if late else 11, yshift=-5,
            )
        )  # fmt: skip
    return made + _newest_words(lines, spec, frame)


def _newest_words(lines: Sequence[Interpretation], spec: Spec, frame: Frame) -> list[Figure]:
    """The newest value over its bar; with two sides beside their dots, pushed apart when they are close."""
    newest = max((line.latest.on for line in lines if line.latest), default=None)
    ends = sorted((line for line in lines if line.latest and line.latest.on == newest), key=_value)
    if len(ends) == 1:
        return [_over_bar(ends[0], spec, frame)]
    close = bool(ends) and frame.pixels(_value(ends[-1]) - _value(ends[0])) < LABEL_GAP
    return [
        _words(
            _end_words(line, spec), x=newest.isoformat() if newest else "", y=_value(line), colour=INK,
            xanchor="left", xshift=12, yshift=(place * 2 - 1) * 9 if close else 0,
        )
        for place, line in enumerate(ends)
    ]  # fmt: skip


def _over_bar(line: Interpretation, spec: Spec, frame: Frame) -> Figure:
    days = evidence(line)
    near = [day for day in days if day.on > days[-1].on - (frame.last - frame.first) * 0.16]
    top = max(day.value if day.at_least else day.value + day.sem for day in near)
    return _words(
        _end_words(line, spec), x=days[-1].on.isoformat(), y=top, colour=INK, xanchor="center",
        yanchor="bottom", yshift=6,
    )  # fmt: skip


def _end_words(line: Interpretation, spec: Spec) -> str:
    latest = line.latest
    if latest is None:
        return ""
    value = f"{line.side} {amount(spec, latest.value, at_least=latest.at_least)}".strip()
    return f"{value}, first look" if latest.first_look else value


def _value(line: Interpretation) -> float:
    return line.latest.value if line.latest else 0.0


def _words(text: str, *, y: float, x: float | str, colour: str = INK_2, **place: Any) -> Figure:
    return {"text": text, "x": x, "y": y, "showarrow": False, "font": {"color": colour, "size": 13}, **place}
