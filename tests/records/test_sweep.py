"""Files without a row, rows without a file, and what cut-off arrivals left behind."""

import datetime
import io
import os
import time

import pytest
from django.core.files.storage import storages
from django.core.management import call_command
from django.core.management.base import CommandError
from django.urls import reverse
from django.utils import timezone

from records.acting import acting_as
from records.intake.originals import keep, name_of
from records.intake.pictures import bring_in_picture
from records.intake.sweep import sweep
from records.jobs import _claim, perform
from records.models import Job, Role
from records.progress import Unseen
from records.verbs.pictures import pair_raw, take_in_file
from tests import made_files as made
from tests.factory import make_member, make_season

pytestmark = pytest.mark.django_db
DAY = datetime.timedelta(days=1)
STORAGES = {
    "durable": "records.intake.storage.DurableStorage",
    "without paths": "django.core.files.storage.InMemoryStorage",
}


@pytest.fixture(params=STORAGES)
def season(request, settings, tmp_path):
    settings.DATA_FOLDER = tmp_path
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": STORAGES[request.param],
            "OPTIONS": {"location": str(tmp_path / "files")},
        }
    }
    return make_season()


@pytest.fixture
def pictures(season):
    with acting_as(make_member(season.site, Role.CREW).account):
        yield [
            bring_in_picture(season, io.BytesIO(made.jpeg(seed=seed)), f"P{seed}.JPG")
            for seed in range(3)
        ]


def tomorrow() -> datetime.datetime:
    return timezone.now() + DAY + datetime.timedelta(minutes=1)


def test_all_is_well(pictures):
    found = sweep(Unseen(), tomorrow())

    assert found.is_well
    assert found.originals == 3


def test_what_does_not_match_is_told_and_stays_as_it_is(season, pictures):
    storage = storages["default"]
    storage.delete(name_of(pictures[0].file.sha256))
    short = name_of(pictures[1].file.sha256)
    storage.delete(short)
    storage.save(short, io.BytesIO(b"short"))
    stray = keep(io.BytesIO(made.jpeg(seed=9)))
    raw = take_in_file(season, keep(io.BytesIO(made.raw(1))))
    pair_raw(season, pictures[2], raw)
    take_in_file(season, keep(io.BytesIO(made.raw(2))))

    found = sweep(Unseen(), tomorrow())

    assert found.missing_names == ["P0.JPG", "P1.JPG"]
    assert found.without_row_digests == [stray.sha256]
    assert found.without_picture == 1
    assert storage.exists(name_of(stray.sha256))
    assert storage.size(short) == 5


def test_what_came_in_today_is_given_time(season, pictures):
    keep(io.BytesIO(made.jpeg(seed=9)))
    take_in_file(season, keep(io.BytesIO(made.raw(2))))

    assert sweep(Unseen()).is_well


def test_only_old_leftovers_of_cut_off_arrivals_are_removed(season, pictures, tmp_path):
    old, young = tmp_path / "incoming" / "old.part", tmp_path / "incoming" / "young.part"
    for place in (old, young):
        place.write_bytes(b"half")
    two_days_ago = time.time() - 2 * 86_400
    os.utime(old, (two_days_ago, two_days_ago))

    found = sweep(Unseen())

    assert found.leftovers_removed == 1
    assert (old.exists(), young.exists()) == (False, True)
    storages["default"].save("parts/cut-off.part", io.BytesIO(b"half"))
    assert sweep(Unseen(), tomorrow()).leftovers_removed == 2


def test_by_command_and_on_the_directors_page(season, pictures, client, capsys):
    call_command("sweep")
    assert "3 originals are recorded" in capsys.readouterr().out
    storages["default"].delete(name_of(pictures[0].file.sha256))
    with pytest.raises(CommandError, match="Tell the director"):
        call_command("sweep")
    client.force_login(make_member(season.site, Role.DIRECTOR).account)

    assert client.post(reverse("sweep", args=[season.code])).status_code == 303
    perform(_claim(str(Job.objects.get(kind="sweep").pk)))

    page = client.get(reverse("copies", args=[season.code])).content.decode()
    assert "1 original is not in its place" in page
    assert "P0.JPG" in page
