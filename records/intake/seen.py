"""Neighbouring frames of a run compared by what both show: the door to `survey.overlap`."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext_lazy

from records.intake.measures import features_kept
from records.jobs import ask, job
from records.models import Frame, PhotoRun, RunSeen
from records.progress import Steps
from survey import placement as placing
from survey.errors import Unfit
from survey.overlap import PlacedFeatures, Seen, compare, neighbours


@dataclass(frozen=True)
class SeenPair:
    """Two frames by their placements' keys, and how they lie to each other; see `survey.Seen`."""

    one: str
    other: str
    x_m: float
    y_m: float
    rotation_deg: float
    matches: int
    spread_m: float
    unfit: str

    @classmethod
    def of(cls, seen: Seen) -> "SeenPair":
        return cls(
            seen.one,
            seen.other,
            round(seen.offset_x_m, 5),
            round(seen.offset_y_m, 5),
            round(seen.rotation_deg, 3),
            seen.matches,
            round(seen.spread_m, 5),
            seen.unfit.code if seen.unfit else "",
        )

    def seen(self) -> Seen:
        measured = self.x_m, self.y_m, self.rotation_deg, self.matches, self.spread_m
        unfit = Unfit(self.unfit, "") if self.unfit else None
        return Seen(self.one, self.other, *measured, unfit)


def ask_to_compare(run: PhotoRun) -> None:
    """After the commit: a worker that began before it would not see the frames."""
    argument = {"run": str(run.pk)}
    transaction.on_commit(partial(ask, "seen", site=None, argument=argument, once=True))


@job("seen", words=gettext_lazy("Comparing frames with their neighbours"))
def compare_run(progress: Steps, run: str) -> None:
    """Compare what is not compared yet; pairs of placements that are gone are forgotten."""
    frames = [
        placed for frame in placed_frames(PhotoRun.objects.get(pk=run)) if (placed := _read(frame))
    ]
    known = {(one.one, one.other): one for one in pairs_of(run)}
    pairs = neighbours(frames)
    progress.total(len(pairs))
    found = []
    for one, other in pairs:
        progress.step()
        keys = frames[one].key, frames[other].key
        pair = known.get(keys) or SeenPair.of(compare(frames[one], frames[other]))
        found.append(asdict(pair))
    RunSeen.objects.update_or_create(run_id=UUID(run), defaults={"pairs": found})


def pairs_of(run: Any) -> list[SeenPair]:
    row = RunSeen.objects.filter(run=run).first()
    return [SeenPair(**pair) for pair in row.pairs] if row else []


def placed_frames(run: PhotoRun) -> Iterable[Frame]:
    """The run's kept frames, in the order of their stations."""
    return (
        Frame.objects.filter(card__run=run, is_kept=True, photograph__voided_at=None)
        .select_related("placement", "row", "photograph__season", "photograph__picture__file")
        .order_by("row__order", "station", "photograph__n")
    )


def _read(frame: Frame) -> PlacedFeatures | None:
    features, placement = features_kept(frame.photograph.picture), frame.placement
    if features is None or placement is None:
        return None
    return PlacedFeatures(
        str(placement.pk),
        features,
        placing.placement_of_derivative(
            placement.as_value,
            placement.width_px / features.width_px,
            placement.height_px / features.height_px,
        ),
    )
