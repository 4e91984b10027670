"""Traced features to take away: GeoJSON in grid coordinates, SVG at scale."""

from django.http import Http404, HttpResponse

from records.archive.outline_files import SCALES, as_geojson, as_svg
from records.permissions import May
from records.queries.outlines import outlines_shown
from records.views.frame import PageRequest, season_page
from records.views.outlines import choice_of


@season_page(may=May.SEE, place="plan")
def outlines_geojson(request: PageRequest) -> HttpResponse:
    choice = choice_of(request)
    if choice.grid is None:
        raise Http404
    shown = outlines_shown(choice.outlines(), request.site)
    text = as_geojson(request.season, choice.grid, shown)
    return _file(text, "application/geo+json", f"{choice.name}.geojson")


@season_page(may=May.SEE, place="plan")
def outlines_svg(request: PageRequest) -> HttpResponse:
    choice, scale = choice_of(request), request.GET.get("scale", "10")
    found = choice.outlines() if choice.grid else []
    squares = choice.squares(found) if choice.grid else []
    if scale not in map(str, SCALES) or not squares:
        raise Http404
    shown = outlines_shown(found, request.site)
    text = as_svg(request.season, int(scale), choice.title, shown, squares)
    return _file(text, "image/svg+xml", f"{choice.name}-1-{scale}.svg")


def _file(text: str, kind: str, name: str) -> HttpResponse:
    answer = HttpResponse(text, content_type=f"{kind}; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
