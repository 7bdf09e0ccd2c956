"""Past results in the browser: upload, look, map by hand, record."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse

from assessments.models import ImportMapping, Result
from athletes.models import Athlete

SHEET = "Name,Hollow hold,Balance a,Mood\nMia Alder,0,12,happy\nTom Birch,31,9,shy\n"
PAGES = ("results_import", "results_import_preview", "results_import_apply", "results_import_drop")


def upload(client, text=SHEET, name="2026-03-12.csv"):
    file = SimpleUploadedFile(name, text.encode() if isinstance(text, str) else text)
    return client.post(reverse("assessments:results_import"), {"file": file})


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.parametrize(
    ("who", "status"), [("director", 302), ("coach", 403), ("guardian", 403), (None, 302)]
)
def test_only_a_director_brings_results_in(cast, programme, as_member, client, address, who, status):
    if who:
        as_member(getattr(cast, who))
    answer = upload(client) if address == "results_import" else client.post(reverse(f"assessments:{address}"))
    assert answer.status_code == status
    if who is None:
        assert reverse("club:sign_in") in answer["Location"]
    assert not Result.objects.exists()


def test_results_are_looked_at_mapped_and_recorded(cast, programme, as_member):
    client = as_member(cast.director)
    preview = reverse("assessments:results_import_preview")
    assert upload(client)["Location"] == preview
    page = client.get(preview).content.decode()
    assert "1 result to record" in page
    assert "no measure has this name. First value: 12." in page
    assert "A bare 0 in a hold or a count means" in page
    chosen = {
        "zeros": "could_not",
        "place:Balance a": "single_leg_stance:left",
        "try:Balance a": "2",
        "place:Mood": "ignore",
    }
    client.post(preview, chosen)
    assert not Result.objects.exists()
    page = client.get(preview).content.decode()
    assert "4 results to record" in page
    assert "As you chose." in page
    client.post(reverse("assessments:results_import_apply"), chosen)
    kept = Result.objects.filter(athlete=cast.mia).order_by("measure__slug")
    assert list(kept.values_list("measure__slug", "side", "trial", "value", "outcome")) == [
        ("hollow_hold", "", 1, 0, "could_not_start"),
        ("single_leg_stance", "left", 2, 12, "scored"),
    ]
    assert client.get(preview).status_code == 302  # the file is gone
    remembered = reverse("assessments:results_import")
    assert "balance a" in client.get(remembered).content.decode()
    row = ImportMapping.objects.get(header="balance a")
    client.post(reverse("assessments:import_mapping_forget", args=[row.pk]))
    assert not ImportMapping.objects.filter(header="balance a").exists()


def test_what_is_chosen_with_apply_counts_and_the_rest_stays_in_view(cast, programme, as_member):
    client = as_member(cast.director)
    upload(client, "Name,Hollow hold,Balance\nMia Alder,good,12\nTom Brich,20,11\n")
    client.post(
        reverse("assessments:results_import_apply"),
        {"place:Balance": "single_leg_stance:right", "try:Balance": ""},
    )
    assert list(Result.objects.values_list("athlete", "side")) == [(cast.mia.pk, "right")]
    page = client.get(reverse("assessments:results_import_preview")).content.decode()
    assert "&#x27;good&#x27; is not a number in seconds" in page
    assert "perhaps Tom Birch (Tigers)" in page


def test_a_choice_can_be_taken_back_before_it_is_used(cast, programme, as_member):
    client = as_member(cast.director)
    preview = reverse("assessments:results_import_preview")
    upload(client)
    client.post(preview, {"place:Mood": "hollow_hold"})
    client.post(preview, {"place:Mood": ""})
    assert "Column &#x27;Mood&#x27;" in client.get(preview).content.decode()
    assert "As you chose." not in client.get(preview).content.decode()


def test_an_invented_place_is_not_taken(cast, programme, as_member):
    client = as_member(cast.director)
    upload(client)
    client.post(
        reverse("assessments:results_import_apply"),
        {"place:Mood": "no_such_measure", "zeros": "sometimes", "order": "backwards"},
    )
    assert not ImportMapping.objects.exists()
    assert "As you chose." not in client.get(reverse("assessments:results_import_preview")).content.decode()


@pytest.mark.parametrize(("content", "reason"), [(b"\x89PNG", "not a spreadsheet"), (b"", "empty")])
def test_a_wrong_file_is_answered_with_422_and_a_reason(cast, programme, as_member, content, reason):
    answer = upload(as_member(cast.director), content)
    assert answer.status_code == 422
    assert reason in answer.content.decode()


def test_without_a_programme_the_page_says_what_is_missing(cast, as_member):
    answer = upload(as_member(cast.director))
    assert answer.status_code == 422
    assert "No programme has been loaded yet" in answer.content.decode()


def test_the_address_of_a_preview_names_no_child(cast, programme, as_member):
    client = as_member(cast.director)
    location = upload(client)["Location"]
    assert not any(name in location for name in Athlete.objects.values_list("first_name", flat=True))


def test_the_command_says_when_it_cannot_begin(cast, programme, tmp_path):
    with pytest.raises(CommandError, match="cannot be opened"):
        call_command("importresults", tmp_path / "none.csv")
    path = tmp_path / "2026-03-12.csv"
    path.write_text(SHEET)
    with pytest.raises(CommandError, match="not the id of a measure"):
        call_command("importresults", path, "--map", "Balance a=splits")
