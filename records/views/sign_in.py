"""Signing in and out. Every sign-in and refusal leaves a line in the log."""

import logging
from typing import Any

from axes.utils import reset
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from records import crew_session
from records.crew_session import tablet_of
from records.forms.sign_in import PasswordForm, PinForm
from records.models import TrustedTablet
from records.sign_in import pin_name

log = logging.getLogger("records.sign_in")
PASSWORD_BACKEND = "records.sign_in.PasswordBackend"  # noqa: S105


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("password", "pin")
@never_cache
def sign_in(request: HttpRequest) -> HttpResponse:
    if request.method != "POST" and request.user.is_authenticated:
        return redirect(_next(request))
    tablet = tablet_of(request)
    posted = request.POST if request.method == "POST" else None
    by_pin = posted is not None and "pin" in posted and tablet is not None
    forms = {
        "pin_form": PinForm(posted if by_pin else None) if tablet else None,
        "form": PasswordForm(posted if posted is not None and not by_pin else None),
    }
    tried: Any = forms["pin_form"] if by_pin else forms["form"]
    if posted is not None and tried.is_valid():
        if _signed_in(request, tried.cleaned_data, tablet, by_pin=by_pin):
            return redirect(_next(request))
        tried.add_error(None, _wrong(by_pin))
    page = {**forms, "tablet": tablet, "next": _asked_for(request)}
    return render(request, "people/sign_in.html", page, status=200 if posted is None else 422)


def _signed_in(
    request: HttpRequest, typed: dict[str, str], tablet: TrustedTablet | None, *, by_pin: bool
) -> bool:
    where = request.META.get("REMOTE_ADDR", "")
    how = "PIN" if by_pin else "password"
    account: Any = authenticate(request, **typed, **({"tablet": tablet} if by_pin else {}))
    if account is None:
        name = typed["initials"] if by_pin else typed["username"]
        log.warning("refused: %r by %s from %s", name, how, where)
        return False
    if by_pin and tablet is not None:
        crew_session.begin(request, account, tablet)
        reset(username=pin_name(tablet, typed["initials"]))  # wrong tries before are forgotten
    else:
        begin_full_session(request, account, tablet)
    log.info("signed in: %r by %s from %s", account.sign_in_name, how, where)
    return True


def begin_full_session(
    request: HttpRequest, account: Any, tablet: TrustedTablet | None = None
) -> None:
    """Sign in by password; short on a trusted tablet, which goes from hand to hand."""
    login(request, account, backend=PASSWORD_BACKEND)
    if tablet is not None:
        request.session.set_expiry(settings.CREW_SESSION_AGE_S)


def _wrong(by_pin: bool) -> str:
    if by_pin:
        return _(
            "These initials and this PIN do not belong together. Type them again, "
            "or ask the director for a new PIN."
        )
    return _(
        "This sign-in name and this password do not belong together. Type them again, "
        "or ask the director for a new link."
    )


def _asked_for(request: HttpRequest) -> str:
    """The page one wanted before signing in; never one of another host."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    same_host = url_has_allowed_host_and_scheme(
        asked, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return asked if same_host else ""


def _next(request: HttpRequest) -> str:
    return _asked_for(request) or reverse("home")


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    if request.user.is_authenticated:
        log.info("signed out: %r", request.user.sign_in_name)
    logout(request)
    messages.info(request, _("You are signed out. What was saved is kept."))
    return redirect("sign_in")
