"""Originals and pictures taken in, on the shed's own storage and on one without paths."""

import datetime
import hashlib
import io
import json
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.storage import storages
from PIL import Image

from records.acting import acting_as
from records.intake.originals import (
    keep,
    kept_digests,
    name_of,
    open_original,
    verify_original,
)
from records.intake.pictures import bring_in_picture
from records.models import Picture, PictureToMake, Role, SeasonEvent, StoredFile
from records.refusals import Closed, Refused
from records.verbs.pictures import pair_raw, take_in_file, take_in_picture, turn_picture
from tests import made_files as made
from tests.factory import make_member, make_season

pytestmark = pytest.mark.django_db

STORAGES = {
    "durable": "records.intake.storage.DurableStorage",
    "without paths": "django.core.files.storage.InMemoryStorage",
}


@pytest.fixture(params=STORAGES)
def storage(request, settings, tmp_path):
    options = {"location": str(tmp_path / "files")}
    settings.DATA_FOLDER = tmp_path
    settings.STORAGES = settings.STORAGES | {
        "default": {"BACKEND": STORAGES[request.param], "OPTIONS": options}
    }
    return storages["default"]


@pytest.fixture
def season(storage):
    return make_season(zone="Europe/Lisbon")


@pytest.fixture
def crew(season):
    with acting_as(make_member(season.site, Role.CREW).account):
        yield


def bring(season, content: bytes, name: str = "P0001.JPG", **described) -> Picture:
    return bring_in_picture(season, io.BytesIO(content), name, **described)


def nothing_was_kept(settings) -> bool:
    incoming = settings.DATA_FOLDER / "incoming"
    left = list(incoming.iterdir()) if incoming.exists() else []
    return not left and not list(kept_digests()) and not StoredFile.objects.exists()


def test_an_original_lies_under_its_digest_byte_for_byte(season, crew):
    content = made.jpeg()

    picture = bring(season, content)

    assert picture.file.sha256 == hashlib.sha256(content).hexdigest()
    with open_original(picture.file) as original:
        assert original.read() == content
    assert verify_original(picture.file)
    assert list(kept_digests()) == [picture.file.sha256]


@pytest.mark.parametrize(
    ("content", "media_type"),
    [
        (made.jpeg(), "image/jpeg"),
        (made.jpeg(progressive=True), "image/jpeg"),
        (made.png(), "image/png"),
        (made.tiff(), "image/tiff"),
        (made.tiff(compression="tiff_lzw"), "image/tiff"),
        (made.heic(), "image/heic"),
    ],
)
def test_pictures_are_recognised_by_content_and_measured(season, crew, content, media_type):
    picture = bring(season, content, name="no extension at all")

    file = picture.file
    assert (file.media_type, file.width_px, file.height_px) == (media_type, 64, 48)
    assert file.size_bytes == len(content)


def test_a_picture_of_one_pixel_is_a_picture(season, crew):
    assert bring(season, made.jpeg(1, 1)).file.width_px == 1


@pytest.mark.parametrize(
    ("content", "media_type"), [(made.raw(), "image/x-raw"), (made.video(), "video/mp4")]
)
def test_raw_files_and_videos_are_kept_untouched_and_not_shown(season, crew, content, media_type):
    picture = bring(season, content, name="P0001.JPG")

    assert picture.file.media_type == media_type
    assert not picture.file.is_shown
    assert not PictureToMake.objects.exists()
    with open_original(picture.file) as original:
        assert original.read() == content


def test_a_raw_file_built_like_a_tiff_says_when_it_was_taken(season, crew):
    block = made.exif_block()
    block[50706] = b"\x01\x04\x00\x00"  # DNGVersion
    content = block.tobytes().removeprefix(b"Exif\0\0") + bytes(9000)

    picture = bring(season, content, name="P0001.DNG")

    assert picture.file.media_type == "image/x-raw"
    assert picture.exif["model"] == "Pelagia 24"
    assert picture.taken_at == datetime.datetime(2031, 6, 10, 7, 15, 2, 250_000, datetime.UTC)


