"""Who may write on a find, what cannot be said of one, and what is unlikely: asked once."""

import math
from collections.abc import Iterator

from django.utils.translation import gettext as _

from records.acting import acting_account
from records.models import DiveMember, Find, Restriction, Season, SquareGoal, Whereabouts
from records.permissions import May, demand
from records.refusals import Refused
from records.telling import told_number
from records.verbs.find_entry import FindEntry
from records.verbs.guard import current, demand_standing

SIZES = ("length_mm", "width_mm", "height_mm")

# Only questions hang on these: slips of a finger are caught, great anchors may be confirmed.
MANY = 500
LONG_MM = 5_000
HEAVY_G = 1_000_000

Asked = Iterator[tuple[str, str]]


def standing_find(find: Find, seen_version: int | None = None) -> Find:
    """The row, locked, if this person may write on it; part of a guarded verb."""
    row = current(Find, find.pk, seen_version)
    if row.is_restricted:
        demand(acting_account(), row.season.site, May.LEAD)
    demand_standing(row)
    return row


def refuse_impossible(season: Season, entry: FindEntry, find: Find | None = None) -> None:
    """`find`: the one that is edited; what stands on it already may stay."""
    _refuse_place(season, entry, find)
    if not entry.object_name.strip() and entry.restriction == Restriction.NONE:
        raise Refused(_("Say what it is, in a word or two."), field="object_name")
    if entry.found_on > season.today():
        raise Refused(_("This day has not come yet."), field="found_on")
    _refuse_people(season, entry, find)
    for name in (*SIZES, "weight_g"):
        value = getattr(entry, name)
        if value is not None and not (math.isfinite(value) and value > 0):
            raise Refused(_("Give more than 0, or leave it empty."), field=name)
    if entry.count < 1:
        raise Refused(_("Count at least one piece."), field="count")
    was_lifted = find is not None and find.whereabouts == Whereabouts.LIFTED
    restricted = (find.restriction if find else entry.restriction) != Restriction.NONE
    if restricted and entry.whereabouts == Whereabouts.LIFTED and not was_lifted:
        raise Refused(_("This is left where it lies: it is not lifted."), field="whereabouts")


def _refuse_people(season: Season, entry: FindEntry, find: Find | None) -> None:
    dive, diver = entry.dive, entry.found_by
    kept = find is not None and find.dive == dive
    if dive is not None and not kept and (dive.season_id != season.pk or dive.is_voided):
        raise Refused(_("This dive is void or of another season. Choose another."), field="dive")
    if diver is not None and diver.site_id != season.site_id:
        raise Refused(_("This diver belongs to another site."), field="found_by")


def _refuse_place(season: Season, entry: FindEntry, find: Find | None) -> None:
    square, stage, words = entry.square, entry.stage, entry.where_in_words.strip()
    if square is None:
        if not words:
            raise Refused(_("Name the square, or say in words where it lay."), field="square")
        if stage is not None:
            raise Refused(_("A stage belongs to a square. Name the square too."), field="stage")
        return
    if words:
        raise Refused(
            _("Give either the square or the place in words, not both."), field="where_in_words"
        )
    if find is not None and (find.square_id, find.stage_id) == (square.pk, stage and stage.pk):
        return
    if square.is_voided or square.grid.site_id != season.site_id:
        raise Refused(_("This square is not on the site. Look at the plan."), field="square")
    if stage is None and entry.restriction != Restriction.NONE:
        return  # what has to be told is never held up by a stage
    goals = SquareGoal.objects.standing().filter(stage__season=season, stage__voided_at=None)
    if stage is None or not goals.filter(stage=stage, square=square).exists():
        raise Refused(
            _(
                "%(square)s is not open in this stage. The lead opens it on the plan; "
                "until then say in words where it lay."
            )
            % {"square": square},
            field="square",
        )


def doubts(season: Season, entry: FindEntry) -> dict[str, str]:
    """Questions by a key that stays the same when the value does not."""
    if entry.restriction != Restriction.NONE:
        return {}
    return dict([*_of_day(season, entry), *_of_diver(entry), *_of_size(entry)])


def _of_day(season: Season, entry: FindEntry) -> Asked:
    if not season.starts_on <= entry.found_on <= season.ends_on:
        yield "found_on", _("%(day)s is outside the season.") % {"day": entry.found_on}
    elif entry.dive is not None and entry.dive.day.date != entry.found_on:
        yield (
            "found_on",
            _("Dive %(n)s was on %(date)s, not on %(day)s.")
            % {"n": entry.dive.n, "date": entry.dive.day.date, "day": entry.found_on},
        )


def _of_diver(entry: FindEntry) -> Asked:
    if entry.dive is None or entry.found_by is None:
        return
    if not DiveMember.objects.filter(dive=entry.dive, diver=entry.found_by).exists():
        yield (
            "found_by",
            _("%(who)s was not on dive %(n)s.")
            % {"who": entry.found_by.initials, "n": entry.dive.n},
        )


def _of_size(entry: FindEntry) -> Asked:
    if entry.count > MANY:
        yield "count", _("%(count)s pieces are very many.") % {"count": entry.count}
    for name in SIZES:
        value = getattr(entry, name)
        if value is not None and value > LONG_MM:
            label = Find._meta.get_field(name).verbose_name  # type: ignore[union-attr]
            yield (
                name,
                _("%(what)s: %(metres)s m is very much.")
                % {"what": label, "metres": told_number(value / 1000)},
            )
    if entry.weight_g is not None and entry.weight_g > HEAVY_G:
        yield (
            "weight_g",
            _("A weight of %(kilograms)s kg is very much.")
            % {"kilograms": told_number(entry.weight_g / 1000)},
        )
