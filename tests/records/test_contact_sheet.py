"""Moves on a contact sheet: what is proposed, what a person mends, and undo."""

import pytest

from records.intake.arrangement import arrangement
from records.models import Card, CardStep, IncomingFrame
from records.refusals import Conflict, Refused
from records.verbs.acceptance import accept_card
from records.verbs.cards import set_card_aside
from records.verbs.sheet import (
    lay_from,
    leave_out,
    move_back,
    move_on,
    put_back,
    stand_on,
    undo,
)
from records.verbs.tower import RowEntry, edit_run
from tests import made_files
from tests.factory_cards import arrive, arrive_all, begun_card, run_of_small_frames, shot
from tests.factory_pictures import run_entry_of

TWO_ROWS = (RowEntry(0.5, 0.5, 0.0, 1.0, 3), RowEntry(2.5, 1.5, 180.0, 1.0, 3))


@pytest.fixture
def run(season):
    return run_of_small_frames(season, *TWO_ROWS)


def stands(card: Card) -> str:
    """The sheet in short: the last figure of each frame's name by station, "." for none."""
    now = arrangement(Card.objects.get(pk=card.pk))
    names = {str(frame.pk): frame.original_name for frame in now.frames}
    by_station = {place: names[key][4] for key, place in now.laid.on.items()}
    row = "".join(by_station.get(place, ".") for place in range(now.laid.stations))
    spare = "".join(names[key][4] for key in now.laid.spare)
    out = "".join(frame.original_name[4] for frame in now.left_out)
    return " ".join([row, *([f"+{spare}"] if spare else []), *([f"-{out}"] if out else [])])


def test_frames_are_proposed_in_order_of_time_however_they_arrive(card):
    for n in (2, 0, 3, 1):
        arrive(card, f"P{9 - n:04d}.JPG", shot(n))

    assert stands(card) == "9876.."


def test_frames_without_a_time_are_proposed_by_name(card):
    for n in (2, 0, 1):
        arrive(card, f"P{n:04d}.JPG", made_files.jpeg(72, 48, seed=n))

    assert stands(card) == "012..."


def test_more_frames_than_stations_are_spare_and_told(card):
    arrive_all(card, 8)

    assert stands(card) == "012345 +67"


def test_a_second_card_goes_on_after_the_first(run, card):
    arrive_all(card, 2)
    accept_card(card)
    second = begun_card(run)
    arrive_all(second, 3, first=2)

    assert stands(second) == "..234."


def test_mending_step_by_step_and_back(card):
    frames = arrive_all(card, 4)
    moves = [
        (lambda: move_on(card, frames[1].pk), "0.123."),
        (lambda: move_back(card, frames[1].pk), "0123.."),
        (lambda: stand_on(card, frames[0].pk, 3), "3120.."),
        (lambda: stand_on(card, frames[0].pk, 5), "312..0"),
        (lambda: leave_out(card, frames[1].pk, "blurred", close_up=True), "32..0. -1"),
        (lambda: leave_out(card, frames[2].pk, "dark"), "3...0. -12"),
        (lambda: put_back(card, frames[2].pk), "32..0. -1"),
        (lambda: put_back(card, frames[1].pk), "32..0. +1"),
        (lambda: lay_from(card, 1), ".0123."),
    ]
    before = ["0123.."]
    for act, expected in moves:
        act()
        assert stands(card) == expected
        before.append(expected)

    for expected in reversed(before[:-1]):
        undo(card)
        assert stands(card) == expected
    with pytest.raises(Conflict, match="no move to undo"):
        undo(card)
    assert arrangement(card).proposed
    assert CardStep.objects.filter(voided_at=None).count() == 0
    assert CardStep.objects.count() == len(moves)  # who moved what stays to be read


def test_a_frame_left_out_remembers_its_station(card):
    frames = arrive_all(card, 3)
    leave_out(card, frames[1].pk, "lamp did not fire", close_up=True)
    frame = IncomingFrame.objects.get(pk=frames[1].pk)

    assert (frame.row.order, frame.station) == (1, 2)
    assert frame.left_out_reason == "lamp did not fire"


def test_a_frame_that_arrives_after_the_first_move_waits_beside_the_stations(card):
    frames = arrive_all(card, 2)
    move_on(card, frames[1].pk)
    arrive_all(card, 1, first=2)

    assert stands(card) == "0.1... +2"
    with pytest.raises(Refused, match=r"P0002\.JPG stands on no station"):
        accept_card(card)


def test_what_cannot_be_moved_is_told(card):
    frames = arrive_all(card, 7)

    refusals = [
        (lambda: move_back(card, frames[0].pk), Refused, "no station before the first"),
        (lambda: move_back(card, frames[2].pk), Refused, "stands on the station before"),
        (lambda: move_on(card, frames[6].pk), Refused, "on no station yet"),
        (lambda: stand_on(card, frames[0].pk, 6), Refused, "no such station"),
        (lambda: lay_from(card, -1), Refused, "no such station"),
        (lambda: leave_out(card, frames[0].pk, " "), Refused, "Say why"),
        (lambda: put_back(card, frames[0].pk), Conflict, "not left out"),
        (lambda: move_on(card, card.pk), Conflict, "not among those"),
    ]
    for act, kind, words in refusals:
        with pytest.raises(kind, match=words):
            act()
    assert CardStep.objects.count() == 0


def test_two_people_at_one_sheet_are_told_of_each_other(card):
    frames = arrive_all(card, 3)
    seen = arrangement(card).seen
    move_on(card, frames[0].pk, seen=seen)

    with pytest.raises(Conflict, match="changed since you looked"):
        move_on(card, frames[0].pk, seen=seen)
    assert stands(card) == ".012.."


def test_a_file_that_is_a_photograph_already_is_not_laid_again(run, card):
    arrive_all(card, 2)
    accept_card(card)
    second = begun_card(run)
    arrive_all(second, 3)
    arrive(second, "X9999.JPG", shot(2))
    now = arrangement(second)

    assert stands(second) == "..2..."
    number = card.frames.first().photograph.number
    assert f"already in the record as {number}" in now.known.values()
    assert "the same file as P0002.JPG" in now.known.values()
    accept_card(second)
    assert second.frames.count() == 1


def test_a_frame_of_another_size_is_told_and_can_only_be_left_out(card):
    arrive_all(card, 1)
    odd = arrive(card, "P0001.JPG", shot(1, width=100))

    assert arrangement(card).odd_sizes == {odd.pk}
    with pytest.raises(Refused, match="not 72 × 48 px"):
        accept_card(card)
    leave_out(card, odd.pk, "of another camera")
    accept_card(card)


def test_rows_may_be_mended_until_a_frame_is_accepted(run, card):
    frames = arrive_all(card, 3)
    move_on(card, frames[0].pk)

    run = edit_run(run, run_entry_of(run, RowEntry(0.5, 0.5, 90.0, 1.0, 4)), run.version)
    assert stands(card) == "012."
    assert arrangement(card).proposed

    accept_card(card)
    with pytest.raises(Refused, match="already stand"):
        edit_run(run, run_entry_of(run, RowEntry(0.5, 0.5, 0.0, 1.0, 9)), run.version)
    renamed = edit_run(run, run_entry_of(run, RowEntry(0.5, 0.5, 90.0, 1.0, 4), name="New"), 2)
    assert renamed.name == "New"


def test_a_card_set_aside_leaves_its_files_to_another_one(run, card):
    arrive_all(card, 2)
    set_card_aside(card, "the wrong run")
    second = begun_card(run)
    arrive_all(second, 2)

    assert stands(second) == "01...."
