"""What has served its time goes; what still needs a person, or proves an erasure, stays."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.management import call_command

from assessments.models import FamilyReport, RefusedEntry
from club.models import AuditEntry
from tests.factories import NOW, FamilyReportFactory


def refused(reason, *, days, settled):
    return RefusedEntry.objects.create(
        body={}, body_hash=reason, reason=reason, received_at=NOW - timedelta(days=days),
        settled_at=NOW if settled else None,
    )  # fmt: skip


def line(verb, *, days):
    return AuditEntry.objects.create(verb=verb, actor_name="x", at=NOW - timedelta(days=days))


@pytest.fixture
def old_and_new(cast):
    refused("old and settled", days=31, settled=True)
    refused("old and waiting", days=31, settled=False)
    refused("new and settled", days=29, settled=True)
    for days, status in ((91, "draft"), (89, "draft"), (91, "approved")):
        FamilyReportFactory(
            athlete=cast.mia, title=f"{days} {status}", status=status, written_at=NOW - timedelta(days=days)
        )
    line("opened a child", days=731)
    line("erased a child", days=731)
    line("opened a child", days=700)


def left():
    return (
        sorted(RefusedEntry.objects.values_list("reason", flat=True)),
        sorted(FamilyReport.objects.values_list("title", flat=True)),
        sorted(AuditEntry.objects.values_list("verb", flat=True)),
    )


def test_a_dry_run_changes_nothing(old_and_new, capsys):
    before = left()
    call_command("forgetold")
    assert left() == before and "1 settled refused entries" in capsys.readouterr().out


def test_only_what_is_due_goes(old_and_new):
    call_command("forgetold", "--apply")
    assert left() == (
        ["new and settled", "old and waiting"],
        ["89 draft", "91 approved"],
        ["erased a child", "opened a child"],
    )
