"""People of a site as its pages ask for them."""

import datetime
from dataclasses import dataclass

from django.db.models import Case, IntegerField, QuerySet, Value, When

from records.models import Diver, DiverPaper, Membership, Role, Site, TrustedTablet

SOON = datetime.timedelta(days=30)


def members(site: Site) -> QuerySet[Membership]:
    """Standing members, the director first."""
    rank = Case(
        *(When(role=role, then=Value(-place)) for place, role in enumerate(Role)),
        output_field=IntegerField(),
    )
    standing = Membership.objects.standing().filter(site=site).select_related("account")
    return standing.order_by(rank, "initials")


def former_members(site: Site) -> QuerySet[Membership]:
    voided = Membership.objects.filter(site=site, voided_at__isnull=False)
    return voided.select_related("account").order_by("-voided_at")


def trusted_tablets(site: Site) -> QuerySet[TrustedTablet]:
    return TrustedTablet.objects.standing().filter(site=site).select_related("made_by")


def divers(site: Site) -> QuerySet[Diver]:
    return Diver.objects.standing().filter(site=site)


@dataclass(frozen=True)
class PaperState:
    """A paper that stands for its kind, and how it stands on a day."""

    paper: DiverPaper
    run_out: bool
    soon: bool


def papers_in_force(site: Site, on: datetime.date) -> list[PaperState]:
    """Of every diver and kind the paper valid longest; a renewed one hides its forerunner."""
    standing = (
        DiverPaper.objects.standing()
        .filter(diver__site=site, diver__voided_at=None)
        .select_related("diver")
    )
    longest: dict[tuple[object, str], DiverPaper] = {}
    for paper in standing:
        key = (paper.diver_id, paper.kind)
        if key not in longest or _until(paper) > _until(longest[key]):
            longest[key] = paper
    return [
        PaperState(paper, run_out=_until(paper) < on, soon=on <= _until(paper) <= on + SOON)
        for paper in longest.values()
    ]


def _until(paper: DiverPaper) -> datetime.date:
    return paper.expires_on or datetime.date.max
