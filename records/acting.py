"""Who is acting: one account for a request, a job or a command, so that history names a person."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.http import HttpRequest, HttpResponse

_acting: ContextVar[Any] = ContextVar("acting", default=None)


def acting_account() -> Any:
    """The account under whose name rows are written now, or None."""
    account = _acting.get()
    return account if account is not None and account.is_authenticated else None


@contextmanager
def acting_as(account: Any) -> Iterator[None]:
    token = _acting.set(account)
    try:
        yield
    finally:
        _acting.reset(token)


class ActingMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with acting_as(request.user):
            return self.get_response(request)
