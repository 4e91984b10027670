"""Every address of the record. Pages of a season stand under its code."""

from django.urls import path

from records.views import (
    accounts,
    blocks,
    closing,
    divers,
    home,
    jobs,
    links,
    papers,
    people,
    person_acts,
    releases,
    season,
    sign_in,
    site,
    sites,
    tablets,
    to_come,
)

urlpatterns = [
    path("", home.home, name="home"),
    path("health", home.health, name="health"),
    # people
    path("sign-in", sign_in.sign_in, name="sign_in"),
    path("sign-out", sign_in.sign_out, name="sign_out"),
    path("first/<str:token>", links.first_account, name="first_account"),
    path("link/<str:token>", links.account_link, name="account_link"),
    path("password", links.own_password, name="own_password"),
    path("accounts", accounts.accounts, name="accounts"),
    path("accounts/<uuid:account_id>", accounts.account, name="account"),
    path("accounts/<uuid:account_id>/edit", accounts.account_edit, name="account_edit"),
    path("accounts/<uuid:account_id>/link", accounts.account_new_link, name="account_new_link"),
    path("s/<slug:season_code>/people", people.people, name="people"),
    path("s/<slug:season_code>/people/new", people.person_new, name="person_new"),
    path("s/<slug:season_code>/people/known", people.member_new, name="member_new"),
    path("s/<slug:season_code>/people/<uuid:member_id>", people.person, name="person"),
    path(
        "s/<slug:season_code>/people/<uuid:member_id>/edit", people.person_edit, name="person_edit"
    ),
    path(
        "s/<slug:season_code>/people/<uuid:member_id>/pin",
        person_acts.person_pin,
        name="person_pin",
    ),
    path(
        "s/<slug:season_code>/people/<uuid:member_id>/link",
        person_acts.person_link,
        name="person_link",
    ),
    path(
        "s/<slug:season_code>/people/<uuid:member_id>/end",
        person_acts.person_end,
        name="person_end",
    ),
    path("s/<slug:season_code>/tablets", tablets.tablets, name="tablets"),
    path("s/<slug:season_code>/tablets/trust", tablets.tablet_trust, name="tablet_trust"),
    path(
        "s/<slug:season_code>/tablets/<uuid:tablet_id>/distrust",
        tablets.tablet_distrust,
        name="tablet_distrust",
    ),
    path("s/<slug:season_code>/divers", divers.divers, name="divers"),
    path("s/<slug:season_code>/divers/new", divers.diver_new, name="diver_new"),
    path("s/<slug:season_code>/divers/<uuid:diver_id>", divers.diver, name="diver"),
    path("s/<slug:season_code>/divers/<uuid:diver_id>/edit", divers.diver_edit, name="diver_edit"),
    path("s/<slug:season_code>/divers/<uuid:diver_id>/void", divers.diver_void, name="diver_void"),
    path(
        "s/<slug:season_code>/divers/<uuid:diver_id>/papers/new", papers.paper_new, name="paper_new"
    ),
    path("s/<slug:season_code>/papers/<uuid:paper_id>", papers.paper_edit, name="paper_edit"),
    path("s/<slug:season_code>/papers/<uuid:paper_id>/void", papers.paper_void, name="paper_void"),
    # site and season
    path("sites", sites.sites, name="sites"),
    path("sites/new", sites.site_new, name="site_new"),
    path("sites/<slug:site_code>/seasons/new", sites.season_new, name="season_new"),
    path("s/<slug:season_code>/season", season.season, name="season"),
    path("s/<slug:season_code>/numbers", blocks.blocks, name="blocks"),
    path("s/<slug:season_code>/numbers/new", blocks.block_new, name="block_new"),
    path("s/<slug:season_code>/numbers/<uuid:block_id>", blocks.block, name="block"),
    path("s/<slug:season_code>/numbers/<uuid:block_id>/end", blocks.block_end, name="block_end"),
    path("s/<slug:season_code>/season/edit", season.season_edit, name="season_edit"),
    path("s/<slug:season_code>/site", site.site, name="site"),
    path("s/<slug:season_code>/site/edit", site.site_edit, name="site_edit"),
    path("s/<slug:season_code>/anchor", site.anchor, name="anchor"),
    path("s/<slug:season_code>/anchor/set", site.anchor_set, name="anchor_set"),
    path("s/<slug:season_code>/closing", closing.closing, name="closing"),
    path("s/<slug:season_code>/closing/<slug:step>", closing.closing_step, name="closing_step"),
    path("s/<slug:season_code>/releases", releases.releases, name="releases"),
    path("s/<slug:season_code>/releases/new", releases.release_new, name="release_new"),
    path(
        "s/<slug:season_code>/releases/<uuid:release_id>/withdraw",
        releases.release_withdraw,
        name="release_withdraw",
    ),
    # shed, days and dives
    path("s/<slug:season_code>/shed", home.shed, name="shed"),
    # plan, stages, squares
    path("s/<slug:season_code>/plan", home.plan, name="plan"),
    # pictures
    path("s/<slug:season_code>/pictures", to_come.pictures, name="pictures"),
    # finds
    path("s/<slug:season_code>/finds", to_come.finds, name="finds"),
    # long work
    path("s/<slug:season_code>/jobs/<uuid:job_id>", jobs.job, name="job"),
    path("s/<slug:season_code>/jobs/<uuid:job_id>/stop", jobs.job_stop, name="job_stop"),
    path("s/<slug:season_code>/jobs/<uuid:job_id>/again", jobs.job_again, name="job_again"),
]
