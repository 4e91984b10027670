"""The camera's clock against a watch and against the times of a dive.

An offset says how many seconds a camera's clock is fast: true time = camera's time − offset.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from survey.errors import Unfit, gettext_noop

# Whole hours and the quarter hours of some zones: how clocks are mostly wrong.
_ZONE_STEPS_S = (3600.0, 1800.0, 900.0)
_MOST_ZONES_S = 26 * 3600.0


def clock_offset_s(camera_s: float, watch_s: float) -> float:
    """How many seconds the camera is fast, from a photographed watch.

    offset = camera − watch: the time that the picture's file bears, less the time that the watch
    shows in it, both in seconds from one moment. Negative where the camera is slow. Raises
    ValueError for a number not finite.
    """
    if not (math.isfinite(camera_s) and math.isfinite(watch_s)):
        raise ValueError(f"Times are finite numbers, not {camera_s!r} and {watch_s!r}.")
    return camera_s - watch_s


@dataclass(frozen=True)
class OutsideDive:
    """Frames that the camera's clock puts outside the dive.

    `before`, `after`: their keys, before leaving and after reaching the surface. `low_s`,
    `high_s`: the offsets, as a whole and not on top of the present one, with which all frames lie
    in the dive; None where none does. `proposed_s`: the only likely one among them. `told` says it.
    """

    before: tuple[str, ...]
    after: tuple[str, ...]
    low_s: float | None
    high_s: float | None
    proposed_s: float | None
    told: Unfit


def outside_dive(
    taken_s: Mapping[str, float], left_s: float, reached_s: float, offset_s: float = 0.0
) -> OutsideDive | None:
    """What lies outside a dive by the camera's clock; None where nothing does.

    `taken_s`: key → time on the camera's clock, s; `left_s`, `reached_s`: when the divers left and
    reached the surface, s of the same scale in true time; `offset_s`: how much the camera is taken
    to be fast. All frames fit with an offset from max(taken) − reached to min(taken) − left. If
    one whole hour more or less lies in it, that is proposed (a zone, summer time); else one half
    hour, else one quarter. Raises ValueError for a dive that ends before it begins or a number
    not finite.
    """
    numbers = [*taken_s.values(), left_s, reached_s, offset_s]
    if not all(math.isfinite(number) for number in numbers):
        raise ValueError(f"Times are finite numbers, not {numbers!r}.")
    if reached_s < left_s:
        raise ValueError(f"A dive ends after it begins, not from {left_s!r} to {reached_s!r} s.")
    before = tuple(key for key, at in taken_s.items() if at - offset_s < left_s)
    after = tuple(key for key, at in taken_s.items() if at - offset_s > reached_s)
    if not before and not after:
        return None
    low_s = max(taken_s.values()) - reached_s
    high_s = min(taken_s.values()) - left_s
    count = len(before) + len(after)
    if low_s > high_s:
        return OutsideDive(before, after, None, None, None, _strays(count))
    proposed_s = _zone_mistake(low_s, high_s, offset_s)
    told = _clock_off(count, low_s, high_s, proposed_s)
    return OutsideDive(before, after, low_s, high_s, proposed_s, told)


def _zone_mistake(low_s: float, high_s: float, offset_s: float) -> float | None:
    for step_s in _ZONE_STEPS_S:
        first = math.ceil((low_s - offset_s) / step_s)
        last = math.floor((high_s - offset_s) / step_s)
        if first == last and abs(first * step_s) <= _MOST_ZONES_S:
            return offset_s + first * step_s
        if first < last:
            return None
    return None


def _strays(count: int) -> Unfit:
    sentence = gettext_noop(
        "%(count)s frames lie outside the dive by the camera's clock, and no clock would bring all "
        "frames into it: they were taken at other times, or this is another dive's card."
    )
    return Unfit("frames-outside-dive", sentence, {"count": count})


def _clock_off(count: int, low_s: float, high_s: float, proposed_s: float | None) -> Unfit:
    values: dict[str, object] = {"count": count, "low": clock_words(low_s)}
    values["high"] = clock_words(high_s)
    if proposed_s is None:
        sentence = gettext_noop(
            "%(count)s frames lie outside the dive by the camera's clock. All would lie in it if "
            "the clock were between %(low)s and %(high)s fast (minus: slow)."
        )
        return Unfit("clock-off", sentence, values)
    values["proposed"] = clock_words(abs(proposed_s))
    sentence = gettext_noop(
        "%(count)s frames lie outside the dive by the camera's clock. All would lie in it if the "
        "clock were %(proposed)s fast, as after a wrong zone or summer time."
    )
    if proposed_s < 0.0:
        sentence = gettext_noop(
            "%(count)s frames lie outside the dive by the camera's clock. All would lie in it if "
            "the clock were %(proposed)s slow, as after a wrong zone or summer time."
        )
    return Unfit("clock-zone", sentence, values)


def clock_words(seconds: float) -> str:
    """An offset as hours, minutes and seconds with a sign: −0:07:30, rounded to seconds."""
    whole = round(abs(seconds))
    sign = "−" if seconds < 0 and whole else ""
    return f"{sign}{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d}"
