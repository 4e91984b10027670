"""Frames onto stations by anchors, times and likenesses.

Small cases were written down by hand. The simulated runs (`made_runs`) know the truth and nothing
of how frames are laid; weights were set on their seeds 1 to 50, those here are others, and twenty
more stand in the bench.
"""

import pytest

from survey.anchored import lay_anchored
from survey.anchors import Anchor, AnchoredLaying, AnchorKind, Likeness, row_of
from survey.errors import Unfit
from survey.stations import Shot
from tests.survey.made_runs import made_run

BEGINS, ENDS, RUN = AnchorKind.ROW_BEGINS, AnchorKind.ROW_ENDS, AnchorKind.RUN_BOARD


def frames(**at_s):
    return [Shot(name, name.upper(), seconds) for name, seconds in at_s.items()]


def laid(shots, rows, anchors=None, **more):
    found = lay_anchored(shots, rows, anchors or {}, **more)
    assert isinstance(found, AnchoredLaying)
    return found


def codes(found):
    return [doubt.told.code for doubt in found.doubts]


def proposal_of(made, *, alike):
    anchors = {
        one.key: Anchor(AnchorKind(one.says[0]), *one.says[1:]) for one in made.frames if one.says
    }
    shots = [Shot(one.key, one.name, one.taken_s) for one in made.frames]
    likenesses = [Likeness(*one) for one in made.alike] if alike else []
    return laid(shots, made.rows, anchors, likenesses=likenesses)


def wrong(made, on):
    return [one.key for one in made.frames if one.key in on and on[one.key] != one.station]


@pytest.mark.parametrize("alike", [True, False])
def test_no_frame_stands_wrongly_without_being_told(alike):
    every = [made_run(seed) for seed in range(201, 205)]
    found = [proposal_of(made, alike=alike) for made in every]
    for made, one in zip(every, found, strict=True):
        told = {doubt.key for doubt in one.doubts if doubt.told.code == "unsure"}
        assert set(wrong(made, one.laid.on)) <= told
        assert not wrong(made, one.held.on)

    held, laid = sum(len(one.held.on) for one in found), sum(len(one.laid.on) for one in found)
    assert held >= (0.85 if alike else 0.6) * laid


PLAIN = frames(b=0, f1=20, f2=30, f3=40, f4=51, e=70)
BOTH = {"b": Anchor(BEGINS, 0), "e": Anchor(ENDS, 0)}


def test_a_row_between_its_boards():
    found = laid(PLAIN, [4, 3], BOTH)

    assert found.laid.by_station == {0: "f1", 1: "f2", 2: "f3", 3: "f4"}
    assert found.laid.spare == ("b", "e")
    assert codes(found) == []
    assert found.interval_s == 10.0
    assert found.anchored_rows == {0: True, 1: False}
    assert min(found.certainty.values()) > 0.97


def test_a_station_passed_over_is_told_with_its_times():
    found = laid(frames(b=0, f1=20, f2=30, f3=51, f4=61, f5=71, e=90), [6], BOTH)

    assert found.laid.by_station == {0: "f1", 1: "f2", 3: "f3", 4: "f4", 5: "f5"}
    (doubt,) = found.doubts
    assert (doubt.told.code, doubt.station, doubt.key) == ("passed-over", 2, None)
    assert "from F2 to F3 it took 21 s, usually a step takes 10 s" in str(doubt.told)


def test_of_two_frames_of_one_station_the_later_stays():
    found = laid(frames(b=0, f1=20, f2=30, g2=33, f3=43, f4=53, e=70), [4], BOTH)

    assert found.laid.by_station == {0: "f1", 1: "g2", 2: "f3", 3: "f4"}
    doubt = found.doubts_of("f2")[0]
    assert (doubt.told.code, doubt.station) == ("taken-again", 1)
    assert "3 s later: G2" in str(doubt.told)


def test_times_alone_cannot_tell_a_pause_from_a_station_passed_over():
    found = laid(frames(b=0, f1=20, f2=30, f3=51, f4=61, f5=71), [8], {"b": Anchor(BEGINS, 0)})

    unsure = {doubt.key for doubt in found.doubts if doubt.told.code == "unsure"}
    assert {"f3", "f4", "f5"} <= unsure
    assert not {"f3", "f4", "f5"} & set(found.held.on)
    assert "row-held-once" in codes(found)


@pytest.mark.parametrize(("offset", "station"), [(1.02, 2), (None, 3)])
def test_pictures_tell_it(offset, station):
    alike = [Likeness("f1", "f2", 0.9), Likeness("f2", "f3", offset), Likeness("f4", "f3", -1.1)]
    found = laid(
        frames(b=0, f1=20, f2=30, f3=48, f4=58), [8], {"b": Anchor(BEGINS, 0)}, likenesses=alike
    )

    assert found.laid.on["f3"] == station


