"""Every address of the record. Pages of a season stand under its code."""

from django.urls import path

from records.views import home

urlpatterns = [
    path("", home.home, name="home"),
    path("health", home.health, name="health"),
    # people
    # site and season
    path("s/<slug:season_code>/season", home.season, name="season"),
    # shed, days and dives
    path("s/<slug:season_code>/shed", home.shed, name="shed"),
    # plan, stages, squares
    path("s/<slug:season_code>/plan", home.plan, name="plan"),
    # pictures
    path("s/<slug:season_code>/pictures", home.pictures, name="pictures"),
    # finds
    path("s/<slug:season_code>/finds", home.finds, name="finds"),
]
