"""Every address of the record. Pages of a season stand under its code."""

from django.urls import path

from records.views import home, jobs

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
    # long work
    path("s/<slug:season_code>/jobs/<uuid:job_id>", jobs.job, name="job"),
    path("s/<slug:season_code>/jobs/<uuid:job_id>/stop", jobs.job_stop, name="job_stop"),
    path("s/<slug:season_code>/jobs/<uuid:job_id>/again", jobs.job_again, name="job_again"),
]
