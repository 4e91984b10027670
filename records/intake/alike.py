"""Frames of a card that comes in compared with those before them: the door to `survey.likeness`.

Before any station is known, so that it can be told which frames were taken again, and where a
station was passed over.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import astuple, dataclass
from functools import lru_cache, partial
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext_lazy

from records.intake.codes import CODES
from records.intake.measures import MEASURED, features_kept, measures_of
from records.intake.pool import processes
from records.intake.wanted import want_features_again
from records.jobs import ask, job
from records.models import (
    Card,
    CardAlike,
    CardFileRole,
    CardState,
    IncomingFrame,
    Job,
    JobState,
    Picture,
    PictureToMake,
    Placement,
)
from records.models.placements import version_at
from records.progress import Steps
from survey import placement as placing
from survey.anchors import Likeness
from survey.errors import Unfit
from survey.likeness import Shift, in_steps, shift_between
from survey.overlap import Features
from survey.stations import Shot, in_order

VERSION = 1
"""Raise it when survey compares otherwise: pairs are then compared anew."""

# Each frame is compared with so many that were taken before it.
BACK = 2
# After so many pairs what was found is kept: whoever is killed does not begin again.
KEPT_AFTER = 40


@dataclass(frozen=True)
class AlikePair:
    """Two pictures by their keys, and how the second stood to the first; see `survey.likeness`.
    `by`: with which placements of the set-up that was measured."""

    one: str
    other: str
    by: str
    x_m: float
    y_m: float
    matches: int
    unfit: str

    def shift(self) -> Shift:
        return Shift(
            self.x_m, self.y_m, self.matches, Unfit(self.unfit, "") if self.unfit else None
        )


def shot_of(frame: IncomingFrame) -> Shot:
    taken_at = frame.picture.taken_at if frame.picture else None
    return Shot(
        str(frame.pk), frame.original_name, None if taken_at is None else taken_at.timestamp()
    )


def base_of(versions: Sequence[Placement], card: Card, frame: IncomingFrame) -> Placement:
    """The set-up's placement in force when a frame was taken."""
    taken_at = frame.picture.taken_at if frame.picture else None
    return version_at(versions, None if taken_at is None else taken_at - card.clock_offset)


def ask_to_compare_card(card: Card) -> None:
    """After the commit: a worker that began before it would not see the frames."""
    argument = {"card": str(card.pk)}
    transaction.on_commit(partial(ask, "alike", site=None, argument=argument, once=True))


def cards_with(files: Iterable[UUID]) -> Iterable[Card]:
    """Cards that come in and hold frames of these files."""
    arriving = Card.objects.standing().filter(state=CardState.ARRIVING)
    return arriving.filter(
        incoming__voided_at=None, incoming__role=CardFileRole.FRAME, incoming__file__in=files
    ).distinct()


@job("alike", words=gettext_lazy("Comparing the frames of a card"))
def compare_card(progress: Steps, card: str) -> None:
    """Compare what is not compared yet; pairs that are neighbours no more are forgotten."""
    arriving = Card.objects.select_related("run__set_up").get(pk=card)
    pairs = list(_pairs(arriving))
    known = {(one.one, one.other, one.by): one for one in _kept(arriving)}
    fresh = [pair for pair in pairs if pair.key not in known]
    progress.total(len(pairs))
    progress.step(done=len(pairs) - len(fresh))
    lost: dict[UUID, Picture] = {}
    with processes() as pool:
        found = pool.spread(_compared, _with_features(fresh, lost), len(fresh))
        for n, measured in enumerate(found, 1):
            progress.step()
            known[measured.one, measured.other, measured.by] = measured
            if n % KEPT_AFTER == 0:
                _keep(arriving, known.values())
    want_features_again(lost.values())
    _keep(arriving, [known[pair.key] for pair in pairs if pair.key in known])


def cards_behind() -> Iterator[Card]:
    """Cards that come in, of which frames that could be compared are in no pair."""
    arriving = Card.objects.standing().filter(state=CardState.ARRIVING)
    for card in arriving.select_related("run__set_up"):
        known = {(one.one, one.other, one.by) for one in _kept(card)}
        missing = [pair for pair in _pairs(card) if pair.key not in known]
        measured = measures_of({picture for pair in missing for picture in (pair.one, pair.other)})
        if any({pair.one.pk, pair.other.pk} <= measured.keys() for pair in missing):
            yield card