HTML = b"<!doctype html><script>alert(1)</script>" + b" " * 5000
BAD = {
    "empty": (b"", "empty"),
    "cut off": (made.jpeg(400, 300)[:-2000], "breaks off"),
    "cut off, filled up with zeros": (made.jpeg(400, 300)[:-9000] + bytes(9000), "breaks off"),
    "one byte of a picture": (b"\xff", "none of the files"),
    "only a signature": (b"\xff\xd8\xff", "damaged"),
    "a page": (HTML, "none of the files"),
    "a page, then a picture": (HTML + made.jpeg(), "none of the files"),
    "a program": (b"MZ" + bytes(5000), "none of the files"),
    "a document": (b"%PDF-1.7\n" + bytes(5000), "Drop it under Scans"),
    "text": (b"hello", "none of the files"),
    "announces 50,000 × 50,000 (PNG)": (made.png_header(50_000, 50_000), "million pixels"),
    "announces 50,000 × 50,000 (JPEG)": (made.jpeg_header(50_000, 50_000), "million pixels"),
    "announces 16,000 × 12,000 and holds nothing": (made.png_header(16_000, 12_000), "breaks off"),
    "a strip beyond the end": (
        made.tiff_of(
            (256, 4, 1, 64),
            (257, 4, 1, 48),
            (258, 3, 1, 8),
            (259, 3, 1, 1),
            (262, 3, 1, 1),
            (273, 4, 1, 0x7FFFFFF0),
            (278, 4, 1, 48),
            (279, 4, 1, 3072),
        ),
        "Nothing was kept",
    ),
    "a tag with four thousand million values": (
        made.tiff_of((256, 4, 0xFFFFFFFF, 8), (257, 4, 1, 48), (273, 4, 0xFFFFFFFF, 8)),
        "Nothing was kept",
    ),
    "a width of nothing": (
        made.tiff_of((256, 4, 1, 0), (257, 4, 1, 0), (262, 3, 1, 1), (273, 4, 1, 8)),
        "Nothing was kept",
    ),
    "directories in a ring": (made.tiff_of((256, 4, 1, 64), following=8), "Nothing was kept"),
    "a picture format that is not taken in": (made.encoded(made.pixels(), "GIF"), "none of"),
    "broken in the middle (PNG)": (
        made.png(200, 200)[:3000] + b"\0" * 50 + made.png(200, 200)[3050:],
        "damaged",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_files_are_refused_in_words_and_leave_nothing(season, crew, settings, case):
    content, words = BAD[case]

    with pytest.raises(Refused, match=words):
        bring(season, content)

    assert nothing_was_kept(settings)


def test_a_renamed_file_is_what_its_content_says(season, crew):
    assert bring(season, made.png(), name="P0001.tif").file.media_type == "image/png"
    assert bring(season, made.raw(), name="P0001.tif").file.media_type == "image/x-raw"
    assert bring(season, made.tiff(), name="P0001.NEF").file.media_type == "image/tiff"


def test_a_picture_with_something_behind_it_is_kept_and_said(season, crew):
    picture = bring(season, made.jpeg() + b"PK\x03\x04" + HTML)

    assert picture.file.media_type == "image/jpeg"
    assert "5044 bytes follow the end" in picture.exif["notes"][0]


def test_limits_on_bytes_have_their_words(season, crew, settings):
    settings.PICTURE_BYTES_MAX = 5000
    settings.VIDEO_BYTES_MAX = 8000

    with pytest.raises(Refused, match="larger than"):
        bring(season, made.jpeg(400, 300))
    with pytest.raises(Refused, match="larger than"):
        bring(season, made.video())
    assert nothing_was_kept(settings)


def test_too_many_pages_have_their_words(season, crew, settings):
    page = Image.new("1", (8, 8))
    content = made.encoded(page, "TIFF", save_all=True, append_images=[page] * 100)

    with pytest.raises(Refused, match="101 pages"):
        bring(season, content)
    assert nothing_was_kept(settings)


def test_a_second_page_is_decoded_too(season, crew, settings):
    second = made.pixels(seed=2)
    content = bytearray(made.encoded(made.pixels(), "TIFF", save_all=True, append_images=[second]))

    with pytest.raises(Refused, match="Nothing was kept"):
        bring(season, bytes(content[:-4000]))
    assert nothing_was_kept(settings)


def test_what_did_not_arrive_whole_is_not_kept(season, crew, settings):
    class Breaking(io.BytesIO):
        def read(self, size=-1, /):
            if self.tell():
                raise OSError("connection reset")
            return super().read(1000)

    with pytest.raises(Refused, match="send it again"):
        bring(season, made.video(), size_bytes=10**6)
    with pytest.raises(Refused, match="send it again"):
        bring_in_picture(season, Breaking(made.video()), "M0001.MP4")
    assert nothing_was_kept(settings)


def test_the_same_file_twice_is_one_original_and_one_picture(season, crew, storage):
    first = bring(season, made.jpeg(), name="P0001.JPG")

    assert bring(season, made.jpeg(), name="copy of it.jpg") == first
    other = make_season()
    with acting_as(make_member(other.site, Role.CREW).account):
        elsewhere = bring(other, made.jpeg())
    assert elsewhere != first
    assert elsewhere.file == first.file
    assert len(list(kept_digests())) == 1


def test_a_kept_original_is_never_written_over(season, crew, storage):
    picture = bring(season, made.jpeg())
    name = name_of(picture.file.sha256)
    storage.delete(name)
    storage.save(name, io.BytesIO(b"harmed"))

    with pytest.raises(Refused, match="the kept one is damaged"):
        bring(season, made.jpeg())

    with storage.open(name) as still:
        assert still.read() == b"harmed"
    assert not verify_original(picture.file)


def test_a_missing_original_is_said_in_words(season, crew, storage):
    picture = bring(season, made.jpeg())
    storage.delete(name_of(picture.file.sha256))

    with pytest.raises(Refused, match="not in its place"):
        open_original(picture.file)


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd", "../../etc/passwd"),
        ('a "quoted" name.jpg', 'a "quoted" name.jpg'),
        ("two\r\nlines.jpg", "two␍␊lines.jpg"),
        ("wreck 🐙 Tür.jpg", "wreck 🐙 Tür.jpg"),
        ("nul\0.jpg", "nul␀.jpg"),
        ("gpj.\u202eexe", "gpj.<U+202E>exe"),
        ("lost \udcff.jpg", "lost <U+DCFF>.jpg"),
        ("", "?"),
        ("x" * 400 + ".jpg", "x" * 214 + "…" + "x" * 36 + ".jpg"),
    ],
)
def test_names_are_text_and_never_a_path(season, crew, settings, name, kept):
    picture = bring(season, made.jpeg(), name=name)

    picture.refresh_from_db()
    assert picture.original_name == kept
    assert list(kept_digests()) == [picture.file.sha256]
    assert not list((settings.DATA_FOLDER / "incoming").iterdir())


