"""Accounts and their passwords: the first director, invitations, administrators."""

from typing import Any
from uuid import UUID

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from records.acting import acting_account
from records.models import Account, Membership, OneTimeLink, Role
from records.permissions import demand_administrator, demand_full_sign_in
from records.refusals import Refused
from records.sign_in import hashed, link_for, make_link
from records.verbs.guard import current, save_in_words, verb_beyond_sites, void


def _the_link_decides(_account: Any) -> None:
    """Whoever holds an unused one-time link may; the verb itself looks at it."""


def _link_is_used_up() -> Refused:
    return Refused(
        _("This link is used up or too old. Ask for a new one; nothing was changed."), field=None
    )


@verb_beyond_sites(_the_link_decides)
def make_first_director(
    token: str, *, pk: UUID, name: str, sign_in_name: str, password: str
) -> Account:
    """The first account, administrator of this record; all links of its kind end with it."""
    links = OneTimeLink.objects.standing().filter(account=None).select_for_update()
    by_hash = {link.token_hash: link for link in links.order_by("pk")}
    link = by_hash.get(hashed(token))
    if link is not None and link.used_at is not None:
        return _sent_twice(Account.objects.filter(pk=pk).first(), password)
    if link is None or link.expires_at <= timezone.now() or Account.objects.exists():
        raise _link_is_used_up()
    account = Account(pk=pk, name=name, sign_in_name=sign_in_name, is_administrator=True)
    set_password(account, password)
    save_in_words(account)
    for each in by_hash.values():
        _use_up(each)
    return account


@verb_beyond_sites(_the_link_decides)
def set_password_by_link(token: str, *, password: str) -> Account:
    """The invited person chooses a password; the link is used up with it."""
    link = link_for(token, lock=True)
    if link is None:
        used = OneTimeLink.objects.filter(token_hash=hashed(token), used_at__isnull=False).first()
        return _sent_twice(used and used.account, password)
    if link.account is None or not link.account.is_active:
        raise _link_is_used_up()
    set_password(link.account, password)
    link.account.save()
    _use_up(link)
    return link.account


def _sent_twice(account: Account | None, password: str) -> Account:
    """The same form again: answered like the first time to whoever knows the password."""
    if account is None or not account.is_active or not account.check_password(password):
        raise _link_is_used_up()
    return account


def _use_up(link: OneTimeLink) -> None:
    if link.used_at is None:
        link.used_at = timezone.now()
        link.save()


def set_password(account: Account, password: str) -> None:
    """Check the password against the house's rules and set it, unsaved."""
    try:
        validate_password(password, account)
    except ValidationError as error:
        raise Refused(" ".join(error.messages), field="password") from error
    account.set_password(password)
    account._change_reason = _("password set")  # type: ignore[attr-defined]


@verb_beyond_sites(demand_full_sign_in)
def change_own_password(*, old: str, password: str) -> Account:
    account = current(Account, acting_account().pk, None)
    if not account.check_password(old):
        raise Refused(_("This is not your password until now."), field="old")
    set_password(account, password)
    account.save()
    return account


def newest_link(account: Account) -> str:
    """A fresh token for the account; callers have asked who may."""
    if not account.is_active:
        raise Refused(_("This account may not sign in. An administrator can allow it again."))
    for link in OneTimeLink.objects.standing().filter(account=account, used_at=None):
        void(link, _("A newer link was given."))
    return make_link(account)


def demand_another_director(leaving: Membership) -> None:
    others = Membership.objects.standing().filter(
        site=leaving.site, role=Role.DIRECTOR, account__is_active=True
    )
    if not others.exclude(pk=leaving.pk).exists():
        raise Refused(
            _(
                "This is the site's only director, and nobody could open it again. "
                "Make somebody else director first."
            ),
            field="role",
        )


@verb_beyond_sites(demand_administrator)
def give_link_to_account(account: Account) -> str:
    """As `give_link`, for any account, by an administrator."""
    return newest_link(current(Account, account.pk, None))


@verb_beyond_sites(demand_administrator)
def change_account(
    account: Account,
    seen_version: int | None,
    *,
    name: str,
    is_administrator: bool,
    is_active: bool,
) -> Account:
    keepers = Account.objects.select_for_update().filter(is_administrator=True, is_active=True)
    others = [one for one in keepers.order_by("pk") if one.pk != account.pk]
    row = current(Account, account.pk, seen_version)
    if row.is_administrator and not (is_administrator and is_active) and not others:
        raise Refused(
            _("This is the only administrator. Make somebody else administrator first."),
            field="is_administrator",
        )
    if row.is_active and not is_active:
        directs = Membership.objects.standing().filter(account=row, role=Role.DIRECTOR)
        for membership in directs.select_related("site"):
            demand_another_director(membership)
    row.name, row.is_administrator, row.is_active = name, is_administrator, is_active
    return save_in_words(row)
