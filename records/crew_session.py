"""A crew member's short session on a trusted tablet: one site, as crew, while the tablet holds."""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, login, logout
from django.http import HttpRequest, HttpResponse

from records.models import Account, Membership, Role, TrustedTablet
from records.sign_in import TABLET_COOKIE, hashed

PIN_BACKEND = "records.sign_in.PinBackend"
KEPT = "crew_session"


def tablet_of(request: HttpRequest) -> TrustedTablet | None:
    """The trusted tablet that the request comes from."""
    token = request.COOKIES.get(TABLET_COOKIE, "")
    if not token:
        return None
    tablets = TrustedTablet.objects.standing().select_related("site")
    return tablets.filter(token_hash=hashed(token), site__voided_at=None).first()


def begin(request: HttpRequest, account: Account, tablet: TrustedTablet) -> None:
    """Sign in by PIN. A PIN changed later ends the session, as a changed password would."""
    login(request, account, backend=PIN_BACKEND)
    member = _crew(account, tablet)
    stamp = hashed(member.pin_hash) if member else ""
    request.session[KEPT] = {"tablet": str(tablet.pk), "pin": stamp}
    request.session.set_expiry(settings.CREW_SESSION_AGE_S)


def _crew(account: Any, tablet: TrustedTablet) -> Membership | None:
    crew = Membership.objects.standing().filter(role=Role.CREW)
    return crew.filter(account=account, site=tablet.site_id).first()


def still_holds(request: HttpRequest) -> TrustedTablet | None:
    """The tablet, while it is trusted and the person still crew with the same PIN."""
    kept = request.session.get(KEPT) or {}
    tablet = tablet_of(request)
    if tablet is None or str(tablet.pk) != kept.get("tablet"):
        return None
    member = _crew(request.user, tablet)
    if member is None or not member.pin_hash or hashed(member.pin_hash) != kept.get("pin"):
        return None
    return tablet


class CrewSessionMiddleware:
    """Asked anew at every request, so that distrust and voiding act at once."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        by_pin = request.session.get(BACKEND_SESSION_KEY) == PIN_BACKEND
        if by_pin and request.user.is_authenticated:
            tablet = still_holds(request)
            if tablet is None:
                logout(request)
            else:
                request.user.only_site_id = tablet.site_id
        return self.get_response(request)
