"""The one place that decides who may do what, and whose records one may see."""

from enum import Enum
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from records.models import Audience, Membership, Release, Released, Role, Season, Site


class May(Enum):
    """What a page or verb asks for; the least role that has it."""

    SEE = Role.READER
    RECORD = Role.CREW  # days, dives, pictures, finds, measurements
    LEAD = Role.LEAD  # checks, voids, stages and goals, exceptions, divers, blocks
    PAPERS = Role.LEAD.value + ":papers"  # divers' papers: a permission of its own
    DIRECT = Role.DIRECTOR  # site, season, grid, accounts, tablets, releases, copies

    @property
    def least_role(self) -> Role:
        return Role(str(self.value).split(":")[0])


RANK = {role: rank for rank, role in enumerate(Role)}


def memberships_of(account: Any) -> QuerySet[Membership]:
    """Those that count as signed in now: by PIN, as crew of the tablet's site and nothing else."""
    if account is None or not account.is_authenticated or not account.is_active:
        return Membership.objects.none()
    mine = Membership.objects.standing().filter(account=account)
    if account.only_site_id is not None:
        return mine.filter(site=account.only_site_id, role=Role.CREW)
    return mine


def membership_of(account: Any, site: Site) -> Membership | None:
    return memberships_of(account).filter(site=site).select_related("account").first()


def signed_in_fully(account: Any) -> bool:
    """By password; a PIN opens one site's record and no more."""
    return bool(
        account is not None
        and account.is_authenticated
        and account.is_active
        and account.only_site_id is None
    )


def is_administrator(account: Any) -> bool:
    return signed_in_fully(account) and bool(account.is_administrator)


def role_may(role: str | None, may: May) -> bool:
    return role is not None and RANK[Role(role)] >= RANK[may.least_role]


def demand(account: Any, site: Site, may: May) -> Membership:
    """The account's membership, if it may; refuses in words otherwise."""
    membership = membership_of(account, site)
    if membership is None or not role_may(membership.role, may):
        raise PermissionDenied(
            _("This needs the role of %(role)s on this site.") % {"role": may.least_role.label}
        )
    return membership


def demand_administrator(account: Any) -> None:
    if not is_administrator(account):
        raise PermissionDenied(_("This is for administrators, signed in with their password."))


def demand_full_sign_in(account: Any) -> None:
    if not signed_in_fully(account):
        raise PermissionDenied(_("This is for people signed in with their password."))


def sites_for(account: Any) -> QuerySet[Site]:
    """Every query starts here: the sites one is a standing member of."""
    return Site.objects.standing().filter(pk__in=memberships_of(account).values("site"))


def seasons_for(account: Any) -> QuerySet[Season]:
    return Season.objects.standing().filter(site__in=sites_for(account)).select_related("site")


def is_released(season: Season, what: Released, *, to_public: bool = False) -> bool:
    audiences = [Audience.PUBLIC] if to_public else [Audience.PUBLIC, Audience.READERS]
    return (
        Release.objects.standing().filter(season=season, what=what, audience__in=audiences).exists()
    )


def sees_names(role: str) -> bool:
    """Who made, drew, dived or found what, by name or initials: those who record."""
    return role_may(role, May.RECORD)


def sees_site_positions(role: str, season: Season) -> bool:
    """Site E, N: crew and up, or readers once released."""
    return role_may(role, May.RECORD) or is_released(season, Released.POSITIONS)


def sees_geographic(role: str, season: Season) -> bool:
    """Latitude and longitude: leads and the director."""
    return role_may(role, May.LEAD) or is_released(season, Released.GEOGRAPHIC)


def sees_diving_place(role: str, season: Season) -> bool:
    """The place named on a diving day: those who log it, and readers only once it is released."""
    return role_may(role, May.RECORD) or is_released(season, Released.GEOGRAPHIC)
