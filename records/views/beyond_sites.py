"""The gate of pages that stand outside any site: one's own, and the administrators'."""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast

from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from records.permissions import demand_administrator, demand_full_sign_in
from records.views.frame import View, in_words, to_sign_in

ANYBODY_SIGNED_IN = "anybody signed in"
BY_PASSWORD = "signed in by password"  # noqa: S105
ADMINISTRATOR = "administrator"
ASK: dict[str, Callable[[Any], None]] = {
    ANYBODY_SIGNED_IN: lambda account: None,
    BY_PASSWORD: demand_full_sign_in,
    ADMINISTRATOR: demand_administrator,
}


def account_page(*methods: str, who: str) -> Callable[[View], View]:
    def wrap(view: View) -> View:
        @require_http_methods(list(methods) or ["GET", "HEAD"])
        @never_cache
        @wraps(view)
        def gated(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return to_sign_in(request)
            ASK[who](request.user)
            return in_words(view, request, *args, **kwargs)

        cast(Any, gated).who = who
        return gated

    return wrap
