"""Pictures for the screen: upright, in sRGB, without metadata, made by the worker only."""

import io

import numpy as np
import pytest
from django.core.files.storage import storages
from PIL import Image, ImageCms

from records.acting import acting_as
from records.intake import derivatives, recipes
from records.intake.decode import upright
from records.intake.originals import name_of
from records.intake.pictures import bring_in_picture
from records.intake.recipes import derived_size, is_made, open_derived
from records.jobs import _claim, perform
from records.models import Job, JobState, PictureToMake, Role
from tests import made_files as made
from tests.factory import make_member, make_season

# Stored [[1, 2, 3], [4, 5, 6]] upright, by orientation: computed with Pillow's exif_transpose,
# and as the Exif 2.32 table of Orientation describes rows and columns.
UPRIGHT = {
    1: [[1, 2, 3], [4, 5, 6]],
    2: [[3, 2, 1], [6, 5, 4]],
    3: [[6, 5, 4], [3, 2, 1]],
    4: [[4, 5, 6], [1, 2, 3]],
    5: [[1, 4], [2, 5], [3, 6]],
    6: [[4, 1], [5, 2], [6, 3]],
    7: [[6, 3], [5, 2], [4, 1]],
    8: [[3, 6], [2, 5], [1, 4]],
}
STORED = Image.fromarray(np.array(UPRIGHT[1], dtype=np.uint8) * 30)


def levels(picture: Image.Image) -> list[list[int]]:
    return (np.asarray(picture)[:, :, 0] / 30).round().astype(int).tolist()


@pytest.mark.parametrize("orientation", UPRIGHT)
def test_a_picture_is_turned_upright_once(orientation):
    png = io.BytesIO(made.encoded(STORED, "PNG"))

    assert levels(upright(png, "image/png", orientation)) == UPRIGHT[orientation]


@pytest.mark.parametrize("tag", UPRIGHT)
@pytest.mark.parametrize("orientation", [1, 3, 6])
def test_the_orientation_of_the_record_rules_over_a_tiffs_own(tag, orientation):
    block = Image.Exif()
    block[0x0112] = tag
    tiff = io.BytesIO(made.encoded(STORED, "TIFF", exif=block))

    assert levels(upright(tiff, "image/tiff", orientation)) == UPRIGHT[orientation]


SIXTEEN = Image.fromarray(np.full((8, 8), 0x8040, dtype=np.uint16))
FLOATS = Image.fromarray(np.linspace(-3, 3, 64, dtype=np.float32).reshape(8, 8))
GLASS = Image.new("RGBA", (8, 8), (255, 0, 0, 0))


@pytest.mark.parametrize(
    ("picture", "kind", "media_type", "mean"),
    [
        (SIXTEEN, "PNG", "image/png", 128),
        (SIXTEEN, "TIFF", "image/tiff", 128),
        (FLOATS, "TIFF", "image/tiff", 127),
        (GLASS, "PNG", "image/png", 255),  # on white paper
        (Image.new("CMYK", (8, 8), (0, 0, 0, 255)), "JPEG", "image/jpeg", 0),
        (Image.new("1", (8, 8), 1), "TIFF", "image/tiff", 255),
        (Image.new("P", (8, 8), 0), "PNG", "image/png", 0),
    ],
)
def test_every_kind_of_pixel_becomes_rgb(picture, kind, media_type, mean):
    shown = upright(io.BytesIO(made.encoded(picture, kind)), media_type, 1)

    assert shown.mode == "RGB"
    assert np.asarray(shown).mean() == pytest.approx(mean, abs=1.5)


def test_a_colour_profile_is_applied_and_a_senseless_one_left():
    grey = Image.new("L", (8, 8), 128)
    linear = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    with_profile = made.encoded(grey.convert("RGB"), "PNG", icc_profile=linear)
    senseless = made.encoded(grey.convert("RGB"), "PNG", icc_profile=b"no profile")

    for content in (with_profile, senseless):
        shown = upright(io.BytesIO(content), "image/png", 1)
        assert np.asarray(shown).mean() == pytest.approx(128, abs=1)
        assert shown.info == {}


