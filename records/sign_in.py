"""Ways to sign in: a password anywhere, or initials and a PIN on a tablet the director trusts."""

import datetime
import hashlib
import secrets
from typing import Any
from uuid import UUID

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.http import HttpRequest
from django.utils import timezone

from records.models import Account, Membership, OneTimeLink, Role, TrustedTablet

LINK_VALID = datetime.timedelta(days=3)
TABLET_COOKIE = "trusted-tablet"


def hashed(token: str) -> str:
    """Only the hash of a token is kept."""
    return hashlib.sha256(token.encode()).hexdigest()


class _Backend:
    def get_user(self, account_id: UUID) -> Account | None:
        return Account.objects.filter(pk=account_id, is_active=True).first()


class PasswordBackend(_Backend):
    def authenticate(
        self,
        request: HttpRequest | None,
        username: str | None = None,
        password: str | None = None,
        **_credentials: Any,
    ) -> Account | None:
        if username is None or password is None:
            return None
        account = Account.objects.filter(sign_in_name=username.strip().casefold()).first()
        if account is None:
            make_password(password)  # the same time as for a known name
            return None
        return account if account.check_password(password) and account.is_active else None


class PinBackend(_Backend):
    """Crew only: leads and the director sign in fully."""

    def authenticate(
        self,
        request: HttpRequest | None,
        tablet: TrustedTablet | None = None,
        initials: str | None = None,
        pin: str | None = None,
        **_credentials: Any,
    ) -> Account | None:
        if tablet is None or tablet.is_voided or not initials or not pin:
            return None
        member: Membership | None = (
            Membership.objects.standing()
            .select_related("account")
            .filter(site=tablet.site_id, role=Role.CREW, initials=initials.strip().upper())
            .first()
        )
        if member is None or not member.pin_hash:
            make_password(pin)  # the same time as for known initials
            return None
        if not check_password(pin, member.pin_hash) or not member.account.is_active:
            return None
        account: Account = member.account
        return account


def pin_name(tablet: TrustedTablet | None, initials: str) -> str:
    """In capitals, which no sign-in name has: nobody locks a PIN from outside the tablet."""
    return f"PIN {getattr(tablet, 'site_id', '')} {initials.strip().upper()}"


def name_tried(request: HttpRequest, credentials: dict[str, Any] | None = None) -> str:
    """What the throttle counts tries against: the sign-in name, or site and initials."""
    given = credentials or {}
    if given.get("initials"):
        return pin_name(given.get("tablet"), given["initials"])
    name = given.get("username") or request.POST.get("username") or ""
    return str(name).strip().casefold()


def throttled_by(tried: Any, credentials: dict[str, Any] | None = None) -> list[str | list[str]]:
    """A password is throttled by name and address, so that nobody locks out the director from
    afar; a PIN, short as it is, by initials alone. `tried` is a request or a kept try."""
    name = tried.username if hasattr(tried, "username") else name_tried(tried, credentials)
    if str(name).startswith("PIN "):
        return ["username"]
    return [["username", "ip_address"]]


def make_link(account: Account | None) -> str:
    """A token that sets this account's password once; None makes the first director."""
    token = secrets.token_urlsafe(24)
    OneTimeLink.objects.create(
        account=account, token_hash=hashed(token), expires_at=timezone.now() + LINK_VALID
    )
    return token


def first_director_link() -> str | None:
    """A token for the first account, or None once there is one; earlier tokens end."""
    if Account.objects.exists():
        return None
    with transaction.atomic():
        for link in OneTimeLink.objects.filter(account=None, expires_at__gt=timezone.now()):
            link.expires_at = timezone.now()
            link.save()
        return make_link(None)


def link_for(token: str, *, lock: bool = False) -> OneTimeLink | None:
    """The unused, unexpired link of a token."""
    links = OneTimeLink.objects.standing().filter(
        token_hash=hashed(token), used_at=None, expires_at__gt=timezone.now()
    )
    return (links.select_for_update() if lock else links).first()
