"""Whether a card may be formatted: every case in one table, then against the records."""

import pytest
from django.utils import timezone

from records.models import StoredFile
from records.queries.card_safety import Held, Safety, card_safety, safety_of
from records.refusals import Refused
from records.verbs.cards import note_listing
from tests.factory_cards import arrive, arrive_all, begun_card, key_of, run_of_small_frames, shot

A, B = Held("A.JPG", 10, 1, True), Held("B.JPG", 20, 2, True)
B_NOT_COPIED = Held("B.JPG", 20, 2, False)
BOTH = {"A.JPG": [10, 1], "B.JPG": [20, 2]}

CASES = {
    "nothing": (None, [], Safety.NOTHING, "Do not format"),
    "an empty listing is none": ({}, [A], Safety.SINGLE_FILES, "cannot be seen from here"),
    "single files, safe": (None, [A, B], Safety.SINGLE_FILES, "The 2 files you chose are safe"),
    "a single file, safe": (None, [A], Safety.SINGLE_FILES, "The file you chose is safe"),
    "single files, not copied": (None, [A, B_NOT_COPIED], Safety.SINGLE_FILES, "cannot be seen"),
    "listed, none here": (BOTH, [], Safety.ARRIVING, "0 of 2 files"),
    "listed, one here": (BOTH, [A], Safety.ARRIVING, "1 of 2 files"),
    "listed, all here and copied": (BOTH, [A, B], Safety.MAY_BE_FORMATTED, "may be formatted"),
    "all here, one not copied": (BOTH, [A, B_NOT_COPIED], Safety.NOT_COPIED, "1 is not on the"),
    "of another size": (BOTH, [A, Held("B.JPG", 21, 2, True)], Safety.ARRIVING, "1 of 2"),
    "of another time": (BOTH, [A, Held("B.JPG", 20, 3, True)], Safety.ARRIVING, "1 of 2"),
    "of another name": (BOTH, [A, Held("C.JPG", 20, 2, True)], Safety.ARRIVING, "1 of 2"),
    "one more than listed": (
        BOTH,
        [A, B, Held("C.JPG", 5, 5, True)],
        Safety.MAY_BE_FORMATTED,
        "all 2 files",
    ),
    "one more than listed, not copied": (
        BOTH,
        [A, B, Held("C.JPG", 5, 5, False)],
        Safety.NOT_COPIED,
        "1 is not on the",
    ),
    "one cannot be taken in": (
        {"A.JPG": [10, 1], "X.CTG": [20, 2, "is no picture"]},
        [A],
        Safety.NOT_TAKEN_IN,
        "1 file of the card was not taken in",
    ),
    "one refused once, taken in since": (
        {"A.JPG": [10, 1], "B.JPG": [20, 2, "broke off"]},
        [A, B],
        Safety.MAY_BE_FORMATTED,
        "may be formatted",
    ),
    "one refused, one still to come": (
        {"A.JPG": [10, 1], "B.JPG": [20, 2], "X.CTG": [3, 3, "is no picture"]},
        [A],
        Safety.ARRIVING,
        "1 of 3",
    ),
}


@pytest.mark.parametrize(("listing", "held", "safety", "words"), CASES.values(), ids=CASES)
def test_what_is_said_of_a_card(listing, held, safety, words):
    told = safety_of(listing, held)

    assert told.safety == safety
    assert words in told.words
    assert ("may be formatted" in told.words) == (safety == Safety.MAY_BE_FORMATTED)


def copy_all() -> None:
    for file in StoredFile.objects.all():
        file.on_second_copy_at = timezone.now()
        file.save()


def test_a_listed_card_may_be_formatted_once_every_file_stands_twice(season):
    card = begun_card(run_of_small_frames(season))
    note_listing(card, [key_of(f"P{n:04d}.JPG", shot(n)) for n in range(3)])
    arrive_all(card, 2)
    card.refresh_from_db()
    assert card_safety(card).not_arrived == ["P0002.JPG"]

    arrive_all(card, 1, first=2)
    assert card_safety(card).safety == Safety.NOT_COPIED
    copy_all()
    assert card_safety(card).may_be_formatted


def test_a_second_look_at_the_card_never_makes_the_listing_shorter(season):
    card = begun_card(run_of_small_frames(season))
    note_listing(card, [key_of("DCIM/A.JPG", shot(0)), key_of("DCIM/B.JPG", shot(1))])
    arrive(card, "DCIM/A.JPG", shot(0))
    card = note_listing(card, [key_of("DCIM/A.JPG", shot(0))])
    copy_all()

    assert card_safety(card).safety == Safety.ARRIVING


def test_what_is_no_picture_is_noted_and_the_card_is_kept(season):
    card = begun_card(run_of_small_frames(season))
    index = b"camera's own list" * 300
    note_listing(card, [key_of("INDEX.CTG", index), key_of("P0000.JPG", shot(0))])
    with pytest.raises(Refused, match="none of the files"):
        arrive(card, "INDEX.CTG", index)
    arrive(card, "P0000.JPG", shot(0))
    copy_all()
    card.refresh_from_db()
    told = card_safety(card)

    assert told.safety == Safety.NOT_TAKEN_IN
    assert told.not_taken_in[0][0] == "INDEX.CTG"
    assert "none of the files" in told.not_taken_in[0][1]
