"""The gate of every page of a site: which season, who, and whether one may be here."""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast
from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    HttpResponseRedirect,
)
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from records.models import Account, Membership, Record, Season, Site
from records.permissions import (
    May,
    membership_of,
    role_may,
    seasons_for,
    sees_names,
    sites_for,
)
from records.refusals import Refused

View = Callable[..., HttpResponseBase]


class PageRequest(HttpRequest):
    """A request that passed a page's gate."""

    user: Account
    site: Site  # type: ignore[assignment]  # the stubs' own site is of an app we do not use
    season: Season
    membership: Membership
    sees_names: bool

    def may(self, may: May) -> bool:
        raise NotImplementedError  # bound per request by the gate


def season_page(*methods: str, may: May = May.SEE, place: str = "season") -> Callable[[View], View]:
    """A page of one season: `request.season`, `.site`, `.membership` and `.may()` are set.

    Another site's season is not found; a member without the permission is refused.
    """

    def wrap(view: View) -> View:
        @require_http_methods(list(methods) or ["GET", "HEAD"])
        @wraps(view)
        def gated(
            request: HttpRequest, season_code: str, *args: Any, **kwargs: Any
        ) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return to_sign_in(request)
            season = get_object_or_404(seasons_for(request.user), code=season_code)
            _let_in(cast(Any, request), season.site, may)
            cast(Any, request).season = season
            cast(Any, request).place = place
            with timezone.override(season.tz):
                return in_words(view, request, *args, **kwargs)

        cast(Any, gated).may = may
        return gated

    return wrap


def site_page(*methods: str, may: May = May.DIRECT) -> Callable[[View], View]:
    """A page of a site outside any season."""

    def wrap(view: View) -> View:
        @require_http_methods(list(methods) or ["GET", "HEAD"])
        @wraps(view)
        def gated(
            request: HttpRequest, site_code: str, *args: Any, **kwargs: Any
        ) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return to_sign_in(request)
            site = get_object_or_404(sites_for(request.user), code=site_code)
            _let_in(cast(Any, request), site, may)
            return in_words(view, request, *args, **kwargs)

        cast(Any, gated).may = may
        return gated

    return wrap


def to_sign_in(request: HttpRequest) -> HttpResponse:
    """And back to where one was. What a page asks for by itself does not take the page away."""
    if request.headers.get("HX-Request"):
        by_itself = "X-By-Itself" in request.headers
        to = {} if by_itself else {"HX-Redirect": _back_to(request, "HX-Current-URL").url}
        return HttpResponse(status=401, headers=to)
    if request.method in {"GET", "HEAD"}:
        return redirect_to_login(request.get_full_path())
    return _back_to(request, "Referer")


def _back_to(request: HttpRequest, header: str) -> HttpResponseRedirect:
    """What was pressed cannot be repeated by itself; one comes back to the page it stood on, as
    it was asked for."""
    came_from = urlsplit(request.headers.get(header, ""))
    if came_from.netloc != request.get_host():
        return HttpResponseRedirect(reverse("sign_in"))
    return redirect_to_login(came_from._replace(scheme="", netloc="", fragment="").geturl())


def _let_in(request: Any, site: Site, may: May) -> None:
    membership = membership_of(request.user, site)
    if membership is None:
        raise Http404
    if not role_may(membership.role, may):
        raise PermissionDenied(
            _("This page needs the role of %(role)s.") % {"role": may.least_role.label}
        )
    request.site, request.membership = site, membership
    request.sees_names = sees_names(membership.role)
    request.may = lambda asked: role_may(membership.role, asked)


def in_words(view: View, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
    """A refusal that the page itself did not show becomes a page in words."""
    try:
        return view(request, *args, **kwargs)
    except Refused as refusal:
        return render(request, "refused.html", {"refusal": refusal}, status=refusal.status)


def say_saved(request: HttpRequest, record: Record, words: str) -> None:
    """Tell the person, and the tablet's draft keeper, that this record is safe."""
    messages.success(request, words, extra_tags=f"saved:{record.pk}")
