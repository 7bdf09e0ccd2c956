"""Editions of the programme: loaded and published whole, drafted and saved without overwriting anybody."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone

from assessments.analysis.records import MeasureSpec, Programme, ShapeSpec
from assessments.models import Measure, ProgrammeEdition, Protocol, Skill
from assessments.programme_changes import versions
from assessments.programme_editing import mark_of
from assessments.programme_entry import Problem
from assessments.programme_file import read, read_folder, starter_documents
from assessments.programme_yaml import Documents
from club import audit
from club.access import Viewer

KEPT_IN_MEMORY = 16  # editions
TRIES_TO_SAVE = 5


class NoProgramme(LookupError):
    """Nothing has been published yet."""


class Refused(ValueError):
    """A programme that does not hang together; `problems` say what, where and why."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(str(problem) for problem in problems))
        self.problems = problems


class Stale(ValueError):
    """Somebody saved or published in between. Both versions are here; nothing was overwritten."""

    def __init__(self, words: str, *, theirs: ProgrammeEdition, mine: Documents) -> None:
        super().__init__(words)
        self.theirs = theirs
        self.mine = mine


# --- reading ---------------------------------------------------------------------------------------


def current_programme() -> Programme:
    """The programme that counts today."""
    newest = ProgrammeEdition.objects.published().order_by("-number").values_list("code", flat=True).first()
    if newest is None:
        raise NoProgramme("No programme has been loaded yet. Run: python manage.py loadprogramme")
    return _published(newest)


def programme_of(edition: ProgrammeEdition) -> Programme:
    """A published edition as the calculation reads it."""
    return _published(edition.code)


@lru_cache(maxsize=KEPT_IN_MEMORY)
def _published(code: UUID) -> Programme:
    """Published editions never change, so each is read once; a code is never used twice."""
    edition = ProgrammeEdition.objects.published().get(code=code)
    reading = read(edition.document, edition=edition.number or 0)
    # An edition that was checked when it was published still counts when a later release checks more.
    return reading.partial


# --- publishing ------------------------------------------------------------------------------------


@transaction.atomic
def load(folder: Path | None = None, *, viewer: Viewer | None = None) -> ProgrammeEdition:
    """A folder of files as the next edition, checked whole. The same files twice change nothing."""
    documents, reading = read_folder(folder) if folder else (starter_documents(), read(starter_documents()))
    if reading.refusals:
        raise Refused(reading.refusals)
    current = ProgrammeEdition.objects.current()
    if current is not None and _without_versions(current.document) == _without_versions(documents):
        return current
    draft = ProgrammeEdition(document=copy.deepcopy(documents), based_on=current, title="Loaded from files")
    draft.save()
    return publish(draft, viewer or Viewer(today=timezone.localdate()), "Loaded from files")


@transaction.atomic
def publish(
    draft: ProgrammeEdition, viewer: Viewer, reason: str, *, against: int | None = None
) -> ProgrammeEdition:
    """The draft as the next edition. `against` is the edition that it was compared with, when it was."""
    fresh = ProgrammeEdition.objects.select_for_update().get(pk=draft.pk)
    current = ProgrammeEdition.objects.current()
    if fresh.number is not None or fresh.draft_version != draft.draft_version:
        raise Stale("This draft was saved or published meanwhile.", theirs=fresh, mine=draft.document)
    if against is not None and current is not None and current.number != against:
        words = f"{current} was published after you compared. Compare again."
        raise Stale(words, theirs=current, mine=draft.document)
    if not reason.strip():
        raise Refused((Problem("measures", "", "an edition needs a reason in a few words"),))
    documents = copy.deepcopy(fresh.document)
    reading = read(documents)
    if reading.programme is None:
        raise Refused(reading.refusals)
    _set_versions(documents, reading.programme, programme_of(current) if current else None)
    fresh.number = (current.number or 0) + 1 if current else 1
    fresh.document = documents
    fresh.reason = reason.strip()
    fresh.published_at = timezone.now()
    fresh.published_by = viewer.member
    try:
        with transaction.atomic():
            fresh.save()
    except IntegrityError as taken:
        words = "Another edition was published at the same moment. Compare again."
        raise Stale(words, theirs=draft, mine=draft.document) from taken
    _identities(fresh, read(documents, edition=fresh.number).partial)
    audit.note(viewer, "published an edition of the programme", fresh, number=fresh.number)
    return fresh


def draft_programme(draft: ProgrammeEdition) -> Programme:
    """The draft as it would be published now; Refused when it would not be."""
    documents = copy.deepcopy(draft.document)
    reading = read(documents)
    if reading.programme is None:
        raise Refused(reading.refusals)
    current = ProgrammeEdition.objects.current()
    _set_versions(documents, reading.programme, programme_of(current) if current else None)
    return read(documents).partial


