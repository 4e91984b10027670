"""A card's folder read on this machine, by command and by button."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from records.acting import acting_as
from records.intake import card_folder
from records.intake.card_folder import ask_to_read, listed_below
from records.jobs import _claim, perform
from records.models import Card, IncomingFrame, Job, JobState, Role, StoredFile
from records.queries.card_safety import card_safety
from records.refusals import Refused
from tests import made_files
from tests.factory import make_day, make_dive, make_member, make_season
from tests.factory_cards import begun_card, run_of_small_frames, shot


@pytest.fixture
def season(db):
    season = make_season()
    with acting_as(make_member(season.site, Role.LEAD, initials="TV").account):
        yield season


@pytest.fixture
def run(season):
    return run_of_small_frames(season, name="South rows")


@pytest.fixture
def dive(season):
    return make_dive(make_day(season))


@pytest.fixture
def folder(tmp_path):
    """Three frames in two folders, a raw file, and what a camera keeps beside them."""
    card = tmp_path / "card"
    (card / "DCIM" / "100").mkdir(parents=True)
    (card / "DCIM" / "101").mkdir()
    (card / "DCIM" / "100" / "P2.JPG").write_bytes(shot(1))
    (card / "DCIM" / "100" / "P1.JPG").write_bytes(shot(0))
    (card / "DCIM" / "101" / "P1.JPG").write_bytes(shot(2))
    (card / "DCIM" / "100" / "P1.DNG").write_bytes(made_files.raw())
    return card


def card_in(folder: Path, **options) -> str:
    told = StringIO()
    said = {"run": "South rows", "by": "tv"} | options
    call_command("card_in", str(folder), stdout=told, stderr=told, **said)
    return told.getvalue()


def test_a_folder_is_read_in_the_order_of_its_names_and_verified(run, dive, folder):
    told = card_in(folder, dive=dive.n)

    assert "4 files came in, 0 were here before." in told
    card = Card.objects.get()
    names = card.incoming.order_by("made_at").values_list("original_name", flat=True)
    assert list(names) == [
        "DCIM/100/P1.DNG",
        "DCIM/100/P1.JPG",
        "DCIM/100/P2.JPG",
        "DCIM/101/P1.JPG",
    ]
    assert "4 are not on the second copy yet" in told
    for file in StoredFile.objects.all():
        file.on_second_copy_at = timezone.now()
        file.save()
    assert "This card may be formatted" in card_in(folder, dive=dive.n)
    assert Card.objects.count() == 1
    assert IncomingFrame.objects.count() == 4


def test_what_is_no_picture_is_named_and_the_card_stays(run, dive, folder):
    (folder / "INDEX.BDM").write_bytes(b"a camera's own list" * 300)
    (folder / "EMPTY.JPG").write_bytes(b"")
    (folder / "LINK.JPG").symlink_to(folder / "DCIM" / "100" / "P1.JPG")
    told = card_in(folder, dive=dive.n)

    assert "Not taken in: INDEX.BDM: Whatever its name says" in told
    assert "Not taken in: EMPTY.JPG: This file is empty" in told
    assert "Not taken in: LINK.JPG: This is a link" in told
    assert "3 files of the card were not taken in" in told
    assert "may be formatted" not in told


def test_a_reading_cut_short_goes_on_where_it_was(run, dive, folder, monkeypatch):
    bring = card_folder.bring_in_card_file
    seen = []

    def broken(card, stream, key):
        if len(seen) == 2:
            raise KeyboardInterrupt
        seen.append(key.name)
        return bring(card, stream, key)

    monkeypatch.setattr(card_folder, "bring_in_card_file", broken)
    with pytest.raises(KeyboardInterrupt):
        card_in(folder, dive=dive.n)
    monkeypatch.setattr(card_folder, "bring_in_card_file", bring)

    assert "2 files came in, 2 were here before." in card_in(folder, dive=dive.n)


def test_the_command_says_what_it_does_not_find(season, run, dive, folder, tmp_path):
    wrong = [
        ({"run": "North rows"}, "no photo run called 'North rows'"),
        ({"dive": 99}, "no dive 99"),
        ({"by": "XX"}, "initials 'XX'"),
    ]
    for options, words in wrong:
        with pytest.raises(CommandError, match=words):
            card_in(folder, **{"dive": dive.n} | options)
    with pytest.raises(CommandError, match="Is the card in the machine"):
        card_in(tmp_path / "nothing", dive=dive.n)
    other = make_season(season.site)
    run_of_small_frames(other, name="South rows")
    with pytest.raises(CommandError, match="add --season"):
        card_in(folder, dive=dive.n)
    assert "4 files came in" in card_in(folder, dive=dive.n, season=season.code)


def test_two_names_that_cannot_be_told_apart_are_refused_before_any_file(run, dive, folder):
    long = "n" * 200
    (folder / f"{long}").mkdir()
    for middle in ("a", "b"):
        (folder / long / f"{'m' * 90}{middle}{'e' * 60}.JPG").write_bytes(shot(5))

    with pytest.raises(CommandError, match="cannot be told apart"):
        card_in(folder, dive=dive.n)
    assert StoredFile.objects.count() == 0


def test_a_folder_that_cannot_be_listed_whole_is_refused(folder, monkeypatch):
    def broken(path, onerror, followlinks):
        onerror(OSError("I/O error"))
        yield from ()

    monkeypatch.setattr(card_folder.os, "walk", broken)
    with pytest.raises(Refused, match="listed whole"):
        listed_below(folder)


def test_the_button_reads_only_folders_that_the_keeper_named(run, folder, settings, client):
    settings.CARD_FOLDERS = [str(folder)]
    card = begun_card(run)
    client.force_login(make_member(run.season.site, Role.CREW).account)
    page = reverse("card", args=[run.season.code, card.pk])
    url = reverse("card_read", args=[run.season.code, card.pk])

    assert "Read the card in this machine" in client.get(page).content.decode()
    refused = client.post(url, {"folder": "/etc"})
    assert refused.status_code == 422
    assert client.post(url, {"folder": str(folder)}).status_code == 303
    asked = Job.objects.get(kind="read_card")
    assert "Reading the card in this machine" in client.get(page).content.decode()
    perform(_claim(str(asked.pk)))

    asked.refresh_from_db()
    assert (asked.state, asked.result["new"]) == (JobState.DONE, 4)
    card.refresh_from_db()
    assert card_safety(card).held == 4
    assert card.incoming.first().made_by == asked.asked_by


def test_without_named_folders_there_is_no_button(run, client):
    card = begun_card(run)
    client.force_login(make_member(run.season.site, Role.CREW).account)
    page = client.get(reverse("card", args=[run.season.code, card.pk])).content.decode()

    assert "Read the card in this machine" not in page
    with pytest.raises(Refused, match="has not named"):
        ask_to_read(card, "/tmp")
