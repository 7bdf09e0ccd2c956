"""Whether one entry can be what it says, by the protocol of its measure or shape. Pure: no database, no clock."""

from __future__ import annotations

from assessments.analysis.records import MeasureSpec, ShapeSpec
from assessments.entries import Entry

Spec = MeasureSpec | ShapeSpec
WITH_VALUE = ("scored", "reached_cap", "chose_to_stop")
#: Nothing was measured: these say what happened, and no rule about values or rest applies to them.
WITHOUT_VALUE = ("not_attempted", "stopped_for_pain", "interrupted", "withdrawn")
_WHOLE_KINDS = ("count", "score_count")


def why_impossible(entry: Entry, spec: Spec) -> str:
    """One plain sentence that says why this cannot have been seen; empty when it can."""
    if entry.outcome == "withdrawn":
        return "" if entry.replaces else "An undo has to say which entry it takes back."
    if entry.outcome == "stopped_for_pain":
        # A station that was changed in mid-day must not keep a rest note from opening.
        return _content(entry, spec)
    return _side(entry, spec) or _variant(entry, spec) or _content(entry, spec)


def unusual_about(entry: Entry, spec: Spec) -> tuple[str, ...]:
    """Flags for what can be true but deserves a second glance."""
    flags = []
    if isinstance(spec, MeasureSpec):
        if entry.outcome in WITH_VALUE and entry.value is not None:
            low, high = spec.limits.warn
            if not low <= entry.value <= high:
                flags.append("unusual_value")
        if spec.variants and not entry.variant and entry.outcome != "withdrawn":
            flags.append("variant_not_said")
        if entry.trial > spec.attempts and entry.outcome in WITH_VALUE:
            flags.append("extra_trial")
    return tuple(flags)


def value_to_keep(entry: Entry, spec: Spec) -> float | None:
    """The number that is stored: none for a shape, 0 for a child who tried and could not start."""
    if isinstance(spec, ShapeSpec):
        return None
    return 0.0 if entry.outcome == "could_not_start" else entry.value


def _side(entry: Entry, spec: Spec) -> str:
    if spec.sides and not entry.side:
        return f"{spec.name} needs a side: left or right."
    if entry.side and not spec.sides:
        return f"{spec.name} has no left and right."
    return ""


def _variant(entry: Entry, spec: Spec) -> str:
    known = spec.variants if isinstance(spec, MeasureSpec) else ()
    if entry.variant and entry.variant not in known:
        return f"{spec.name} has no version called {entry.variant}."
    return ""


def _content(entry: Entry, spec: Spec) -> str:
    if entry.outcome in WITHOUT_VALUE:
        if entry.value is not None or entry.levels is not None:
            return "Nothing is scored here, so no value can be kept."
        return ""
    return _shape(entry, spec) if isinstance(spec, ShapeSpec) else _measure(entry, spec)


def _shape(entry: Entry, spec: ShapeSpec) -> str:
    if entry.outcome == "reached_cap":
        return f"{spec.name} is judged, so it has no cap to reach."
    if entry.outcome == "could_not_start":
        return "A child who could not start has no levels." if entry.levels else ""
    if not entry.levels:
        return f"{spec.name} needs a level for each criterion."
    known = {criterion.id for criterion in spec.criteria}
    unknown = sorted(set(entry.levels) - known)
    if unknown:
        return f"{spec.name} has no criterion called {unknown[0]}."
    total = sum(level for level in entry.levels.values() if level is not None)
    if entry.value is not None and entry.value != total:
        return f"The levels add up to {total}, not {entry.value:g}."
    return ""


def _measure(entry: Entry, spec: MeasureSpec) -> str:
    if entry.levels is not None:
        return f"{spec.name} is measured, not judged by levels."
    if entry.outcome == "could_not_start":
        return "" if entry.value in (None, 0) else "A child who could not start has no value."
    if entry.value is None:
        return f"{spec.name} needs a value."
    low, high = spec.limits.refuse
    if not low <= entry.value <= high:
        return f"{entry.value:g} is not possible for {spec.name}: it lies between {low:g} and {high:g}."
    if spec.kind in _WHOLE_KINDS and not float(entry.value).is_integer():
        return f"{spec.name} is counted in whole numbers, not {entry.value:g}."
    return _cap(entry, entry.value, spec)


def _cap(entry: Entry, value: float, spec: MeasureSpec) -> str:
    if spec.cap is None:
        return f"{spec.name} has no cap to reach." if entry.outcome == "reached_cap" else ""
    if value > spec.cap:
        return f"{value:g} is above the cap of {spec.cap:g}: keep {spec.cap:g} and mark it 'reached cap'."
    if entry.outcome == "reached_cap" and value != spec.cap:
        return f"Reached cap means {spec.cap:g}, not {value:g}."
    return ""
