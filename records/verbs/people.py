"""Who is what on a site, and their PINs."""

import re
from itertools import pairwise
from uuid import UUID

from django.contrib.auth.hashers import make_password
from django.utils.translation import gettext as _

from records.acting import acting_account
from records.models import Account, Membership, Role, Site
from records.permissions import May, is_administrator, membership_of, role_may
from records.refusals import Refused
from records.verbs.accounts import demand_another_director, newest_link
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
def make_account(
    site: Site, *, pk: UUID, name: str, sign_in_name: str, role: str, initials: str
) -> Membership:
    """A person new to this record. They choose their password by a one-time link."""
    if (known := _sent_before(pk, role, initials)) is not None:
        return known
    if Account.objects.filter(sign_in_name=sign_in_name.strip().casefold()).exists():
        raise Refused(
            _(
                "This sign-in name is taken. Choose another; or, if it is the same person, "
                "add them as somebody who has an account."
            ),
            field="sign_in_name",
        )
    account = Account(name=name, sign_in_name=sign_in_name)
    account.set_unusable_password()
    save_in_words(account)
    return _member(site, account, pk, role, initials)


@verb(May.DIRECT, ALWAYS)
def add_member(site: Site, *, pk: UUID, sign_in_name: str, role: str, initials: str) -> Membership:
    """Somebody who has an account already, from another site."""
    if (known := _sent_before(pk, role, initials)) is not None:
        return known
    name = sign_in_name.strip().casefold()
    account = Account.objects.filter(sign_in_name=name, is_active=True).first()
    if account is None:
        raise Refused(_("Nobody has this sign-in name."), field="sign_in_name")
    return _member(site, account, pk, role, initials)


def _sent_before(pk: UUID, role: str, initials: str) -> Membership | None:
    return as_made_before(Membership, pk, role=role, initials=initials.strip().upper())


def _member(site: Site, account: Account, pk: UUID, role: str, initials: str) -> Membership:
    initials = initials.strip().upper()
    taken = Membership.objects.standing().filter(site=site, initials=initials).first()
    if taken is not None:
        raise _initials_taken(taken)
    return save_in_words(
        Membership(pk=pk, site=site, account=account, role=role, initials=initials)
    )


def _initials_taken(by: Membership) -> Refused:
    return Refused(
        _("%(name)s already has these initials. Choose others.") % {"name": by.account.name},
        field="initials",
    )


@verb(May.DIRECT, ALWAYS)
def change_member(
    membership: Membership, seen_version: int | None, *, name: str, role: str, initials: str
) -> Membership:
    row = current(Membership, membership.pk, seen_version)
    demand_standing(row)
    if row.role == Role.DIRECTOR and role != Role.DIRECTOR:
        demand_another_director(row)
    initials = initials.strip().upper()
    same = Membership.objects.standing().filter(site=row.site, initials=initials).exclude(pk=row.pk)
    if (taken := same.first()) is not None:
        raise _initials_taken(taken)
    if name != row.account.name:
        demand_in_hand(row.account)
        row.account.name = name
        save_in_words(row.account)
        row._change_reason = _("name changed to %(name)s") % {"name": name}  # type: ignore[attr-defined]
    row.role, row.initials = role, initials
    if role != Role.CREW:
        row.pin_hash = ""
    return save_in_words(row)


@verb(May.DIRECT, ALWAYS)
def set_pin(membership: Membership, *, pin: str) -> Membership:
    """A PIN for the trusted tablets; it ends the sessions begun with the old one."""
    row = current(Membership, membership.pk, None)
    demand_standing(row)
    if row.role != Role.CREW:
        raise Refused(_("Only crew have a PIN: leads and the director sign in by password."))
    row.pin_hash = make_password(_checked_pin(pin))
    row._change_reason = _("PIN set")  # type: ignore[attr-defined]
    row.save()
    return row


def _checked_pin(pin: str) -> str:
    if not re.fullmatch(r"[0-9]{4,8}", pin):
        raise Refused(_("A PIN has four to eight digits."), field="pin")
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}
    if steps in ({0}, {1}, {9}):
        raise Refused(_("This PIN is the first that anybody tries. Choose another."), field="pin")
    return pin


@verb(May.DIRECT, ALWAYS)
def end_membership(membership: Membership, *, reason: str) -> Membership:
    """The person no longer belongs to the site; what they recorded stays under their name."""
    row = current(Membership, membership.pk, None)
    if row.role == Role.DIRECTOR and not row.is_voided:
        demand_another_director(row)
    void(row, reason)
    return row


@verb(May.DIRECT, ALWAYS)
def give_link(membership: Membership) -> str:
    """The token of a one-time link by which the person chooses a password; earlier ones end."""
    demand_standing(current(Membership, membership.pk, None))
    demand_in_hand(membership.account)
    return newest_link(membership.account)


def demand_in_hand(account: Account) -> None:
    """A director may not take over an account that reaches further than their own sites."""
    acting = acting_account()
    if is_administrator(acting) or account.pk == acting.pk:
        return
    elsewhere = [
        one
        for one in Membership.objects.standing().filter(account=account).select_related("site")
        if not _directs(acting, one.site)
    ]
    if elsewhere or account.is_administrator:
        raise Refused(
            _(
                "This account also reaches beyond your site, so only an administrator "
                "can give it a new link or another name."
            )
        )


def _directs(account: Account, site: Site) -> bool:
    mine = membership_of(account, site)
    return mine is not None and role_may(mine.role, May.DIRECT)
