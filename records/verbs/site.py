"""The site, and its tie to the world."""

from collections.abc import Sequence
from uuid import UUID

from django.utils.translation import gettext as _

from records.acting import acting_account
from records.models import Membership, Role, Site, SiteAnchor
from records.permissions import May, demand_administrator
from records.refusals import Conflict, Refused
from records.verbs.guard import (
    ALWAYS,
    as_made_before,
    current,
    save_in_words,
    verb,
    verb_beyond_sites,
    void,
)


@verb_beyond_sites(demand_administrator)
def make_site(*, pk: UUID, code: str, name: str, initials: str, description: str = "") -> Site:
    """A site of which the acting administrator becomes director."""
    said = {"code": code.strip().casefold(), "name": name, "description": description}
    if (known := as_made_before(Site, pk, **said)) is not None:
        return known
    site = save_in_words(Site(pk=pk, **said))
    director = {"account": acting_account(), "role": Role.DIRECTOR, "initials": initials}
    save_in_words(Membership(site=site, **director))
    return site


@verb(May.DIRECT, ALWAYS)
def edit_site(
    site: Site,
    seen_version: int | None,
    *,
    name: str,
    description: str,
    object_names: Sequence[str],
) -> Site:
    """The code stays: it stands in addresses that people have kept."""
    row = current(Site, site.pk, seen_version)
    row.name, row.description = name, description
    row.object_names = [name for name in dict.fromkeys(map(str.strip, object_names)) if name]
    if not row.object_names:
        raise Refused(_("Keep at least one object name."), field="object_names")
    return save_in_words(row)


@verb(May.DIRECT, ALWAYS)
def set_anchor(
    site: Site,
    *,
    pk: UUID,
    latitude_deg: float,
    longitude_deg: float,
    site_north_deg: float = 0.0,
    datum_note: str = "",
    replaces: UUID | None = None,
    reason: str = "",
) -> SiteAnchor:
    """Where the site's origin lies. The former anchor (`replaces`, as seen) is made void."""
    said = {
        "latitude_deg": latitude_deg,
        "longitude_deg": longitude_deg,
        "site_north_deg": site_north_deg,
        "datum_note": datum_note,
    }
    if (known := as_made_before(SiteAnchor, pk, **said)) is not None:
        return known
    standing = SiteAnchor.objects.standing().filter(site=site).select_for_update().first()
    if (standing.pk if standing else None) != replaces:
        raise Conflict(
            _(
                "Somebody else set the anchor while you were typing. Nothing was overwritten. "
                "Open this page anew, look at theirs, then set yours if it is still right."
            )
        )
    if standing is not None:
        void(standing, reason)
    return save_in_words(SiteAnchor(pk=pk, site=site, **said))
