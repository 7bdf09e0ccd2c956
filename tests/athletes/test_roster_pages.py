"""The roster in the browser and on the command line."""

from __future__ import annotations

import pytest
from django.contrib.sessions.models import Session
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse

from athletes.models import Athlete

LIST = "Name,Born,Group\nZoë Søby,4/3/2019,Tigers\nNoor van Dijk,25/3/2020,Otters\n"


def upload(client, text=LIST, name="list.csv"):
    file = SimpleUploadedFile(name, text.encode() if isinstance(text, str) else text)
    return client.post(reverse("athletes:roster"), {"file": file})


@pytest.mark.parametrize("name", ["roster", "roster_preview", "roster_apply", "roster_drop"])
@pytest.mark.parametrize(
    ("who", "status"), [("director", 302), ("coach", 403), ("guardian", 403), (None, 302)]
)
def test_only_a_director_brings_a_list_in(cast, as_member, client, name, who, status):
    if who:
        as_member(getattr(cast, who))
    answer = client.post(reverse(f"athletes:{name}")) if name != "roster" else upload(client)
    assert answer.status_code == status
    if who is None:
        assert reverse("club:sign_in") in answer["Location"]
    assert Athlete.objects.count() == 3


def test_a_list_is_looked_at_settled_and_applied(cast, as_member):
    client = as_member(cast.director)
    assert upload(client)["Location"] == reverse("athletes:roster_preview")
    page = client.get(reverse("athletes:roster_preview")).content.decode()
    assert "say whether the day or the month comes first" in page
    assert "1 to add" in page
    assert Athlete.objects.count() == 3
    client.post(reverse("athletes:roster_preview"), {"order": "day_first"})
    assert "2 to add" in client.get(reverse("athletes:roster_preview")).content.decode()
    answer = client.post(reverse("athletes:roster_apply"), {"order": "day_first"})
    assert answer["Location"] == reverse("athletes:athlete_list")
    assert Athlete.objects.filter(first_name="Zoë", born_on="2019-03-04", group=cast.tigers).exists()
    assert Athlete.objects.count() == 5
    assert client.get(reverse("athletes:roster_preview"))["Location"] == reverse("athletes:roster")


def test_what_was_chosen_goes_with_apply_and_the_rest_stays_in_view(cast, as_member):
    client = as_member(cast.director)
    upload(client, f"Name,Born\nMia Adler,{cast.mia.born_on}\nIda Fox,4/3/2019\nBad Line,soon\n")
    client.post(reverse("athletes:roster_apply"), {"order": "month_first", "answer:list:2": "two"})
    assert set(Athlete.objects.values_list("last_name", flat=True)) == {
        "Alder",
        "Birch",
        "Cole",
        "Adler",
        "Fox",
    }
    page = client.get(reverse("athletes:roster_preview")).content.decode()
    assert "&#x27;soon&#x27; is not a date" in page
    assert "2 children are here already" in page


def test_what_is_no_longer_asked_keeps_its_answer(cast, as_member):
    """Settling one question can raise another; the first answer must survive the second round."""
    text = (
        "Name,Born\nMia Thorn,2019-12-03\nMia Thorn,2018-04-21\nZoe Hartly,2019-03-04\nZoë Hartley,4/3/2019\n"
    )
    client, preview = as_member(cast.director), reverse("athletes:roster_preview")
    upload(client, text)
    first = client.get(preview).context["form"]
    asked = [name for name in first.fields if name.startswith("answer:")]
    client.post(preview, {"order": "day_first"} | dict.fromkeys(asked, "two"))
    second = [name for name in client.get(preview).context["form"].fields if name.startswith("answer:")]
    assert second and set(second).isdisjoint(asked)
    client.post(reverse("athletes:roster_apply"), {"order": "day_first"} | dict.fromkeys(second, "two"))
    assert Athlete.objects.filter(last_name="Thorn").count() == 2
    assert Athlete.objects.filter(last_name__in=["Hartly", "Hartley"]).count() == 2


def test_two_people_do_not_see_each_others_file(cast, as_member):
    upload(as_member(cast.director))
    client = as_member(cast.director)  # signed out and in again: another session
    assert client.get(reverse("athletes:roster_preview"))["Location"] == reverse("athletes:roster")


def test_a_second_file_takes_the_place_of_the_first(cast, as_member):
    client = as_member(cast.director)
    upload(client)
    waiting = Session.objects.count()
    upload(client, "Name,Born\nIda Fox,2019-03-04\n", name="other.csv")
    assert Session.objects.count() == waiting
    page = client.get(reverse("athletes:roster_preview")).content.decode()
    assert "Ida Fox" in page
    assert "Noor van Dijk" not in page


def test_a_file_can_be_forgotten(cast, as_member):
    client = as_member(cast.director)
    upload(client)
    waiting = Session.objects.count()
    client.post(reverse("athletes:roster_drop"))
    assert Session.objects.count() == waiting - 1
    assert client.get(reverse("athletes:roster_preview"))["Location"] == reverse("athletes:roster")
    assert Athlete.objects.count() == 3


@pytest.mark.parametrize(
    ("content", "reason"), [(b"%PDF-1.7", "not a spreadsheet"), (b"", "empty"), (b"PK\x03\x04", "damaged")]
)
def test_a_wrong_file_is_answered_with_422_and_a_reason(cast, as_member, content, reason):
    answer = upload(as_member(cast.director), content)
    assert answer.status_code == 422
    assert reason in answer.content.decode()


def test_the_command_looks_first_and_ends_with_1_when_a_line_waits(cast, tmp_path, capsys):
    path = tmp_path / "list.csv"
    path.write_text(LIST)
    with pytest.raises(SystemExit) as ended:
        call_command("importroster", path)
    assert ended.value.code == 1
    out = capsys.readouterr().out
    assert "problem  list, line 2: B2: '4/3/2019' can be 4 March 2019 or 3 April 2019" in out
    assert "Nothing was written" in out
    call_command("importroster", path, "--day-first")
    assert Athlete.objects.count() == 3
    call_command("importroster", path, "--day-first", "--apply")
    assert Athlete.objects.count() == 5
    call_command("importroster", path, "--day-first", "--apply")
    assert Athlete.objects.count() == 5
    assert "0 to add, 0 to change, 2 as they are, 0 lines to settle." in capsys.readouterr().out


def test_the_command_settles_a_near_spelling(cast, tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(f"Name,Born\nMia Adler,{cast.mia.born_on}\n")
    with pytest.raises(SystemExit):
        call_command("importroster", path, "--apply")
    assert Athlete.objects.count() == 3
    call_command("importroster", path, "--apply", "--two", "list:2")
    assert Athlete.objects.count() == 4


def test_the_command_says_when_a_file_cannot_be_read(cast, tmp_path):
    with pytest.raises(CommandError, match="cannot be opened"):
        call_command("importroster", tmp_path / "none.csv")
    (tmp_path / "list.pdf").write_bytes(b"%PDF-1.7")
    with pytest.raises(CommandError, match="not a spreadsheet"):
        call_command("importroster", tmp_path / "list.pdf")
