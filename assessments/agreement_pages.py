"""The page about judging laid out: the first sentence, shapes with their criteria, coaches by name. Records in."""

from __future__ import annotations

from dataclasses import dataclass

from assessments.analysis import CriterionAgreement, ShapeAgreement
from assessments.coach_agreement import SHARE_WANTED, Agreement, CoachLine, ShapeLine
from assessments.number_words import Span, agreement_sentence, is_known, span

SHARES = (0.0, 1.0)


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """One criterion: same level how often, and beyond chance with its range ("" when there are too few children)."""

    name: str
    same: str
    span: Span | None
    kappa: str
    reach: str


@dataclass(frozen=True, slots=True)
class ShapeBlock:
    """One shape: totals first, then its criteria."""

    name: str
    complete: int  # children with two complete totals
    reason: str
    limits: str
    icc: str
    alarm: str
    rows: tuple[CriterionRow, ...]


@dataclass(frozen=True, slots=True)
class AgreementPage:
    """Everything about judging."""

    found: Agreement
    sentence: str
    share: str
    shapes: tuple[ShapeBlock, ...]
    quiet: tuple[str, ...]  # shapes without second looks
    to_calibrate: tuple[CoachLine, ...]


def agreement_page(found: Agreement) -> AgreementPage:
    """Shapes with second looks in the order of the programme; the others by name."""
    criteria = [one for line in found.shapes for one in line.found.criteria]
    same, seen = sum(one.same for one in criteria), sum(one.children for one in criteria)
    counted = sum(line.found.children for line in found.shapes)
    return AgreementPage(
        found=found,
        sentence=agreement_sentence(counted, same, seen),
        share=_share_words(found, counted),
        shapes=tuple(_shape(line) for line in found.shapes if line.found.children),
        quiet=tuple(line.spec.name for line in found.shapes if not line.found.children),
        to_calibrate=found.to_calibrate,
    )


def _share_words(found: Agreement, counted: int) -> str:
    if not found.tries:
        return ""
    share = f"{found.looks} of {found.tries} shapes were seen by a second coach"
    newest = " Of several looks at a child in a shape the newest counts." if counted < found.looks else ""
    return f"{share}; about {SHARE_WANTED * 100:.0f} of 100 are enough.{newest}"


def _shape(line: ShapeLine) -> ShapeBlock:
    rows = tuple(_criterion(name, one) for name, one in line.rows if one.children)
    found = line.found
    return ShapeBlock(
        line.spec.name,
        found.complete,
        found.reason,
        limits_words(found),
        icc_words(found),
        found.alarm,
        rows,
    )


def limits_words(found: ShapeAgreement) -> str:
    """How far the second total lies from the first for nearly all children; "" under ten children."""
    limits = found.limits
    if limits is None:
        return ""
    if limits.sd == 0:
        apart = "in no total" if limits.bias == 0 else f"by {_points(limits.bias)} points each time"
        return f"The second look differed from the first {apart}; {limits.n} children cannot show how far others would."
    reach = (limits.high_interval[1] - limits.high_interval[0]) / 2
    return (
        f"19 of 20 second looks differ from the first by {_points(limits.low)} to {_points(limits.high)} points "
        f"(each end give or take {reach:.1f})."
    )


def _points(value: float) -> str:
    """Whole points with their sign."""
    whole = round(value)
    return f"{'+' if whole > 0 else '−' if whole < 0 else ''}{abs(whole)}"


def icc_words(found: ShapeAgreement) -> str:
    """How well totals tell children apart; "" under ten children."""
    if not is_known(found.icc) or found.icc_interval is None:
        return ""
    low, high = found.icc_interval
    return (
        f"Children are told apart with an agreement of {found.icc:.2f} (between {low:.2f} and {high:.2f}), "
        "where 1 is perfect."
    )


def _criterion(name: str, one: CriterionAgreement) -> CriterionRow:
    words, shown = f"{one.same} of {one.children}", None
    if one.same_interval is not None:
        low, high = one.same_interval
        said = f"{words} the same; between {100 * low:.0f} and {100 * high:.0f} of 100"
        shown = span(one.same / one.children, low, high, ends=SHARES, words=said)
    return CriterionRow(name, words, shown, *_kappa_words(one))


def _kappa_words(one: CriterionAgreement) -> tuple[str, str]:
    if one.kappa is None:
        return "", ""
    if one.kappa_interval is None:
        return "one level only", ""
    low, high = one.kappa_interval
    return f"{one.kappa:.2f}", f"{low:.2f} to {high:.2f}"
