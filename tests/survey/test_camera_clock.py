"""The camera's clock: signs as records have them, and what brings frames into their dive."""

import pytest

from survey.camera_clock import clock_offset_s, clock_words, outside_dive

HOUR = 3600.0
LEFT, REACHED = 10 * HOUR, 11 * HOUR


def test_a_camera_ahead_of_the_watch_is_fast():
    """The watch shows 10:00:00 in a picture of 10:07:00: seven minutes fast."""
    assert clock_offset_s(camera_s=10 * HOUR + 420, watch_s=10 * HOUR) == 420.0
    assert clock_offset_s(camera_s=10 * HOUR, watch_s=10 * HOUR + 30) == -30.0


def frames(*hours):
    return {f"f{n}": hour * HOUR for n, hour in enumerate(hours)}


def test_frames_inside_their_dive_raise_nothing():
    assert outside_dive(frames(10.0, 10.5, 11.0), LEFT, REACHED) is None
    assert outside_dive(frames(10.2, 11.1), LEFT, REACHED, offset_s=0.15 * HOUR) is None
    assert outside_dive({}, LEFT, REACHED) is None


def test_a_wrong_zone_is_the_only_hour_that_fits():
    found = outside_dive(frames(12.2, 12.9), LEFT, REACHED)

    assert found is not None
    assert found.after == ("f0", "f1")
    assert found.proposed_s == 2 * HOUR
    assert (found.low_s, found.high_s) == pytest.approx((1.9 * HOUR, 2.2 * HOUR))
    assert "2:00:00" in str(found.told)


def test_a_zone_is_meant_on_top_of_the_offset_that_is_known():
    found = outside_dive(frames(9.3, 9.95), LEFT, REACHED, offset_s=420.0)

    assert found is not None
    assert found.before == ("f0", "f1")
    assert found.proposed_s == 420.0 - HOUR


def test_of_two_that_fit_none_is_proposed():
    found = outside_dive(frames(14.3), LEFT, LEFT + 2.5 * HOUR)

    assert found is not None
    assert found.proposed_s is None
    assert found.told.code == "clock-off"
    assert found.low_s == pytest.approx(1.8 * HOUR)


def test_frames_over_more_than_the_dive_are_strays():
    found = outside_dive(frames(9.0, 10.5, 11.2), LEFT, REACHED)

    assert found is not None
    assert (found.before, found.after) == (("f0",), ("f2",))
    assert found.low_s is None
    assert found.told.code == "frames-outside-dive"


def test_what_cannot_be_is_a_wrong_call():
    with pytest.raises(ValueError, match="ends"):
        outside_dive({}, REACHED, LEFT)
    with pytest.raises(ValueError, match="nan"):
        outside_dive({"f": float("nan")}, LEFT, REACHED)
    with pytest.raises(ValueError, match="inf"):
        clock_offset_s(float("inf"), 0.0)


@pytest.mark.parametrize(
    ("seconds", "words"), [(420, "0:07:00"), (-3661.2, "−1:01:01"), (-0.2, "0:00:00")]
)
def test_offsets_in_words(seconds, words):
    assert clock_words(seconds) == words
