"""Neighbouring frames of a run compared by what both show: the door to `survey.overlap`."""

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from functools import partial
from itertools import groupby
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext_lazy

from records.intake.measures import features_kept
from records.intake.pool import processes
from records.intake.wanted import want_features_again
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
    frames = _read(placed_frames(PhotoRun.objects.get(pk=run)))
    known = {(one.one, one.other): one for one in pairs_of(run)}
    pairs = [(frames[one], frames[other]) for one, other in neighbours(frames)]
    fresh = [(one, other) for one, other in pairs if (one.key, other.key) not in known]
    progress.total(len(pairs))
    progress.step(done=len(pairs) - len(fresh))
    with processes() as pool:
        for seen in pool.spread(_compared, _beside(fresh), len(fresh)):
            known |= {(one.one, one.other): one for one in seen}
            progress.step(done=len(seen))
    found = [asdict(known[one.key, other.key]) for one, other in pairs]
    RunSeen.objects.update_or_create(run_id=UUID(run), defaults={"pairs": found})


def _beside(
    pairs: Iterable[tuple[PlacedFeatures, PlacedFeatures]],
) -> Iterator[tuple[PlacedFeatures, list[PlacedFeatures]]]:
    """A frame and those it is to be compared with: what is handed to another process at once."""
    for _key, beside in groupby(pairs, key=lambda pair: pair[0].key):
        both = list(beside)
        yield both[0][0], [other for _one, other in both]


def _compared(given: tuple[PlacedFeatures, list[PlacedFeatures]]) -> list[SeenPair]:
    one, others = given
    return [SeenPair.of(compare(one, other)) for other in others]


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


def _read(frames: Iterable[Frame]) -> list[PlacedFeatures]:
    """Those that were looked at; where their features are lost since, they are asked for again."""
    placed, lost = [], []
    for frame in frames:
        features, placement = features_kept(frame.photograph.picture), frame.placement
        if features is None:
            lost.append(frame.photograph.picture)
        elif placement is not None:
            k = placement.width_px / features.width_px, placement.height_px / features.height_px
            reduced = placing.placement_of_derivative(placement.as_value, *k)
            placed.append(PlacedFeatures(str(placement.pk), features, reduced))
    want_features_again(lost)
    return placed
