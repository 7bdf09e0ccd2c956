"""Export, erasure and retention walk every model that leads to a child."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.apps import apps
from django.core.management import call_command
from django.urls import reverse

from athletes import privacy
from athletes.models import Athlete, RestNote
from club.checks import leads_to_a_child
from club.models import AuditEntry, User
from tests import factories
from tests.conftest import viewer_of


@pytest.fixture
def full(cast):
    """Mia with one row in every model about children, and Tom with the same."""
    for child in (cast.mia, cast.tom):
        factories.RestNoteFactory(athlete=child, note="Fell on a hand.")
        factories.ResultFactory(athlete=child, day=cast.day, value=23.0)
        factories.SkillDecisionFactory(athlete=child, decided_by=cast.coach)
        factories.FamilyReportFactory(athlete=child, body={"lead": f"{child.first_name} grows"})
        factories.AttendanceFactory(athlete=child, day=cast.day)
        child.consents.create(purpose="rest_notes", given_on=factories.TODAY, given_by="Sam Alder")
    return cast


def rows_about(child) -> int:
    return sum(found.count() for _, found in privacy.related_rows(child))


def test_the_export_holds_every_model_and_no_other_child(full):
    data = privacy.export(full.mia)
    text = privacy.as_json(data)
    assert json.loads(text)["child"]["first_name"] == "Mia"
    assert '"value": 23.0' in text and "Fell on a hand." in text and "Sam Alder" in text
    for name in ("Tom", "Birch", "Ines", full.tom.code.hex, str(full.tom.code)):
        assert name not in text
    assert "Coach" in text
    models = {
        str(m._meta.verbose_name_plural)
        for m in apps.get_models()
        if leads_to_a_child(m) and m is not Athlete
    }
    assert models <= set(data)


def test_erasing_leaves_a_codes_only_line_and_the_other_child_whole(full):
    code, before = full.mia.code, rows_about(full.tom)
    assert rows_about(full.mia) > 6
    privacy.erase(full.mia, viewer_of(full.director))
    assert not Athlete.objects.filter(code=code).exists()
    assert rows_about(full.tom) == before
    line = AuditEntry.objects.get(verb="erased a child")
    assert line.subject_code == code and "Mia" not in str(line.detail)
    assert not User.objects.filter(pk=full.guardian.pk).exists()
    for model in apps.get_models():
        for field in model._meta.concrete_fields:
            if field.get_internal_type() in {"CharField", "TextField", "JSONField"}:
                assert not model._default_manager.filter(**{f"{field.name}__icontains": "Mia"}).exists(), (
                    field
                )


def test_a_parent_with_another_child_keeps_the_account(full):
    factories.GuardianFactory(athlete=full.tom, member=full.guardian, email=full.guardian.email)
    privacy.erase(full.mia, viewer_of(full.director))
    assert User.objects.filter(pk=full.guardian.pk).exists()


def test_the_erase_page_wants_the_name(full, as_member):
    url = reverse("athletes:athlete_erase", args=[full.mia.code])
    client = as_member(full.director)
    assert client.post(url, {"confirm": "Tom"}).status_code == 422
    assert Athlete.objects.filter(pk=full.mia.pk).exists()
    assert client.post(url, {"confirm": "mia"}).status_code == 302
    assert not Athlete.objects.filter(pk=full.mia.pk).exists()


def test_a_restricted_child_is_not_exported(full, as_member):
    url = reverse("athletes:athlete_export", args=[full.mia.code])
    client = as_member(full.director)
    assert client.get(url)["Content-Type"] == "application/json"
    Athlete.objects.filter(pk=full.mia.pk).update(restricted=True)
    assert client.get(url).status_code == 302


def test_forgetting_leavers_is_a_dry_run_until_told(full, capsys):
    long_ago = factories.TODAY - timedelta(days=731)
    Athlete.objects.filter(pk=full.tom.pk).update(joined_on=long_ago, left_on=long_ago)
    kept = factories.RestNoteFactory(
        athlete=full.mia, opened_on=factories.TODAY - timedelta(days=300), ended=True
    )
    old = factories.RestNoteFactory(
        athlete=full.mia, opened_on=factories.TODAY - timedelta(days=500), ended=True,
        ended_on=factories.TODAY - timedelta(days=366),
    )  # fmt: skip
    call_command("forgetleavers")
    assert Athlete.objects.filter(pk=full.tom.pk).exists() and RestNote.objects.filter(pk=old.pk).exists()
    call_command("forgetleavers", "--apply")
    assert not Athlete.objects.filter(pk=full.tom.pk).exists()
    assert not RestNote.objects.filter(pk=old.pk).exists()
    assert RestNote.objects.filter(pk=kept.pk).exists() and Athlete.objects.filter(pk=full.mia.pk).exists()
    assert "1 children" in capsys.readouterr().out
