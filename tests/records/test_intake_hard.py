"""Intake when the disk is really full, the process is really killed, or two are really at once."""

import hashlib
import io
import json
import random
import subprocess
import time
from pathlib import Path

import pytest
from django.core.files.storage import storages

from records.acting import acting_as
from records.intake.arrival import NoRoom
from records.intake.originals import keep, kept_digests, name_of
from records.intake.pictures import bring_in_picture
from records.models import Picture, Role, StoredFile
from records.refusals import Refused
from tests import made_files as made
from tests.factory import make_member, make_season
from tests.racing import Copied, race
from tests.small_disk import MEGABYTES, small_disk, use_folder  # noqa: F401 (a fixture)


def files_below(folder: Path) -> list[Path]:
    return [place for place in folder.rglob("*") if place.is_file()]


def long_video(megabytes: int, seed: int = 1) -> bytes:
    return made.video(seed) + random.Random(seed).randbytes(megabytes * 1_000_000)


def test_a_full_disk_is_said_and_nothing_half_written_stays(settings, small_disk):  # noqa: F811
    use_folder(settings, small_disk)
    settings.DISK_RESERVE_BYTES = 0
    first = keep(io.BytesIO(long_video(MEGABYTES // 2)))

    with pytest.raises(NoRoom, match=r"full.*was not kept.*send the file again"):
        keep(io.BytesIO(long_video(MEGABYTES + 1, seed=2)))

    assert [place.name for place in files_below(small_disk)] == [first.sha256]
    assert keep(io.BytesIO(made.jpeg())).is_new


def test_a_disk_nearly_full_is_left_to_the_database(settings, small_disk):  # noqa: F811
    use_folder(settings, small_disk)
    settings.DISK_RESERVE_BYTES = MEGABYTES * 1_000_000 // 2

    with pytest.raises(NoRoom):
        keep(io.BytesIO(long_video(MEGABYTES - 2)))

    assert files_below(small_disk) == []


def test_a_storage_on_another_drive_gets_a_whole_copy(settings, small_disk, tmp_path):  # noqa: F811
    use_folder(settings, tmp_path)
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": "records.intake.storage.DurableStorage",
            "OPTIONS": {"location": str(small_disk)},
        }
    }
    settings.DISK_RESERVE_BYTES = 0
    content = long_video(2)

    kept = keep(io.BytesIO(content))

    with storages["default"].open(name_of(kept.sha256)) as original:
        assert original.read() == content
    with pytest.raises(NoRoom):
        keep(io.BytesIO(long_video(MEGABYTES + 1, seed=2)))
    assert len(files_below(small_disk)) == 1
    assert files_below(tmp_path / "incoming") == []


def test_a_folder_that_cannot_be_written_is_said(settings, small_disk):  # noqa: F811
    use_folder(settings, small_disk)
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)

    with pytest.raises(Refused, match="cannot write into its files folder"):
        keep(io.BytesIO(made.jpeg()))


WHOLE = [
    made.jpeg(exif=made.exif_block()),
    made.jpeg(progressive=True),
    made.png(),
    made.tiff(),
    made.tiff(compression="tiff_lzw"),
    made.tiff(compression="jpeg"),
    made.heic(),
    made.raw(),
]


def harmed(content: bytes, chance: random.Random) -> bytes:
    """A few bytes changed, lost or put in, most of them where the headers are."""
    harmed = bytearray(content)
    for _harm in range(chance.randint(1, 6)):
        at = chance.randrange(min(len(harmed), chance.choice([64, 400, len(harmed)])))
        match chance.randrange(4):
            case 0:
                harmed[at] = chance.choice([0, 255, 0x7F, 0x80])
            case 1:
                harmed[at : at + 4] = chance.choice([b"\xff" * 4, bytes(4), b"\0\0\0\x80"])
            case 2:
                del harmed[at : at + chance.randint(1, 50)]
            case 3:
                harmed[at:at] = chance.randbytes(chance.randint(1, 40))
    return bytes(harmed)