def _set_versions(documents: dict[str, Any], new: Programme, old: Programme | None) -> None:
    highest = dict(Protocol.objects.values_list("measure__slug").annotate(Max("version")))
    found = versions(new, old, highest=highest)
    for file in ("measures", "shapes"):
        for entry in documents[file][file]:
            entry["version"] = found[entry["id"]]


def _without_versions(documents: Documents) -> dict[str, Any]:
    """Documents without the numbers that publishing gives."""
    plain = copy.deepcopy(dict(documents))
    for file in ("measures", "shapes"):
        for entry in plain.get(file, {}).get(file, ()):
            entry.pop("version", None)
    return plain


def _identities(edition: ProgrammeEdition, programme: Programme) -> None:
    """A row for each measure, shape, protocol and skill, so that results and decisions can point to it."""
    items = {spec.id: spec for spec in programme.items()}
    Measure.objects.bulk_create(
        [Measure(slug=spec.id, name=spec.name, kind=spec.kind) for spec in items.values()],
        update_conflicts=True,
        unique_fields=["slug"],
        update_fields=["name", "kind"],
    )
    rows = {measure.slug: measure for measure in Measure.objects.filter(slug__in=items)}
    Protocol.objects.bulk_create(
        [
            Protocol(
                measure=rows[spec.id],
                version=spec.version,
                body=_entry(edition.document, spec),
                since_edition=edition,
            )
            for spec in items.values()
        ],
        ignore_conflicts=True,
    )
    Skill.objects.bulk_create(
        [Skill(slug=skill.id, name=skill.name, area=skill.area) for skill in programme.skills.values()],
        update_conflicts=True,
        unique_fields=["slug"],
        update_fields=["name", "area"],
    )


def _entry(documents: Documents, spec: MeasureSpec | ShapeSpec) -> Mapping[str, Any]:
    file = "measures" if isinstance(spec, MeasureSpec) else "shapes"
    return next(entry for entry in documents[file][file] if entry["id"] == spec.id)


# --- drafts ----------------------------------------------------------------------------------------


def begin_draft(viewer: Viewer, *, title: str = "", documents: Documents | None = None) -> ProgrammeEdition:
    """A draft that begins as the current edition, or as documents that were brought in."""
    current = ProgrammeEdition.objects.current()
    if documents is None and current is None:
        raise NoProgramme("There is no edition to begin from.")
    content = documents if documents is not None else current.document if current else {}
    draft = ProgrammeEdition.objects.create(
        document=copy.deepcopy(dict(content)),
        based_on=current,
        title=title,
        created_by=viewer.member,
        changed_by=viewer.member,
    )
    audit.note(viewer, "began a draft of the programme", draft)
    return draft


def save_draft(
    draft: ProgrammeEdition, documents: Documents, *, seen_version: int, viewer: Viewer
) -> ProgrammeEdition:
    """Keep documents in a draft, finished or not. Refused when somebody saved since `seen_version`."""
    saved = ProgrammeEdition.objects.drafts().filter(pk=draft.pk, draft_version=seen_version)
    count = saved.update(
        document=dict(documents),
        draft_version=seen_version + 1,
        changed_at=timezone.now(),
        changed_by=viewer.member,
    )
    fresh = ProgrammeEdition.objects.get(pk=draft.pk)
    if not count:
        raise Stale("Somebody saved this draft after you opened it.", theirs=fresh, mine=documents)
    return fresh


def change_draft(
    draft: ProgrammeEdition,
    change: Callable[[Documents], Documents],
    *,
    part: tuple[str, str],
    seen: str,
    viewer: Viewer,
) -> ProgrammeEdition:
    """Change one part of a draft. Two people may edit different parts; the same part only one after the other.

    `part` is a file and an item, `seen` the mark of that part when it was opened. A change that makes the skills
    hang together less than before is refused with its reasons.
    """
    for _ in range(TRIES_TO_SAVE):
        fresh = ProgrammeEdition.objects.select_related("changed_by").get(pk=draft.pk)
        new = change(fresh.document)
        if fresh.number is not None:
            raise Stale("This draft was published meanwhile.", theirs=fresh, mine=new)
        if mark_of(fresh.document, *part) != seen:
            raise Stale("Somebody changed this part after you opened it.", theirs=fresh, mine=new)
        if broken := _newly_broken(fresh.document, new):
            raise Refused(broken)
        try:
            return save_draft(fresh, new, seen_version=fresh.draft_version, viewer=viewer)
        except Stale:
            continue
    raise Stale("This draft is being saved by others at this moment. Try again.", theirs=fresh, mine=new)


def _newly_broken(before: Documents, after: Documents) -> tuple[Problem, ...]:
    """Refusals about skills that were not there before."""
    known = set(read(before).refusals)
    return tuple(one for one in read(after).refusals if one.file == "skills" and one not in known)


def drop_draft(draft: ProgrammeEdition, viewer: Viewer) -> None:
    """Throw a draft away."""
    audit.note(viewer, "threw away a draft of the programme", draft)
    ProgrammeEdition.objects.drafts().filter(pk=draft.pk).delete()
