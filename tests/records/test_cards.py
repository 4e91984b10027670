"""Cards come in file by file: what is the same file, what is turned, what is refused."""

from uuid import uuid4

import pytest

from records.intake.card_files import held
from records.models import CardFileRole, IncomingFrame, Picture, StoredFile
from records.refusals import Conflict, Refused
from records.verbs.acceptance import accept_card
from records.verbs.cards import begin_card, edit_card, note_listing, set_card_aside
from tests import made_files
from tests.factory import make_day, make_dive, make_diver, make_season
from tests.factory_cards import (
    arrive,
    arrive_all,
    begun_card,
    key_of,
    run_of_small_frames,
    set_up_of_small_frames,
    shot,
)


@pytest.fixture
def card(season):
    return begun_card(run_of_small_frames(season))


def test_a_card_is_begun_once_and_of_one_season(season):
    run, dive, key = run_of_small_frames(season), make_dive(make_day(season)), uuid4()
    card = begin_card(run, dive, key)

    assert begin_card(run, dive, key) == card
    with pytest.raises(Refused, match="another season"):
        begin_card(run, make_dive(make_day(make_season())), uuid4())
    with pytest.raises(Refused, match="another site"):
        begin_card(run, dive, uuid4(), photographer=make_diver(make_season().site))


def test_a_file_sent_twice_is_one_row_one_picture_one_original(card):
    first = arrive(card, "A.JPG", shot(0))

    assert arrive(card, "A.JPG", shot(0)) == first
    assert Picture.objects.count() == StoredFile.objects.count() == 1
    assert held(card) == {key_of("A.JPG", shot(0))}


def test_another_machine_may_read_another_time_from_the_card(card):
    first = arrive(card, "A.JPG", shot(0), modified_ms=1)
    again = arrive(card, "A.JPG", shot(0), modified_ms=3_600_001)

    assert again == first
    assert held(card) == {key_of("A.JPG", shot(0), 3_600_001)}


def test_other_content_under_the_same_name_size_and_time_is_told(card):
    arrive(card, "A.JPG", _of_length(5000, seed=1))

    with pytest.raises(Conflict, match="other content"):
        arrive(card, "A.JPG", _of_length(5000, seed=2))


def _of_length(size: int, seed: int) -> bytes:
    """A picture of exactly this many bytes: what follows a JPEG's end is kept as it came."""
    picture = made_files.jpeg(8, 8, seed=seed)
    return picture + b"\0" * (size - len(picture))


def test_the_same_bytes_under_two_names_are_two_rows_and_one_picture(card):
    arrive(card, "100/A.JPG", shot(0))
    arrive(card, "A.JPG", shot(0))

    assert card.incoming.count() == 2
    assert Picture.objects.count() == 1


def test_a_tower_frame_is_turned_as_its_set_up_says_not_as_the_camera_noted(season):
    set_up = set_up_of_small_frames(season, orientation=3)
    card = begun_card(run_of_small_frames(season, set_up=set_up))

    frame = arrive(card, "A.JPG", shot(0))  # its EXIF says 6

    assert frame.picture.orientation == 3
    assert frame.picture.exif["orientation"] == 6


def test_raw_files_and_videos_are_kept_and_told_apart(card):
    raw = arrive(card, "A.DNG", made_files.raw())
    video = arrive(card, "A.MP4", made_files.video())

    assert (raw.role, raw.picture) == (CardFileRole.RAW, None)
    assert video.role == CardFileRole.VIDEO
    assert not video.picture.file.is_shown


def test_a_name_is_kept_as_text_whatever_stands_in_it(card):
    frame = arrive(card, "../../e‮vil\n'\"🦑.JPG", shot(0))

    assert "\n" not in frame.original_name
    assert frame.original_name.startswith("../../e<U+202E>vil␊")
    assert frame.picture.original_name == "e<U+202E>vil␊'\"🦑.JPG"


def test_a_card_takes_only_so_many_files(card, settings):
    settings.CARD_FILES_MAX = 2
    arrive_all(card, 2)

    with pytest.raises(Refused, match="at most 2 files"):
        arrive(card, "C.JPG", shot(9))
    with pytest.raises(Refused, match="at most 2 files"):
        note_listing(card, [key_of(f"{n}.JPG", b"x") for n in range(3)])


def test_an_accepted_card_and_one_set_aside_take_nothing(season):
    run = run_of_small_frames(season)
    accepted, aside = begun_card(run), begun_card(run)
    arrive_all(accepted, 1)
    accept_card(accepted)
    set_card_aside(aside, "the wrong card")
    aside.refresh_from_db()
    accepted.refresh_from_db()

    with pytest.raises(Conflict, match="accepted already"):
        arrive(accepted, "B.JPG", shot(1))
    with pytest.raises(Conflict, match="the wrong card"):
        arrive(aside, "B.JPG", shot(1))
    assert IncomingFrame.objects.count() == 1


def test_clock_and_photographer_may_be_mended_until_the_card_is_accepted(season, card):
    diver = make_diver(season.site)
    edited = edit_card(card, photographer=diver, clock_offset_s=90, seen_version=1)
    assert (edited.photographer, edited.clock_offset_s) == (diver, 90)

    arrive_all(card, 1)
    accept_card(card)
    with pytest.raises(Conflict):
        edit_card(card, photographer=None, clock_offset_s=0, seen_version=3)
