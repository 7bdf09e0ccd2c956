"""The start-up checks find a model that says nothing about privacy, or that leads to a child without a rule."""

from __future__ import annotations

import pytest

from athletes.models import Athlete, RestNote, RestNoteQuerySet
from club.checks import every_model_keeps_the_rules, leads_to_a_child
from club.models import ClubProfile, User


def test_our_models_keep_the_rules():
    assert every_model_keeps_the_rules() == []


@pytest.mark.parametrize("word", [None, "later"])
def test_a_model_without_a_privacy_word_is_found(monkeypatch, word):
    monkeypatch.setattr(ClubProfile, "privacy", word)
    assert [e.id for e in every_model_keeps_the_rules()] == ["groundwork.E001"]


def test_a_model_about_a_child_without_the_rule_is_found(monkeypatch):
    monkeypatch.delattr(RestNoteQuerySet, "visible_to")
    assert [e.id for e in every_model_keeps_the_rules()] == ["groundwork.E002"]


def test_what_leads_to_a_child():
    assert leads_to_a_child(Athlete) and leads_to_a_child(RestNote)
    assert not leads_to_a_child(User)