def test_derived_sizes_keep_the_shape_and_never_grow():
    assert derived_size(6000, 4000, 1600) == (1600, 1067)
    assert derived_size(4000, 6000, 320) == (213, 320)
    assert derived_size(200, 100, 320) == (200, 100)
    assert derived_size(20_000, 3, 320) == (320, 1)


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def crew(season):
    with acting_as(make_member(season.site, Role.CREW).account):
        yield


def work_off() -> Job:
    job = Job.objects.get(kind="derivatives", state=JobState.WAITING)
    perform(_claim(str(job.pk)))
    job.refresh_from_db()
    return job


def brought(season, content, capture):
    with capture(execute=True):
        return bring_in_picture(season, io.BytesIO(content), "P0001.JPG")


@pytest.mark.django_db
def test_pictures_are_made_by_the_job_and_carry_nothing_of_the_camera(
    season, crew, django_capture_on_commit_callbacks
):
    content = made.jpeg(2400, 1800, seed=11, exif=made.exif_block(), comment=b"secret place")
    picture = brought(season, content, django_capture_on_commit_callbacks)
    assert not is_made(picture, "thumb")

    job = work_off()

    assert (job.state, job.done) == (JobState.DONE, 1)
    assert not PictureToMake.objects.exists()
    for recipe, size in (("screen", (1200, 1600)), ("thumb", (240, 320))):
        with open_derived(picture, recipe) as file, Image.open(file) as shown:
            assert shown.size == size
            assert shown.format == "JPEG"
            assert not shown.getexif()
            assert "comment" not in shown.info
    assert not is_made(picture, "large")


@pytest.mark.django_db
def test_one_job_waits_for_many_pictures(season, crew, django_capture_on_commit_callbacks):
    for seed in range(20, 24):
        brought(season, made.jpeg(seed=seed), django_capture_on_commit_callbacks)

    assert Job.objects.count() == 1
    assert work_off().done == 4


@pytest.mark.django_db
def test_what_cannot_be_made_is_said_and_holds_nobody_up(
    season, crew, django_capture_on_commit_callbacks
):
    bad = brought(season, made.jpeg(seed=30), django_capture_on_commit_callbacks)
    storages["default"].delete(name_of(bad.file.sha256))
    good = brought(season, made.jpeg(seed=31), django_capture_on_commit_callbacks)

    work_off()

    assert is_made(good, "thumb")
    row = PictureToMake.objects.get()
    assert (row.file, row.tries) == (bad.file, derivatives.TRIES)
    assert "not in its place" in row.words


@pytest.mark.django_db
def test_asked_again_nothing_is_made_twice(
    season, crew, monkeypatch, django_capture_on_commit_callbacks
):
    picture = brought(season, made.jpeg(seed=40), django_capture_on_commit_callbacks)
    work_off()
    monkeypatch.setattr(recipes, "_jpeg", lambda *_: pytest.fail("made twice"))

    with django_capture_on_commit_callbacks(execute=True):
        derivatives.want(picture)
    work_off()

    assert is_made(picture, "screen")


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_the_pool_makes_them_and_survives_a_picture_that_kills_a_process(
    season, crew, settings, monkeypatch
):
    settings.PICTURE_PROCESSES = 2
    pictures = [
        bring_in_picture(season, io.BytesIO(made.jpeg(seed=seed)), f"P{seed}.JPG")
        for seed in range(50, 58)
    ]
    deadly = pictures[3].file
    monkeypatch.setenv("DEADLY", deadly.sha256)
    monkeypatch.setattr("records.intake.pool.carry_out", _carry_out_or_die)

    work_off()

    assert [is_made(one, "thumb") for one in pictures].count(True) == 7
    row = PictureToMake.objects.get()
    assert row.file == deadly
    assert "could not be made" in row.words


def _carry_out_or_die(order) -> None:
    import os

    from records.intake.pool import carry_out

    if order.sha256 == os.environ["DEADLY"]:
        os._exit(1)
    carry_out(order)
