"""Rows for tests, made directly: `make_thing(**what matters here)`; the rest is filled in.

The demo season never uses these (a test makes them unreachable while it loads).
"""

import datetime
from itertools import count
from typing import Any

from records.models import (
    Account,
    Audience,
    Dive,
    DiveMember,
    Diver,
    DiverPaper,
    DivingDay,
    Find,
    Grid,
    Job,
    Membership,
    NumberBlock,
    NumberCounter,
    NumberKind,
    PaperKind,
    Release,
    Released,
    Role,
    Season,
    Site,
    SiteAnchor,
    Square,
    SquareException,
    SquareGoal,
    Stage,
    TrustedTablet,
)

_serial = count(1)
PASSWORD = "quiet-harbour-lamp"
DAY = datetime.date(2031, 6, 10)


def make_account(name: str = "Person", **fields: Any) -> Account:
    serial = next(_serial)
    account = Account(
        sign_in_name=fields.pop("sign_in_name", f"person{serial}"),
        name=f"{name} {serial}" if name == "Person" else name,
        **fields,
    )
    account.set_password(PASSWORD)
    account.save()
    return account


def make_site(**fields: Any) -> Site:
    serial = next(_serial)
    return Site.objects.create(**{"code": f"site{serial}", "name": f"Site {serial}"} | fields)


def make_member(site: Site, role: str = Role.CREW, **fields: Any) -> Membership:
    account = fields.pop("account", None) or make_account()
    initials = fields.pop("initials", f"P{next(_serial)}")
    return Membership.objects.create(
        site=site, account=account, role=role, initials=initials, **fields
    )


def make_season(site: Site | None = None, **fields: Any) -> Season:
    return Season.objects.create(
        **{
            "site": site or make_site(),
            "code": f"season{next(_serial)}",
            "name": "First season",
            "starts_on": DAY - datetime.timedelta(days=10),
            "ends_on": DAY + datetime.timedelta(days=10),
            "zone": "Europe/Lisbon",
        }
        | fields
    )


def make_grid(site: Site, **fields: Any) -> Grid:
    return Grid.objects.create(
        **{"site": site, "code": f"g{next(_serial)}", "name": "Main grid"} | fields
    )


def make_square(grid: Grid, column: int = 0, row: int = 0) -> Square:
    return Square.objects.create(grid=grid, column=column, row=row)


def make_stage(season: Season, **fields: Any) -> Stage:
    order = fields.pop("order", None) or next(_serial)
    return Stage.objects.create(
        **{"season": season, "order": order, "name": f"stage {order}"} | fields
    )


def make_goal(stage: Stage, square: Square, **fields: Any) -> SquareGoal:
    return SquareGoal.objects.create(stage=stage, square=square, **fields)


def make_exception(goal: SquareGoal, **fields: Any) -> SquareException:
    usual = {"method": "drawing", "kind": "not_reached", "reason": "surge"}
    return SquareException.objects.create(goal=goal, **usual | fields)


def make_diver(site: Site, **fields: Any) -> Diver:
    serial = next(_serial)
    return Diver.objects.create(
        **{"site": site, "name": f"Diver {serial}", "initials": f"D{serial}"} | fields
    )


def make_day(season: Season, **fields: Any) -> DivingDay:
    return DivingDay.objects.create(
        **{
            "season": season,
            "date": DAY,
            "vessel": "Gannet",
            "place": "over the wreck",
            "contractor": "Own team",
        }
        | fields
    )


def make_dive(day: DivingDay, **fields: Any) -> Dive:
    counter, _made = NumberCounter.objects.get_or_create(season=day.season, kind=NumberKind.DIVE)
    counter.last += 1
    counter.save()
    down = datetime.datetime.combine(day.date, datetime.time(9), day.season.tz)
    return Dive.objects.create(
        **{
            "season": day.season,
            "day": day,
            "n": counter.last,
            "left_surface_at": down,
            "reached_surface_at": down + datetime.timedelta(minutes=40),
            "greatest_depth_m": 18.0,
        }
        | fields
    )


def make_dive_member(dive: Dive, diver: Diver, **fields: Any) -> DiveMember:
    return DiveMember.objects.create(dive=dive, diver=diver, **fields)


def make_tablet(site: Site, **fields: Any) -> TrustedTablet:
    serial = next(_serial)
    said = {"site": site, "name": f"Tablet {serial}", "token_hash": f"{serial:064}"}
    return TrustedTablet.objects.create(**said | fields)


def make_paper(diver: Diver, **fields: Any) -> DiverPaper:
    return DiverPaper.objects.create(**{"diver": diver, "kind": PaperKind.MEDICAL} | fields)


def make_release(season: Season, **fields: Any) -> Release:
    said = {"season": season, "what": Released.SUMMARY, "audience": Audience.READERS}
    return Release.objects.create(**said | fields)


def make_anchor(site: Site, **fields: Any) -> SiteAnchor:
    said = {"site": site, "latitude_deg": 37.25, "longitude_deg": -8.5}
    return SiteAnchor.objects.create(**said | fields)


def make_job(site: Site, **fields: Any) -> Job:
    return Job.objects.create(**{"site": site, "kind": "count", "queue": "quick"} | fields)


def make_block(season: Season, **fields: Any) -> NumberBlock:
    return NumberBlock.objects.create(
        **{
            "season": season,
            "kind": NumberKind.FIND,
            "first": 201,
            "last": 220,
            "given_to": "pair 3",
        }
        | fields
    )


def make_find(season: Season, **fields: Any) -> Find:
    counter, _made = NumberCounter.objects.get_or_create(season=season, kind=NumberKind.FIND)
    counter.last += 1
    counter.save()
    return Find.objects.create(
        **{
            "season": season,
            "n": counter.last,
            "object_name": "jar",
            "where_in_words": "by the stern",
            "found_on": DAY,
        }
        | fields
    )
