"""Tablets that the director trusts: crew sign in there by initials and PIN."""

import secrets
from uuid import UUID

from records.models import Site, TrustedTablet
from records.permissions import May
from records.sign_in import hashed
from records.verbs.guard import (
    ALWAYS,
    as_made_before,
    current,
    demand_standing,
    save_in_words,
    verb,
    void,
)


@verb(May.DIRECT, ALWAYS)
def trust_tablet(site: Site, *, pk: UUID, name: str) -> tuple[TrustedTablet, str]:
    """The tablet and the token for its cookie. Sent twice, the later answer's token counts,
    since the tablet may never have got the first."""
    token = secrets.token_urlsafe(32)
    tablet = as_made_before(TrustedTablet, pk, name=name)
    if tablet is None:
        tablet = TrustedTablet(pk=pk, site=site, name=name)
    demand_standing(tablet)
    tablet.token_hash = hashed(token)
    return save_in_words(tablet), token


@verb(May.DIRECT, ALWAYS)
def distrust_tablet(tablet: TrustedTablet, *, reason: str) -> TrustedTablet:
    """Ends every session begun by PIN on it."""
    row = current(TrustedTablet, tablet.pk, None)
    void(row, reason)
    return row