@pytest.mark.slow
def test_whatever_harm_was_done_to_a_file_it_is_kept_or_refused_in_words(settings, tmp_path):
    use_folder(settings, tmp_path)
    chance = random.Random(31)
    refused: list[str] = []
    for _file in range(600):
        content = harmed(chance.choice(WHOLE), chance)
        try:
            kept = keep(io.BytesIO(content))
        except Refused as refusal:
            refused.append(refusal.words)
        else:
            assert kept.sha256 == hashlib.sha256(content).hexdigest()

    assert len(refused) > 100
    assert all("othing was kept" in words or "is empty" in words for words in refused)
    assert files_below(tmp_path / "incoming") == []
    for place in files_below(tmp_path / "files"):
        assert hashlib.sha256(place.read_bytes()).hexdigest() == place.name


KEEPER = """
    import io, json, time
    from pathlib import Path
    from django.conf import settings
    from records.intake.originals import keep
    from tests.small_disk import use_folder

    use_folder(settings, Path(sys.argv[2]))

    class Slow(io.BytesIO):
        def read(self, size=-1, /):
            time.sleep(0.002)
            return super().read(200_000)

    for place in sorted(Path(sys.argv[1]).iterdir()):
        print("begin", flush=True)
        kept = keep(Slow(place.read_bytes()), name=place.name)
        print(json.dumps([place.name, kept.sha256]), flush=True)
"""


@pytest.mark.slow
def test_killed_at_any_moment_what_was_acknowledged_is_there_and_the_rest_can_be_sent_again(
    settings, tmp_path
):
    card, data = tmp_path / "card", tmp_path / "data"
    card.mkdir()
    for seed in range(12):
        content = long_video(6, seed) if seed % 2 else made.jpeg(900, 600, seed=seed)
        (card / f"P{seed:04d}").write_bytes(content)
    moments = random.Random(7)
    journal: dict[str, str] = {}
    for _moment in range(10):
        child = Copied(KEEPER, str(card), str(data))
        assert child.stdout.readline() == "begin\n"
        time.sleep(moments.uniform(0.0, 0.6))
        child.kill()
        said = child.communicate()[0].splitlines()
        journal |= dict(json.loads(line) for line in said if line.startswith("["))
        _everything_kept_is_whole(data)
    use_folder(settings, data)

    assert set(journal.values()) <= set(kept_digests())
    again = {place.name: keep(io.BytesIO(place.read_bytes())).sha256 for place in card.iterdir()}
    assert journal.items() <= again.items()
    assert set(kept_digests()) == set(again.values())


def _everything_kept_is_whole(data: Path) -> None:
    for place in files_below(data / "files"):
        if place.suffix != ".part":
            assert hashlib.sha256(place.read_bytes()).hexdigest() == place.name


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_two_tablets_at_once_make_one_original_and_one_picture_a_site(tmp_path):
    place = tmp_path / "P0001.JPG"
    place.write_bytes(made.jpeg(1600, 1200, seed=77))
    site_one, site_two = make_season(), make_season()
    tablets = [
        (place, season.pk, make_member(season.site, Role.CREW).account.pk)
        for season in (site_one, site_two) * 4
    ]

    said = race("tests.racers:bring_in", tablets)

    assert len(set(said[0::2])) == len(set(said[1::2])) == 1
    assert Picture.objects.count() == 2
    assert StoredFile.objects.count() == 1
    assert [row.history.count() for row in Picture.objects.all()] == [1, 1]


@pytest.mark.django_db
def test_a_full_disk_leaves_no_row(settings, small_disk):  # noqa: F811
    use_folder(settings, small_disk)
    settings.DISK_RESERVE_BYTES = 0
    season = make_season()
    with acting_as(make_member(season.site, Role.CREW).account), pytest.raises(NoRoom):
        bring_in_picture(season, io.BytesIO(long_video(MEGABYTES + 1)), "M0001.MP4")

    assert not Picture.objects.exists()
    assert not StoredFile.objects.exists()
