from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseRedirectBase


class DraftSendMiddleware:
    """A form sent by drafts.js is told where to go next instead of being redirected.

    A script follows a redirect unseen and would use up the messages meant for the person,
    among them the one that confirms the record and lets the tablet forget its draft.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if "X-Draft" in request.headers and isinstance(response, HttpResponseRedirectBase):
            return HttpResponse(status=204, headers={"X-Go-To": response.url})
        return response
