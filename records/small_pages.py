from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware


class SmallPagesMiddleware(GZipMiddleware):
    """Pages travel compressed over the shed's Wi-Fi; pictures and files, packed already, do not."""

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        packable = response.headers.get("Content-Type", "").startswith(
            ("text/", "application/json")
        )
        if response.streaming or not packable:
            return response
        return super().process_response(request, response)
