"""Pictures for the screen: upright, in sRGB, without metadata, made by the worker only."""

import io
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool

import numpy as np
import pytest
from django.core.files.storage import storages
from PIL import Image, ImageCms

from records.acting import acting_as
from records.intake import derivatives, recipes
from records.intake import pool as pool_module
from records.intake.codes import CODES, codes_of
from records.intake.decode import upright
from records.intake.measures import measures_of
from records.intake.originals import name_of
from records.intake.pictures import bring_in_picture
from records.intake.pool import Processes
from records.intake.recipes import derived_size, is_made, open_derived
from records.intake.wanted import want, want_codes
from records.jobs import _claim, ask, perform
from records.models import Job, JobState, PictureToMake, Role
from records.progress import Unseen
from tests import made_files as made
from tests.factory import make_member, make_season
from tests.factory_cards import arrive, begun_card, run_of_small_frames, shot
from tests.processes import wait_until

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
        want(picture)
    work_off()

    assert is_made(picture, "screen")


@pytest.mark.django_db
def test_a_frame_is_decoded_once_for_all_that_is_wanted_of_it(
    season, monkeypatch, django_capture_on_commit_callbacks
):
    opened = []
    monkeypatch.setattr(recipes, "upright", lambda *a, **k: opened.append(a) or upright(*a, **k))
    lead = make_member(season.site, Role.LEAD).account
    with acting_as(lead), django_capture_on_commit_callbacks(execute=True):
        card = begun_card(run_of_small_frames(season))
        frame = arrive(card, "P0001.JPG", shot(1))
    assert PictureToMake.objects.count() == 3

    work_off()

    assert len(opened) == 1
    assert is_made(frame.picture, "thumb")
    assert measures_of([frame.picture])
    assert codes_of([frame.picture]) == {frame.picture.pk: []}
    assert not PictureToMake.objects.exists()


@pytest.mark.django_db
def test_one_that_fails_leaves_the_rest_of_its_picture_as_it_is(
    season, crew, monkeypatch, django_capture_on_commit_callbacks
):
    picture = brought(season, made.jpeg(seed=41), django_capture_on_commit_callbacks)
    want_codes(picture)
    monkeypatch.setattr("records.intake.codes.find_markers", lambda _grey: 1 / 0)

    work_off()

    assert is_made(picture, "thumb")
    row = PictureToMake.objects.get()
    assert (row.recipes, row.tries) == (CODES, derivatives.TRIES)
    assert "could not be made" in row.words


@pytest.mark.django_db
def test_codes_that_nobody_waits_for_come_after_other_work(
    season, crew, django_capture_on_commit_callbacks
):
    """Of a picture of no card that comes in; `Processes` start none before they have work."""
    picture = brought(season, made.jpeg(seed=42), django_capture_on_commit_callbacks)
    want_codes(picture)
    making = derivatives._Making(Unseen(), Processes(1))
    wanted = PictureToMake.objects.all()
    assert [row.recipes for row in making._next(wanted)] == ["usual"]

    wanted.filter(recipes="usual").delete()
    assert [row.recipes for row in making._next(wanted)] == [CODES]
    assert not making._is_over(idle_s=0.0)

    ask("alike", site=None)  # what a card has so far is compared once it keeps one waiting
    assert [making._is_over(idle_s=idle_s) for idle_s in (0.0, 2.0)] == [False, True]

    ask("seen", site=None)  # a verdict waits for it
    assert making._next(wanted) == []
    assert making._is_over(idle_s=0.0)


def test_a_process_that_goes_down_takes_nothing_with_it_and_none_is_kept_for_long(monkeypatch):
    pools = []

    class _Pool:
        """As the standard library's behaves; of the first one a process goes down."""

        def __init__(self, *_how, **_also) -> None:
            self.given, self.is_shut = [], False
            pools.append(self)

        def submit(self, act, given):
            if len(pools) == 1 and 20 in self.given:
                raise BrokenProcessPool
            self.given.append(given)
            future = Future()
            future.set_exception(BrokenProcessPool()) if given == 20 else future.set_result(-given)
            return future

        def shutdown(self, **_how) -> None:
            self.is_shut = True

    monkeypatch.setattr(pool_module, "ProcessPoolExecutor", _Pool)
    monkeypatch.setattr(pool_module, "IDLE_S", 0.01)
    pool = Processes(2)

    with pool.in_use():
        assert list(pool.spread(int.__neg__, range(60), 60)) == [-n for n in range(60)]
        assert [one.is_shut for one in pools] == [True, False]
        assert pools[0].given + pools[1].given == list(range(60))
    wait_until(lambda: pools[1].is_shut)


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
    monkeypatch.setattr(derivatives, "carry_out", _carry_out_or_die)

    work_off()

    assert [is_made(one, "thumb") for one in pictures].count(True) == 7
    row = PictureToMake.objects.get()
    assert row.file == deadly
    assert "could not be made" in row.words


def _carry_out_or_die(order):
    import os

    from records.intake.orders import carry_out

    if order.sha256 == os.environ["DEADLY"]:
        os._exit(1)
    return carry_out(order)