@dataclass(frozen=True)
class _Pair:
    one: Picture
    other: Picture
    bases: tuple[Placement, Placement]

    @property
    def key(self) -> tuple[str, str, str]:
        by = " ".join(dict.fromkeys(str(base.pk) for base in self.bases))
        return str(self.one.pk), str(self.other.pk), f"{VERSION} {by}"


def _pairs(card: Card) -> Iterator[_Pair]:
    frames = card.incoming.standing().filter(role=CardFileRole.FRAME)
    by_key = {str(one.pk): one for one in frames.select_related("picture__file")}
    versions = card.run.set_up.versions()
    walk: list[tuple[Picture, Placement]] = []
    for shot in in_order(shot_of(one) for one in by_key.values()):
        picture = by_key[shot.key].picture
        if picture is None or picture.pk in {one.pk for one, _base in walk}:
            continue
        base = base_of(versions, card, by_key[shot.key])
        if picture.upright_size_px == (base.width_px, base.height_px):
            walk.append((picture, base))
    for n, (other, base) in enumerate(walk):
        for one, one_base in walk[max(0, n - BACK) : n]:
            yield _Pair(one, other, (one_base, base))


_Given = tuple[tuple[str, str, str], tuple[Features, Features], tuple[placing.Placement, ...]]


def _with_features(pairs: Iterable[_Pair], lost: dict[UUID, Picture]) -> Iterator[_Given]:
    """Pairs of which both were looked at; `lost` takes up those whose features are not there."""
    features_of = lru_cache(maxsize=BACK + 2)(features_kept)
    for pair in pairs:
        one, other = features_of(pair.one), features_of(pair.other)
        if one is None or other is None:
            missing = (pair.one, one), (pair.other, other)
            lost |= {picture.pk: picture for picture, there in missing if there is None}
            continue
        bases = zip(pair.bases, (one, other), strict=True)
        yield pair.key, (one, other), tuple(_reduced(*both) for both in bases)


def _compared(given: _Given) -> AlikePair:
    key, both, bases = given
    shift = shift_between(*both, *bases)
    unfit = shift.unfit.code if shift.unfit else ""
    return AlikePair(*key, round(shift.x_m, 4), round(shift.y_m, 4), shift.matches, unfit)


def _reduced(base: Placement, features: Features) -> placing.Placement:
    return placing.placement_of_derivative(
        base.as_value,
        base.width_px / features.width_px,
        base.height_px / features.height_px,
    )


def _keep(card: Card, pairs: Iterable[AlikePair]) -> None:
    rows = list(dict.fromkeys(astuple(pair) for pair in pairs))
    CardAlike.objects.update_or_create(card=card, defaults={"pairs": rows})


def _kept(card: Card) -> list[AlikePair]:
    row = CardAlike.objects.filter(card=card).first()
    return [AlikePair(*pair) for pair in row.pairs] if row else []


def likenesses_of(card: Card, frames: Iterable[IncomingFrame]) -> list[Likeness]:
    """Of frames of the card, as far as they were compared; one query beside the run's."""
    keys = {str(one.picture_id): str(one.pk) for one in frames if one.picture_id is not None}
    steps = [row.step_on_base_m for row in card.run.in_order]
    return [
        Likeness(keys[pair.one], keys[pair.other], in_steps(shift, steps) if pair.matches else None)
        for pair in _kept(card)
        if pair.one in keys and pair.other in keys and not (shift := pair.shift()).unfit
    ]


@dataclass(frozen=True)
class StillLookedAt:
    """What the worker still does with the frames of a card that comes in."""

    pictures: int = 0
    is_comparing: bool = False

    def __bool__(self) -> bool:
        return self.pictures > 0 or self.is_comparing


def card_looked_at(card: Card) -> StillLookedAt:
    """Pictures that could not be looked at are not waited for; two queries."""
    frames = card.incoming.standing().filter(role=CardFileRole.FRAME)
    waiting = PictureToMake.objects.filter(
        file__in=frames.values("file"), recipes__in=(MEASURED, CODES), words=""
    )
    pictures = waiting.values("file").distinct().count()
    jobs = Job.objects.filter(state__in=(JobState.WAITING, JobState.RUNNING))
    comparing = jobs.filter(kind="alike", argument={"card": str(card.pk)})
    return StillLookedAt(pictures, comparing.exists())
