"""Norms and forecasts drawn on the theme of all charts. Pure: records in, a plotly figure as a dict out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assessments.analysis import Norms
from assessments.analysis.records import Band, Benchmark, MeasureSpec
from assessments.charts import CARD, INK, INK_2, INK_3, MAT, Figure, theme

ENDS = {
    10.0: "1 of 10 below",
    25.0: "1 of 4 below",
    50.0: "middle",
    75.0: "3 of 4 below",
    90.0: "9 of 10 below",
}


def norm_chart(
    norms: Norms,
    points: Sequence[tuple[float, float, bool]],
    *,
    spec: MeasureSpec,
    now: Mapping[str, Benchmark],
    bands: Sequence[Band],
) -> Figure:
    """Percentiles over age, named at the right edge; every result as a small open dot; the benchmark as a dashed step.

    No line is stressed: the wide range is what is usual. Bands without enough children leave a gap.
    """
    layout = theme()
    layout["margin"]["r"] = 118
    ages = [band.age for band in norms.bands]
    layout["xaxis"] = {
        **layout["xaxis"],
        "type": "linear",
        "tickformat": "",
        "range": [min(ages) - 0.7, max(ages) + 1.1],
        "dtick": 1,
        "title": {"text": "age in years", "font": {"size": 13, "color": INK_2}},
    }
    values = [value for _, value, _ in points] + [row.building for row in now.values()]
    low = min(values) if spec.kind == "distance" else 0.0
    high = max([low + 1.0, *values, *(row.aim for row in now.values())])
    pad = (high - low) * 0.06
    layout["yaxis"]["range"] = [low - (pad if spec.kind == "distance" else 0.0), high + pad]
    layout["annotations"] = _edge_words(norms, high - low) + _aim_words(bands, now)
    return {
        "data": [_dots(points, spec), *_lines(norms), *_aims(bands, now)],
        "layout": layout,
    }


def _dots(points: Sequence[tuple[float, float, bool]], spec: MeasureSpec) -> Figure:
    unit = f" {spec.unit}" if spec.unit in ("s", "cm") else ""
    return {
        "type": "scatter",
        "mode": "markers",
        "x": [round(age, 2) for age, _, _ in points],
        "y": [value for _, value, _ in points],
        "marker": {
            "size": [7 if bound else 5 for _, _, bound in points],
            "symbol": ["triangle-up-open" if bound else "circle-open" for _, _, bound in points],
            "color": INK_3,
            "opacity": 0.55,
        },
        "hovertemplate": f"%{{x:.1f}} years, %{{y}}{unit}<extra></extra>",
    }


def _lines(norms: Norms) -> list[Figure]:
    made = []
    for place, percent in enumerate(norms.percents):
        values = [band.values[place] if band.enough else None for band in norms.bands]
        made.append(
            {
                "type": "scatter",
                "mode": "lines+markers",
                "x": [band.age for band in norms.bands],
                "y": [None if value is None else round(value, 1) for value in values],
                "connectgaps": False,
                "line": {"color": INK, "width": 2},
                "marker": {"size": 8, "color": CARD, "line": {"color": INK, "width": 2}},
                "hovertemplate": f"{ENDS.get(percent, '')}: %{{y}}<extra></extra>",
            }
        )
    return made


def _aims(bands: Sequence[Band], now: Mapping[str, Benchmark]) -> list[Figure]:
    """Where 'building' begins and the club aim stands now, as dashed steps at the birthdays."""
    rows = [now.get(band.id) for band in bands]
    levels = {
        "club aim now": [row.aim if row else None for row in rows],
        "building from now": [row.building if row else None for row in rows],
    }
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "x": [age for band in bands for age in (band.low, band.high)],
            "y": [value for value in values for _ in range(2)],
            "connectgaps": False,
            "line": {"color": MAT, "width": 1.5, "dash": "7px 5px"},
            "hovertemplate": f"{word}: %{{y}}<extra></extra>",
        }
        for word, values in levels.items()
    ]


def _aim_words(bands: Sequence[Band], now: Mapping[str, Benchmark]) -> list[Figure]:
    last = next((band for band in reversed(bands) if band.id in now), None)
    if last is None:
        return []
    row = now[last.id]
    return [
        {
            "text": words,
            "x": last.high,
            "y": value,
            "xanchor": "left",
            "xshift": 4,
            "showarrow": False,
            "font": {"color": MAT, "size": 13},
        }
        for words, value in (("club aim now", row.aim), ("building now", row.building))
    ]


def _edge_words(norms: Norms, height: float) -> list[Figure]:
    """Names of the lines after the last band that has values, pushed apart where they are close."""
    last = next((band for band in reversed(norms.bands) if band.enough), None)
    if last is None:
        return []
    gap, floor = height * 0.06, float("-inf")
    made = []
    for percent, value in zip(norms.percents, last.values, strict=True):
        if value is None:
            continue
        floor = max(value, floor + gap)
        made.append(
            {
                "text": ENDS.get(percent, f"{percent:g}"),
                "x": last.age,
                "y": floor,
                "xanchor": "left",
                "xshift": 10,
                "showarrow": False,
                "bgcolor": CARD,
                "borderpad": 1,
                "font": {"color": INK_2, "size": 13},
            }
        )
    return made
