from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control


class FreshPagesMiddleware:
    """Pages are drawn afresh, also by the Back button.

    A form page out of the browser's cache would bear the key of a record that is saved already,
    and what is typed into it would be taken for the same record sent twice. On a shared tablet,
    Back must not show the pages of the person before, either.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        is_page = response.headers.get("Content-Type", "").startswith("text/html")
        if is_page and "public" not in response.headers.get("Cache-Control", ""):
            patch_cache_control(response, private=True, no_store=True)
        return response
