"""Divers of a site and their papers. Papers have a permission of their own and stay at home:
no package takes them along."""

import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import Account, Diver, DiverPaper, Membership, Site
from records.permissions import May
from records.refusals import Refused
from records.verbs.guard import (
    ALWAYS,
    as_made_before,
    current,
    demand_standing,
    save_in_words,
    verb,
    void,
)


@verb(May.LEAD, ALWAYS)
def add_diver(
    site: Site, *, pk: UUID, name: str, initials: str, account: Account | None = None
) -> Diver:
    said = {"name": name, "initials": initials.strip().upper(), "account": account}
    if (known := as_made_before(Diver, pk, **said)) is not None:
        return known
    return _checked(Diver(pk=pk, site=site, **said))


@verb(May.LEAD, ALWAYS)
def edit_diver(
    diver: Diver,
    seen_version: int | None,
    *,
    name: str,
    initials: str,
    account: Account | None = None,
) -> Diver:
    row = current(Diver, diver.pk, seen_version)
    demand_standing(row)
    row.name, row.initials, row.account = name, initials.strip().upper(), account
    return _checked(row)


def _checked(diver: Diver) -> Diver:
    on_site = Diver.objects.standing().filter(site=diver.site).exclude(pk=diver.pk)
    if (taken := on_site.filter(initials=diver.initials).first()) is not None:
        raise Refused(
            _("%(name)s already has these initials. Choose others.") % {"name": taken.name},
            field="initials",
        )
    if diver.account is not None:
        members = Membership.objects.standing().filter(site=diver.site, account=diver.account)
        if not members.exists():
            raise Refused(_("This account is no member of the site."), field="account")
    return save_in_words(diver)


@verb(May.LEAD, ALWAYS)
def void_diver(diver: Diver, *, reason: str) -> Diver:
    """Taken off the list; the dives stay as they were logged."""
    row = current(Diver, diver.pk, None)
    void(row, reason)
    return row


@verb(May.PAPERS, ALWAYS)
def add_paper(
    diver: Diver,
    *,
    pk: UUID,
    kind: str,
    reference: str = "",
    issued_on: datetime.date | None = None,
    expires_on: datetime.date | None = None,
    note: str = "",
) -> DiverPaper:
    said = {
        "kind": kind,
        "reference": reference,
        "issued_on": issued_on,
        "expires_on": expires_on,
        "note": note,
    }
    if (known := as_made_before(DiverPaper, pk, **said)) is not None:
        return known
    demand_standing(diver)
    return save_in_words(DiverPaper(pk=pk, diver=diver, **said))


@verb(May.PAPERS, ALWAYS)
def edit_paper(
    paper: DiverPaper,
    seen_version: int | None,
    *,
    kind: str,
    reference: str = "",
    issued_on: datetime.date | None = None,
    expires_on: datetime.date | None = None,
    note: str = "",
) -> DiverPaper:
    row = current(DiverPaper, paper.pk, seen_version)
    demand_standing(row)
    row.kind, row.reference, row.note = kind, reference, note
    row.issued_on, row.expires_on = issued_on, expires_on
    return save_in_words(row)


@verb(May.PAPERS, ALWAYS)
def void_paper(paper: DiverPaper, *, reason: str) -> DiverPaper:
    row = current(DiverPaper, paper.pk, None)
    void(row, reason)
    return row
