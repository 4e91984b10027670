"""The second copy: consistent, verified, told in words when it cannot be made."""

import datetime
import io
import shutil
import sqlite3
from pathlib import Path

import pytest
from django.core.files.storage import storages
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection  # noqa: F401 (in a condition)
from django.urls import reverse
from django.utils import timezone

from records.acting import acting_as
from records.archive import snapshot as snapshots
from records.archive.drive import OURS, Drive
from records.archive.second_copy import copy_to
from records.intake.originals import name_of
from records.intake.pictures import bring_in_picture
from records.jobs import _claim, perform
from records.models import Job, Picture, Role, SecondCopy, StoredFile
from records.progress import Unseen
from records.queries.copies import second_copy_reminder
from records.refusals import Refused
from tests import made_files as made
from tests.factory import make_member, make_season
from tests.processes import start, wait_until
from tests.small_disk import small_disk  # noqa: F401 (a fixture)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def files(settings, tmp_path):
    settings.DATA_FOLDER = tmp_path / "data"
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": "records.intake.storage.DurableStorage",
            "OPTIONS": {"location": str(tmp_path / "data" / "files")},
        }
    }
    (tmp_path / "data").mkdir()


@pytest.fixture
def season(files):
    return make_season()


@pytest.fixture
def pictures(season) -> list[Picture]:
    with acting_as(make_member(season.site, Role.CREW).account):
        return [
            bring_in_picture(season, io.BytesIO(made.jpeg(seed=seed)), f"P{seed}.JPG")
            for seed in range(100, 104)
        ]


@pytest.fixture
def drive(tmp_path) -> Path:
    place = tmp_path / "drive"
    place.mkdir()
    return place


def copied(drive: Path) -> SecondCopy:
    return copy_to(str(drive), Unseen())


def on(drive: Path, picture: Picture) -> Path:
    sha256 = picture.file.sha256
    return drive / OURS / "originals" / sha256[:2] / sha256


def leftovers(drive: Path) -> list[Path]:
    return list((drive / OURS / "in-progress").iterdir())


def test_database_and_originals_stand_on_the_drive(pictures, drive):
    row = copied(drive)

    assert (row.is_good, row.files_total, row.files_new) == (True, 4, 4)
    for picture in pictures:
        assert on(drive, picture).read_bytes() == made.jpeg(seed=int(picture.original_name[1:4]))
        picture.file.refresh_from_db()
        assert picture.file.on_second_copy_at is not None
    assert leftovers(drive) == []
    assert (drive / OURS / "READ ME.txt").exists()


@pytest.mark.skipif("connection.vendor != 'sqlite'")
def test_the_copied_database_is_whole_and_can_be_opened_alone(pictures, drive):
    copied(drive)

    (place,) = (drive / OURS / "database").iterdir()
    with sqlite3.connect(f"file:{place}?mode=ro&immutable=1", uri=True) as copy:
        assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert copy.execute("SELECT count(*) FROM records_picture").fetchone() == (4,)


@pytest.mark.skipif("connection.vendor != 'postgresql'")
def test_the_dump_holds_the_pictures(pictures, drive):
    copied(drive)

    (place,) = (drive / OURS / "database").iterdir()
    assert place.read_bytes().startswith(b"PGDMP")


def test_a_second_run_copies_only_what_is_new(season, pictures, drive):
    copied(drive)
    with acting_as(make_member(season.site, Role.CREW).account):
        bring_in_picture(season, io.BytesIO(made.jpeg(seed=110)), "P110.JPG")
    versions = list(StoredFile.objects.order_by("pk").values_list("version", flat=True))

    row = copied(drive)

    assert (row.files_total, row.files_new) == (5, 1)
    assert list(StoredFile.objects.order_by("pk").values_list("version", flat=True)) != versions
    assert StoredFile.objects.filter(version__gt=2).count() == 0


def test_a_copy_that_lost_bytes_is_replaced(pictures, drive):
    copied(drive)
    on(drive, pictures[0]).write_bytes(b"short")

    row = copied(drive)

    assert row.is_good
    assert "1 copy was damaged there and is replaced" in row.words
    assert on(drive, pictures[0]).read_bytes() == made.jpeg(seed=100)


def test_in_seven_runs_every_copy_is_read_back(pictures, drive):
    copied(drive)
    for picture in pictures:
        harmed = bytearray(on(drive, picture).read_bytes())
        harmed[-10] ^= 1  # the same length
        on(drive, picture).write_bytes(harmed)

    for _run in range(7):
        copied(drive)

    for seed, picture in enumerate(pictures, 100):
        assert on(drive, picture).read_bytes() == made.jpeg(seed=seed)


def test_a_damaged_original_is_told_and_not_copied_over_a_whole_one(pictures, drive):
    copied(drive)
    name = name_of(pictures[1].file.sha256)
    storages["default"].delete(name)
    storages["default"].save(name, io.BytesIO(b"x" * pictures[1].file.size_bytes))
    on(drive, pictures[1]).unlink()

    with pytest.raises(Refused, match=r"The original of P101.JPG is damaged"):
        copied(drive)

    assert not SecondCopy.objects.first().is_good
    assert not on(drive, pictures[1]).exists()
    assert leftovers(drive) == []


def test_a_missing_original_is_told_by_its_name(pictures, drive):
    storages["default"].delete(name_of(pictures[2].file.sha256))

    with pytest.raises(Refused, match=r"P102.JPG: .*not in its place"):
        copied(drive)

    assert on(drive, pictures[3]).exists()


