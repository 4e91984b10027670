"""The addresses of traced features; `records/urls.py` takes them in."""

from django.urls import path

from records.views import outline_files, outline_trace, outlines

traced = [
    path("s/<slug:season_code>/features", outlines.outlines, name="outlines"),
    path("s/<slug:season_code>/features/kinds", outlines.outline_kinds, name="outline_kinds"),
    path(
        "s/<slug:season_code>/features/file.geojson",
        outline_files.outlines_geojson,
        name="outlines_geojson",
    ),
    path("s/<slug:season_code>/features/file.svg", outline_files.outlines_svg, name="outlines_svg"),
    path("s/<slug:season_code>/features/<uuid:outline_id>", outlines.outline, name="outline"),
    path(
        "s/<slug:season_code>/features/<uuid:outline_id>/trace",
        outline_trace.outline_edit,
        name="outline_edit",
    ),
    path(
        "s/<slug:season_code>/features/<uuid:outline_id>/void",
        outlines.outline_void,
        name="outline_void",
    ),
    path(
        "s/<slug:season_code>/squares/<uuid:square_id>/trace",
        outline_trace.outline_new,
        name="outline_new",
    ),
]
