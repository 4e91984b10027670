"""Every number of a season accounted for: borne by a record, void, or in somebody's hands."""

from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.utils.translation import gettext as _

from records.archive.registers import Viewer
from records.models import (
    Dive,
    Drawing,
    Find,
    NumberBlock,
    NumberCounter,
    NumberEnd,
    NumberKind,
    Photograph,
    Restriction,
    Season,
)

BEARERS: dict[NumberKind, Any] = {
    NumberKind.DIVE: Dive,
    NumberKind.PHOTO: Photograph,
    NumberKind.DRAWING: Drawing,
    NumberKind.FIND: Find,
}


@dataclass(frozen=True)
class NumberRun:
    """Numbers `first` to `last` that share one fate, in words."""

    kind: NumberKind
    first: int
    last: int
    fate: str
    reason: str = ""

    @property
    def count(self) -> int:
        return self.last - self.first + 1


def numbers_of(season: Season, kind: NumberKind, viewer: Viewer | None = None) -> list[NumberRun]:
    """All numbers ever given of a kind, in order, neighbours of one fate together.

    A viewer is told in whose hands numbers are, and why a restricted find is void, only where
    these are theirs to know; without one all is told.
    """
    return _in_runs(kind, _fates(season, kind, viewer))


def fates_in_block(block: NumberBlock) -> list[NumberRun]:
    kind = NumberKind(block.kind)
    fates = _fates(block.season, kind)
    return _in_runs(kind, {n: fates[n] for n in range(block.first, block.last + 1)})


def _in_runs(kind: NumberKind, fates: dict[int, tuple[str, str]]) -> list[NumberRun]:
    runs: list[NumberRun] = []
    in_order = sorted(fates.items())
    # neighbours differ from their place in the list by the same amount
    for (_gap, fate, reason), group in groupby(
        enumerate(in_order), key=lambda one: (one[1][0] - one[0], *one[1][1])
    ):
        numbers = [number for _index, (number, _fate) in group]
        runs.append(NumberRun(kind, numbers[0], numbers[-1], fate, reason))
    return runs


def _fates(
    season: Season, kind: NumberKind, viewer: Viewer | None = None
) -> dict[int, tuple[str, str]]:
    last = (
        NumberCounter.objects.filter(season=season, kind=kind)
        .values_list("last", flat=True)
        .first()
        or 0
    )
    blocks = list(NumberBlock.objects.standing().filter(season=season, kind=kind))
    names = viewer is None or viewer.sees_people
    in_blocks = {
        n: (_("with %(who)s") % {"who": block.given_to}, block.purpose)
        if names
        else (_("given out ahead"), "")
        for block in blocks
        for n in range(block.first, block.last + 1)
    }
    fates = {n: (_("not accounted for"), "") for n in range(1, last + 1)} | in_blocks
    for end in NumberEnd.objects.filter(block__in=blocks):
        fates[end.n] = (str(end.get_end_display()), end.reason)
    rows = BEARERS[kind].objects.filter(season=season)
    secret = _secret_numbers(rows, viewer)
    for n, voided_at, reason in rows.values_list("n", "voided_at", "void_reason"):
        told = "" if n in secret else reason
        fates[n] = (_("in use"), "") if voided_at is None else (_("void"), told)
    return fates


def _secret_numbers(rows: Any, viewer: Viewer | None) -> set[int]:
    """Of finds that the viewer may not know of: their numbers are accounted for, and no more."""
    if rows.model is not Find or viewer is None or viewer.sees_restricted:
        return set()
    return set(rows.exclude(restriction=Restriction.NONE).values_list("n", flat=True))


def unaccounted_in(season: Season) -> int:
    """Numbers given of which nothing is known: there should be none."""
    lost = _("not accounted for")
    return sum(
        run.count for kind in NumberKind for run in numbers_of(season, kind) if run.fate == lost
    )


@dataclass(frozen=True)
class BlockState:
    block: NumberBlock
    used: int
    returned: int
    void: int

    @property
    def total(self) -> int:
        return self.block.last - self.block.first + 1

    @property
    def out(self) -> int:
        return self.total - self.used - self.returned - self.void


def blocks_of(season: Season) -> list[BlockState]:
    ends: dict[Any, list[str]] = {}
    for block, end in NumberEnd.objects.filter(block__season=season).values_list("block", "end"):
        ends.setdefault(block, []).append(end)
    return [
        BlockState(
            block, *(ends.get(block.pk, []).count(end) for end in ("used", "returned", "void"))
        )
        for block in NumberBlock.objects.standing().filter(season=season)
    ]