def test_a_frame_of_the_same_ground_was_taken_again_however_late():
    alike = [Likeness("f1", "f2", 1.0), Likeness("f2", "f3", 0.05), Likeness("f3", "f4", 1.0)]
    found = laid(frames(b=0, f1=20, f2=30, f3=39, f4=50, e=60), [3], BOTH, likenesses=alike)

    assert found.laid.by_station == {0: "f1", 1: "f3", 2: "f4"}


def test_frames_before_the_board_and_after_the_last_are_strays():
    shots = frames(x=0, r=50, c=60, b=80, f1=100, f2=110, f3=120, f4=130, e=150, y=170)
    found = laid(shots, [4], {**BOTH, "r": Anchor(RUN), "c": Anchor(AnchorKind.ASIDE)})

    assert found.laid.by_station == {0: "f1", 1: "f2", 2: "f3", 3: "f4"}
    assert [(doubt.key, doubt.told.code) for doubt in found.doubts] == [
        ("x", "before-board"),
        ("y", "after-end"),
    ]


def test_a_row_without_an_anchor_says_that_it_may_be_shifted():
    found = laid(frames(f1=0, f2=10, f3=20, f4=30), [4])

    assert found.laid.by_station == {0: "f1", 1: "f2", 2: "f3", 3: "f4"}
    assert [(doubt.told.code, doubt.row) for doubt in found.doubts] == [("row-not-anchored", 0)]
    assert found.anchored_rows == {}


def test_a_tag_says_on_which_station_its_frame_stands():
    tag = Anchor(AnchorKind.AT_STATION, 5)
    found = laid(frames(f1=0, f2=10, f3=20), [3, 4], {"f2": tag})

    assert found.laid.on["f2"] == 5
    assert found.laid.on["f3"] == 6


def test_a_later_card_fills_the_stations_that_are_left():
    found = laid(frames(f1=0, f2=10), [6], fill=[2, 4])

    assert found.laid.by_station == {2: "f1", 4: "f2"}


def test_boards_do_not_send_a_card_of_stations_shot_again_back_to_the_beginning():
    found = laid(frames(b=0, f1=20, f2=40, e=60), [6, 2], BOTH, fill=[2, 4])

    assert found.laid.by_station == {2: "f1", 4: "f2"}


def test_a_row_that_is_full_may_be_taken_again_whole():
    found = laid(frames(b=0, f1=20, f2=30, e=60), [2, 3], BOTH, fill=[2, 3, 4])

    assert found.laid.by_station == {0: "f1", 1: "f2"}


def test_frames_of_one_second_stand_by_their_names_and_none_without_time():
    shots = [Shot("b", "1", 0), *(Shot(f"f{n}", str(n), 5) for n in range(2, 5)), Shot("e", "9", 9)]
    untimed = [Shot(shot.key, shot.name) for shot in shots]

    for given in shots, untimed:
        found = laid(given, [3], BOTH)
        assert found.laid.by_station == {0: "f2", 1: "f3", 2: "f4"}
        assert found.interval_s is None


def test_anchors_that_go_back_are_unfit():
    anchors = {"f1": Anchor(BEGINS, 1), "f2": Anchor(BEGINS, 0)}
    found = lay_anchored(frames(f1=0, f2=10), [2, 2], anchors)

    assert isinstance(found, Unfit)
    assert "F2 was taken after F1" in str(found)


def test_no_frames_are_no_trouble():
    assert laid([], [3]).laid.by_station == {}
    assert laid(frames(c=0), [3], {"c": Anchor(AnchorKind.ASIDE)}).laid.spare == ("c",)


WRONG = {
    "no rows": ([], {}),
    "an empty row": ([3, 0], {}),
    "no such row": ([3], {"f1": Anchor(BEGINS, 1)}),
    "no such station": ([3], {"f1": Anchor(AnchorKind.AT_STATION, 3)}),
    "no such frame": ([3], {"f9": Anchor(RUN)}),
}


@pytest.mark.parametrize(("rows", "anchors"), WRONG.values(), ids=WRONG)
def test_wrong_calls(rows, anchors):
    with pytest.raises(ValueError):
        lay_anchored(frames(f1=0), rows, anchors)


def test_a_likeness_of_an_unknown_frame_is_a_wrong_call():
    with pytest.raises(ValueError, match="f9"):
        lay_anchored(frames(f1=0), [3], {}, likenesses=[Likeness("f1", "f9", 1.0)])


def test_rows_count_their_stations():
    assert [row_of(station, [2, 3]) for station in range(5)] == [0, 0, 1, 1, 1]