def test_what_the_camera_wrote_is_read(season, crew):
    picture = bring(season, made.jpeg(exif=made.exif_block()))

    assert picture.orientation == 6
    assert picture.upright_size_px == (48, 64)
    assert picture.taken_at == datetime.datetime(2031, 6, 10, 7, 15, 2, 250_000, datetime.UTC)
    assert picture.exif == {
        "taken_local": "2031-06-10T09:15:02.250000",
        "offset": "+02:00",
        "orientation": 6,
        "make": "Pelagia",
        "model": "Pelagia 24",
        "exposure_s": 0.008,
        "f_number": 5.6,
        "iso": 400,
        "focal_length_mm": 24.0,
        "notes": [],
    }


def test_without_an_offset_the_camera_clock_is_the_seasons(season, crew):
    picture = bring(season, made.jpeg(exif=made.exif_block(OffsetTimeOriginal=None)))

    lisbon = ZoneInfo("Europe/Lisbon")  # one hour before UTC in June
    assert picture.taken_at == datetime.datetime(2031, 6, 10, 9, 15, 2, 250_000, lisbon)


@pytest.mark.parametrize(
    "details",
    [
        {"DateTimeOriginal": "2031:13:45 99:00:00"},
        {"DateTimeOriginal": "yesterday\x07"},
        {"OffsetTimeOriginal": "+99:99"},
        {"ExposureTime": (0, 0)},
        {"FNumber": (1, 0)},
        {"FocalLength": (0, 7)},
    ],
)
def test_nonsense_from_the_camera_is_tolerated_and_said(season, crew, details):
    picture = bring(season, made.jpeg(exif=made.exif_block(**details)))

    picture.refresh_from_db()
    assert len(picture.exif["notes"]) == 1
    assert "makes no sense" in picture.exif["notes"][0]
    json.dumps(picture.exif, allow_nan=False)


def test_an_unset_clock_and_a_torn_block_do_no_harm(season, crew):
    unset = bring(
        season, made.jpeg(seed=2, exif=made.exif_block(DateTimeOriginal="0000:00:00 00:00:00"))
    )
    torn = bring(season, made.jpeg(seed=3, exif=b"Exif\0\0MM\0*\xff\xff\xff\xff"))

    assert unset.taken_at is None
    assert torn.taken_at is None
    assert torn.orientation == 1


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_tiffs_size_is_the_stored_one(season, crew, orientation):
    block = Image.Exif()
    block[0x0112] = orientation

    picture = bring(season, made.tiff(exif=block))

    assert (picture.file.width_px, picture.file.height_px) == (64, 48)
    assert picture.orientation == orientation


def test_a_raw_file_is_paired_with_its_picture(season, crew):
    picture = bring(season, made.jpeg())
    raw = take_in_file(season, keep(io.BytesIO(made.raw()), name="P0001.NEF"))

    pair_raw(season, picture, raw)
    pair_raw(season, picture, raw)

    picture.refresh_from_db()
    assert picture.raw_file == raw
    other = take_in_file(season, keep(io.BytesIO(made.raw(2))))
    with pytest.raises(Refused, match="another raw file"):
        pair_raw(season, picture, other)


def test_a_set_ups_orientation_overrides_the_cameras_and_can_be_turned(season, crew):
    picture = bring(season, made.jpeg(exif=made.exif_block()), orientation=1)
    assert picture.orientation == 1

    turned = turn_picture(season, picture, 3, seen_version=picture.version)

    assert turned.orientation == 3
    assert {row.orientation for row in PictureToMake.objects.all()} == {1, 3}


def test_who_may_not_is_refused_before_anything_is_written(season, settings):
    with acting_as(make_member(season.site, Role.READER).account), pytest.raises(PermissionDenied):
        bring(season, made.jpeg())
    with acting_as(make_member(season.site, Role.DIRECTOR).account):
        SeasonEvent.objects.create(season=season, kind="deposited", reason="done")
        with pytest.raises(Closed):
            bring(season, made.jpeg())
        kept = keep(io.BytesIO(made.jpeg()))
        with pytest.raises(Closed):
            take_in_picture(season, kept, "P0001.JPG")

    assert not Picture.objects.exists()
