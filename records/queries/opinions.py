"""What frames' pixels say, in words: each flag beside the frame that shows its ground sharper."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.intake.opinions import Flag, Judgement, RunOpinions, SlipKind, run_opinions
from records.models import Frame, Job, JobState, PhotoRun, Picture
from records.refusals import in_words

__all__ = ["OpinionsShown", "opinions_shown", "run_opinions", "tags_of", "words_of"]

TAGS: Mapping[Flag, Any] = {
    Flag.MOTION: gettext_lazy("blurred by movement"),
    Flag.DEFOCUS: gettext_lazy("out of focus"),
    Flag.DARK: gettext_lazy("too dark"),
    Flag.BRIGHT: gettext_lazy("too bright"),
    Flag.BACKSCATTER: gettext_lazy("backscatter"),
}
AT_WORK = (JobState.WAITING, JobState.RUNNING)


@dataclass(frozen=True)
class Shown:
    """A frame of a run beside others: its picture, what it is called, and where it stands."""

    picture: Picture
    photograph_id: UUID
    number: str
    station: str


@dataclass(frozen=True)
class Flagged:
    frame: Shown
    words: list[str]
    sharper: Shown | None
    trusted: str


@dataclass(frozen=True)
class OpinionsShown:
    """`well`: where nothing is wrong; `notes`: what could not be told, so that nobody takes
    silence for praise."""

    flagged: list[Flagged]
    slips: list[str]
    well: str
    notes: list[str]


def tags_of(judged: Judgement) -> list[str]:
    return [str(TAGS[remark.flag]) for remark in judged.remarks]


def words_of(judged: Judgement, names: Mapping[str, str]) -> list[str]:
    """Its remarks, with frames called as the page calls them."""
    called = {"frame", "sharpest"}
    return [
        _(remark.sentence)
        % {
            place: names.get(str(value), value) if place in called else value
            for place, value in remark.values.items()
        }
        for remark in judged.remarks
    ]


def opinions_shown(run: PhotoRun, opinions: RunOpinions) -> OpinionsShown | None:
    """None before any frame of the run is kept."""
    if not opinions.frames:
        return None
    return OpinionsShown(
        flagged=[_flagged(run, opinions, frame) for frame in opinions.flagged],
        slips=[in_words(slip) for slip in opinions.slips],
        well=_well(opinions),
        notes=list(_notes(run, opinions)),
    )


def why_flagged(frame: Frame) -> list[str]:
    """What the pixels of a run's frame say against it, in words; empty where nothing does."""
    return _why_flagged(frame, run_opinions(frame.run))


def _why_flagged(frame: Frame, opinions: RunOpinions) -> list[str]:
    if frame not in opinions.flagged:
        return []
    return _flagged(frame.run, opinions, frame).words


def said_of(frame: Frame | None) -> list[str]:
    """Flags of a kept frame of a run, and slips of the tower that it shows, in the run's words."""
    if frame is None or frame.run is None or not frame.is_kept:
        return []
    opinions = run_opinions(frame.run)
    slips = [
        in_words(slip)
        for slip in opinions.slips
        if slip.kind is not SlipKind.EVERY_STEP and str(frame.pk) in slip.keys
    ]
    return _why_flagged(frame, opinions) + slips


def _flagged(run: PhotoRun, opinions: RunOpinions, frame: Frame) -> Flagged:
    judged = opinions.judged[frame.pk]
    sharper = opinions.frames.get(UUID(judged.sharpest)) if judged.sharpest else None
    names = {str(one.pk): one.photograph.number for one in (frame, sharper) if one is not None}
    return Flagged(
        _shown(run, frame),
        words_of(judged, names),
        None if sharper is None else _shown(run, sharper),
        frame.trusted_reason,
    )


def _shown(run: PhotoRun, frame: Frame) -> Shown:
    place = run.places.get((frame.row_id, frame.station))
    return Shown(
        frame.photograph.picture,
        frame.photograph_id,
        frame.photograph.number,
        "" if place is None else run.station_words(place),
    )


def _well(opinions: RunOpinions) -> str:
    """Empty where something is wrong, and while nothing was looked at."""
    if opinions.flagged or opinions.slips or opinions.unmeasured >= len(opinions.frames):
        return ""
    if opinions.unmeasured:
        return _("No frame that was looked at is blurred, badly exposed or covered with specks.")
    return _(
        "No frame is blurred, badly exposed or covered with specks, and no slip of the tower "
        "shows, as far as neighbouring frames tell."
    )


def _notes(run: PhotoRun, opinions: RunOpinions) -> Iterator[str]:
    if opinions.unmeasured:
        words = ngettext(
            "%(n)d frame has not been looked at yet.",
            "%(n)d frames have not been looked at yet.",
            opinions.unmeasured,
        )
        yield words % {"n": opinions.unmeasured}
    alone = sum(
        one.unfit is not None and one.unfit.code == "no-neighbour"
        for one in opinions.judged.values()
    )
    if alone:
        words = ngettext(
            "Whether %(n)d frame is sharp cannot be told: no other frame shows the same ground.",
            "Whether %(n)d frames are sharp cannot be told: no other frames show the same ground.",
            alone,
        )
        yield words % {"n": alone}
    comparing = Job.objects.filter(kind="seen", argument={"run": str(run.pk)}, state__in=AT_WORK)
    if comparing.exists():
        yield _("Neighbouring frames are being compared; whether the tower slipped is told then.")
    yield from (in_words(one) for one in opinions.untold)
