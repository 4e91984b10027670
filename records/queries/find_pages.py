"""The list of finds and the page of one; a constant number of queries for any number of finds."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.models import Find, FindPicture, Fix, NumberKind, Photograph, Season, Whereabouts
from records.queries.changes import Change, changes_since
from records.queries.finds import finds_seen, fix_of, with_all
from records.queries.numbers import blocks_of
from records.queries.pictures import pictures_for
from records.queries.squares import find_square
from records.refusals import Refused
from records.telling import told_number

CHOICES = {
    "no-position": gettext_lazy("without a position"),
    "no-picture": gettext_lazy("without a picture"),
    "lifted": gettext_lazy("lifted"),
}


@dataclass(frozen=True)
class Counts:
    finds: int
    lifted: int
    without_position: int

    @property
    def sentence(self) -> str:
        if not self.finds:
            return _("No find is registered yet.")
        first = ngettext("%(n)s find", "%(n)s finds", self.finds) % {"n": self.finds}
        if self.lifted:
            first = _("%(finds)s, %(n)s lifted") % {"finds": first, "n": self.lifted}
        if not self.without_position:
            return _("%(finds)s; each has its position.") % {"finds": first}
        return ngettext(
            "%(finds)s; %(n)s on a square still wants its position.",
            "%(finds)s; %(n)s on squares still want their position.",
            self.without_position,
        ) % {"finds": first, "n": self.without_position}


def counts_of(season: Season, *, may_lead: bool) -> Counts:
    """Of the standing finds that the person may know of; one query."""
    finds: Any = _annotated(finds_seen(season, may_lead=may_lead).filter(voided_at=None))
    return Counts(
        **finds.aggregate(
            finds=Count("pk"),
            lifted=Count("pk", filter=Q(whereabouts=Whereabouts.LIFTED)),
            without_position=Count("pk", filter=Q(has_fix=False, square__isnull=False)),
        )
    )


def listed(
    season: Season, *, may_lead: bool, sees_places: bool, search: str = "", only: str = ""
) -> QuerySet[Find]:
    """Standing finds, the latest number first. `search`: words of the find, or its square."""
    finds: Any = _annotated(finds_seen(season, may_lead=may_lead).filter(voided_at=None))
    for word in search.casefold().split():
        finds = finds.filter(_meant(season, word, sees_places=sees_places))
    if only == "no-position":
        finds = finds.filter(has_fix=False, square__isnull=False)
    elif only == "no-picture":
        finds = finds.filter(has_picture=False)
    elif only == "lifted":
        finds = finds.filter(whereabouts=Whereabouts.LIFTED)
    return with_all(finds.order_by("-n"))


def _annotated(finds: QuerySet[Find]) -> QuerySet[Find]:
    fixes = Fix.objects.standing().filter(find=OuterRef("pk"))
    pictures = FindPicture.objects.standing().filter(find=OuterRef("pk"))
    return finds.annotate(has_fix=Exists(fixes), has_picture=Exists(pictures))


def _meant(season: Season, word: str, *, sees_places: bool) -> Q:
    meant = Q(search_text__contains=word)
    if sees_places:
        meant |= Q(where_in_words__icontains=word)
    try:
        return meant | Q(square=find_square(season.site, word))
    except Refused:
        return meant


@dataclass(frozen=True)
class Shown:
    """A picture of the find, and the photograph that it is in the season's register."""

    link_id: UUID
    picture: Any
    photograph: Photograph | None


@dataclass(frozen=True)
class FindShown:
    find: Find
    fix: Fix | None
    pictures: list[Shown]

    @property
    def offsets(self) -> tuple[float, float] | None:
        return self.fix.offsets_m if self.fix else None

    @property
    def sentence(self) -> str:
        find = self.find
        if find.is_voided:
            return _("This find is void; its number stays.")
        told: dict[str, str] = {
            "what": find.object_name[:1].upper() + find.object_name[1:],
            "where": _("off the grid"),
            "state": str(find.get_whereabouts_display()),
        }
        if find.square is not None:
            told["where"] = _("on %(square)s") % {"square": find.square.label}
        if self.offsets is None:
            return _("%(what)s %(where)s, %(state)s.") % told
        told["x"], told["y"] = (told_number(round(one, 3)) for one in self.offsets)
        return _("%(what)s %(where)s at x %(x)s m, y %(y)s m, %(state)s.") % told

    @property
    def wants_position(self) -> bool:
        return self.fix is None and self.find.square is not None


def find_shown(find: Find, *, may_lead: bool) -> FindShown:
    """`find`: asked for `with_all`."""
    links = FindPicture.objects.standing().filter(find=find)
    by_picture = dict(links.values_list("picture_id", "pk"))
    seen = pictures_for(find.season, may_lead=may_lead).filter(pk__in=by_picture)
    numbers = Photograph.objects.filter(picture__in=by_picture).select_related("season")
    photographs = {one.picture_id: one for one in numbers}
    pictures = [Shown(by_picture[one.pk], one, photographs.get(one.pk)) for one in seen]
    pictures.sort(key=lambda one: one.photograph.n if one.photograph else 0)
    return FindShown(find, fix_of(find), pictures)


def changed_since(find: Find, version: int) -> list[Change]:
    """As `changes_since`; what hangs on the find is told in the words of its save."""
    rows: Iterable[Any] = find.history.filter(version__gt=version).order_by("version")
    told = [
        Change(_("also"), "", row.history_change_reason)
        for row in rows
        if row.history_change_reason
    ]
    return [*changes_since(find, version), *told]


def tags_out(season: Season) -> list[str]:
    """Blocks of find tags of which some are still out: `201–220 (pair 3)`."""
    return [
        f"{one.block.first}–{one.block.last} ({one.block.given_to})"
        for one in blocks_of(season)
        if one.block.kind == NumberKind.FIND and one.out
    ]
