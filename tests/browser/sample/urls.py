"""The front end by itself: sample pages that only the tests serve, beside the real addresses."""

from django.urls import path

from records import urls
from tests.browser.sample import pages

urlpatterns = [
    *urls.urlpatterns,
    path("s/<slug:season_code>/sample/form", pages.form, name="sample_form"),
    path("s/<slug:season_code>/sample/done", pages.done, name="sample_done"),
    path("s/<slug:season_code>/sample/parts", pages.parts, name="sample_parts"),
    path("s/<slug:season_code>/sample/plan", pages.plan, name="sample_plan"),
    path("s/<slug:season_code>/sample/card/<str:column>/<str:row>", pages.card, name="sample_card"),
]