@pytest.mark.parametrize("folder", ["", "relative/folder", "/no/such/folder"])
def test_a_wrong_folder_is_told(files, folder):
    with pytest.raises(Refused):
        copy_to(folder, Unseen())

    assert not SecondCopy.objects.exists()


def test_the_records_own_folder_is_refused(settings, files):
    inside = settings.DATA_FOLDER / "copy"
    inside.mkdir()

    for folder in (inside, settings.DATA_FOLDER):
        with pytest.raises(Refused, match="inside the record's own"):
            copy_to(str(folder), Unseen())
    assert list(inside.iterdir()) == []


def test_a_full_drive_is_told_and_holds_nothing_half_written(
    season,
    pictures,
    small_disk,  # noqa: F811
):
    with acting_as(make_member(season.site, Role.CREW).account):
        for seed in (1, 2):
            film = io.BytesIO(made.video(seed) + bytes(5_000_000 + seed))
            bring_in_picture(season, film, "M.MP4")

    with pytest.raises(Refused, match="drive of the second copy is full"):
        copied(small_disk)

    row = SecondCopy.objects.first()
    assert (row.is_good, "full" in row.words) == (False, True)
    assert leftovers(small_disk) == []
    kept = [place for place in (small_disk / OURS / "originals").rglob("*") if place.is_file()]
    known = dict(StoredFile.objects.values_list("sha256", "size_bytes"))
    assert all(known[place.name] == place.stat().st_size for place in kept)


def test_without_pg_dump_nothing_is_copied(pictures, drive, monkeypatch):
    monkeypatch.setattr(snapshots, "connection", type("C", (), {"vendor": "postgresql"}))
    monkeypatch.setattr(shutil, "which", lambda _name: None)

    with pytest.raises(Refused, match=r"pg_dump.*Nothing was copied"):
        copied(drive)

    assert not (drive / OURS / "originals").exists()


def test_by_command_it_says_how_it_went(pictures, drive, capsys):
    call_command("copy_to", str(drive))
    assert "4 originals stand in the folder" in capsys.readouterr().out

    with pytest.raises(CommandError, match="plugged in"):
        call_command("copy_to", "/no/such/folder")


@pytest.fixture
def other_drive(monkeypatch):
    """As if the test's folders lay on two drives."""
    monkeypatch.setattr(Drive, "is_the_same_drive", False)


def test_a_copy_on_the_same_drive_does_not_count_as_a_second_one(files, drive):
    row = copied(drive)

    assert row.is_good
    assert "does not help if that fails" in row.words
    assert "drive of the record itself" in second_copy_reminder()


def test_a_small_disk_is_another_drive(files, small_disk):  # noqa: F811
    assert not copied(small_disk).is_on_same_drive
    assert second_copy_reminder() == ""


def test_the_reminder_speaks_when_the_last_good_copy_is_older_than_a_day(files, drive, other_drive):
    assert "never copied" in second_copy_reminder()
    row = copied(drive)

    assert second_copy_reminder() == ""
    later = row.finished_at + datetime.timedelta(hours=25)
    assert "1\xa0day old" in second_copy_reminder(later)
    SecondCopy(folder="/x", finished_at=later, is_good=False).save()
    assert second_copy_reminder(later) != ""


def test_the_director_asks_on_the_page_and_others_do_not(
    season, pictures, drive, other_drive, client
):
    page = reverse("copies", args=[season.code])
    client.force_login(make_member(season.site, Role.LEAD).account)
    assert client.get(page).status_code == 403
    director = make_member(season.site, Role.DIRECTOR).account
    client.force_login(director)

    wrong = client.post(page, {"folder": "/no/such/folder"})
    right = client.post(page, {"folder": str(drive)})

    assert (wrong.status_code, right.status_code) == (422, 303)
    assert "plugged in" in wrong.content.decode()
    assert "being copied" in client.get(page).content.decode()
    perform(_claim(str(Job.objects.get(kind="second_copy").pk)))
    shown = client.get(page).content.decode()
    assert "4 originals stand in the folder" in shown
    assert "A good copy" in shown
    assert SecondCopy.objects.get().made_by == director


def test_on_a_server_only_named_folders_are_written(season, drive, settings, client):
    settings.ON_SERVER = True
    settings.SECOND_COPY_FOLDERS = ["/srv/copy"]
    client.force_login(make_member(season.site, Role.DIRECTOR).account)

    answer = client.post(reverse("copies", args=[season.code]), {"folder": str(drive)}, secure=True)

    assert answer.status_code == 422
    assert not Job.objects.exists()
    assert list(drive.iterdir()) == []


COPIER = """
    from django.core.management import call_command
    print("begin", flush=True)
    call_command("copy_to", sys.argv[1])
"""


@pytest.mark.slow
def test_killed_in_the_middle_the_next_run_makes_it_whole(season, drive, settings, other_drive):
    with acting_as(make_member(season.site, Role.CREW).account):
        films = [
            bring_in_picture(season, io.BytesIO(made.video(n) + bytes(9_000_000)), f"M{n}.MP4")
            for n in range(8)
        ]
    env = {"DATA_FOLDER": str(settings.DATA_FOLDER)}
    for _attempt in range(3):
        child = start(COPIER, str(drive), env=env)
        child.stdout.readline()
        wait_until((drive / OURS / "originals").exists)
        child.kill()
        child.communicate()
        for film in films:
            if on(drive, film).exists():
                assert on(drive, film).stat().st_size == film.file.size_bytes

    assert copied(drive).is_good
    assert all(on(drive, film).exists() for film in films)
    assert second_copy_reminder(timezone.now()) == ""
