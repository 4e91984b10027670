"""The camera's clock of a card against the times of its dive: the door to `survey.camera_clock`."""

from django.utils import timezone

from records.intake.arrangement import Arrangement
from survey.camera_clock import OutsideDive, outside_dive

__all__ = ["OutsideDive", "clock_of"]


def clock_of(now: Arrangement) -> OutsideDive | None:
    """None where all frames lie in the dive, or none says when it was taken. A dive that is under
    way reaches to now."""
    dive = now.card.dive
    up = dive.reached_surface_at or max(timezone.now(), dive.left_surface_at)
    taken_s = {
        str(one.pk): one.picture.taken_at.timestamp()
        for one in now.frames
        if one.picture is not None and one.picture.taken_at is not None
    }
    if not taken_s:
        return None
    times = dive.left_surface_at.timestamp(), up.timestamp()
    return outside_dive(taken_s, *times, now.card.clock_offset_s)
