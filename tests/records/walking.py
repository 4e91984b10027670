"""One site with one of everything, for the tests that walk over every URL.

Whoever adds a URL with a new kind of parameter adds a record for it here; whoever adds a secret
adds it to the record and to SECRET.
"""

import datetime
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.urls import URLPattern, get_resolver, reverse
from django.utils import timezone

from records.acting import acting_as
from records.intake.windows import GridWindow
from records.models import (
    Audience,
    BoardPicture,
    Dive,
    DiveTask,
    FilePage,
    FindPicture,
    Released,
    Role,
    Scan,
    ScanState,
    SquareGoal,
    SupervisorShift,
)
from records.verbs.find_entry import FixEntry
from records.verbs.find_pictures import ShotEntry, add_find_picture
from records.verbs.fixes import fix_by_offsets
from records.verbs.outlines import OutlineEntry, trace_outline
from records.verbs.people import set_pin
from records.verbs.tablets import trust_tablet
from tests import factory
from tests.factory_comparisons import make_comparison
from tests.factory_drawings import make_drawing, make_drawn_square, make_sheet
from tests.factory_pictures import (
    make_card,
    make_frame,
    make_paged_file,
    make_picture,
    make_run,
    make_stored_file,
)
from tests.records import slow_jobs as _slow_jobs  # noqa: F401  (registers the kinds of work)

QUERY = {"square_card": "at=0,0"}  # where a page needs one

ANCHOR = {
    "latitude_deg": 37.246813,
    "longitude_deg": -8.135791,
    "site_north_deg": 13.579,
    "datum_note": "Secretdatum",
}
GEOGRAPHIC = {"37.246", "37,246", "8.135", "8,135", "13.579", "Secretdatum", "Secretcove"}
SITE_EN = {"4711", "4,711", "8822", "8,822"}
PERSONAL = {
    "Secretdiver",
    "Secretsupervisor",
    "Secretmember",
    "Secretaccount",
    "Secrettelephone",
    "Secretpaper",
    "QXDIVE",  # initials: of a diver, and of those who work on the record
    "QXCREW",
    "QXLEAD",
    "QXDIRE",
}

TRIANGLE = [(0.1, 0.1), (0.9, 0.2), (0.5, 0.8)]
RESTRICTED = {"Secretbones"}
PLACES_IN_WORDS = {"Secretspot"}


@dataclass
class World:
    """One site with one of everything, and what stands for each parameter of a URL."""

    season: Any
    members: dict[str, Any] = field(default_factory=dict)
    parameters: dict[str, Any] = field(default_factory=dict)


def make_world() -> World:
    season = factory.make_season(tell_human_remains="Secrettelephone")
    site = season.site
    world = World(season, {role: _member(site, role) for role in Role})
    with acting_as(world.members[Role.DIRECTOR].account):
        tablet, token = trust_tablet(site, pk=uuid.uuid4(), name="Shed 1")
        set_pin(world.members[Role.CREW], pin="7392")
    diver = factory.make_diver(site, name="Secretdiver", initials="QXDIVE")
    factory.make_anchor(site, **ANCHOR)
    dive = _record_a_day(season, diver)
    goal = _want_a_square(season)
    DiveTask.objects.create(
        dive=dive, square=goal.square, stage=goal.stage, method="drawing", outcome="part"
    )
    with acting_as(world.members[Role.LEAD].account):
        drawn = make_drawn_square(make_drawing(season, drawn_by=diver), goal.square, goal.stage)
        sheet = make_sheet(goal.stage, [goal.square])
        run = make_run(season, grid=goal.square.grid, stage=goal.stage)
        frame = make_frame(make_card(run, dive, photographer=diver), 1)
        outline = trace_outline(goal.stage, OutlineEntry(drawn.square.grid, "T", "area", TRIANGLE))
    world.parameters = {
        "season_code": season.code,
        "site_code": site.code,
        "token": "never-one",
        "account_id": factory.make_account("Secretaccount").pk,
        "member_id": factory.make_member(site).pk,
        "tablet_id": factory.make_tablet(site).pk,
        "diver_id": diver.pk,
        "paper_id": factory.make_paper(diver, reference="Secretpaper").pk,
        "name": "dives",
        "use": "archive",
        "block_id": factory.make_block(season).pk,
        "release_id": _releases(season, world.members[Role.DIRECTOR].account).pk,
        "day_id": dive.day_id,
        "dive_id": dive.pk,
        "step": "close",
        "picture_id": make_picture(site, raw_file=make_stored_file()).pk,
        "recipe": "thumb",
        "set_up_id": run.set_up_id,
        "version_id": run.set_up.placement.pk,
        "board_id": BoardPicture.objects.create(set_up=run.set_up, picture=make_picture(site)).pk,
        "run_id": run.pk,
        "card_id": frame.card_id,
        "photo_id": frame.photograph_id,
        "drawing_id": drawn.drawing_id,
        "drawn_id": drawn.pk,
        "comparison_id": make_comparison(drawn, frame).pk,
        "outline_id": outline.pk,
        "printing": sheet.printing,
        "scan_id": Scan.objects.create(
            season=season, picture=make_picture(site), state=ScanState.ON_BOARD
        ).pk,
        "paged_id": (paged := make_paged_file(season)).pk,
        "page_id": FilePage.objects.create(paged=paged, page=1, words="damaged").pk,
        "sheet_id": sheet.pk,
        "square_id": drawn.square_id,
        "window": GridWindow.of_square(drawn.placement, drawn.square).token,
        "find_id": _find(world, goal, diver).pk,
        "link_id": FindPicture.objects.standing().get(find__restriction="none").pk,
        "danger": "human_remains",
        "grid_code": goal.square.grid.code,
        "place": goal.square.grid.label_of(goal.square.column, goal.square.row),
        "order": goal.stage.order,
        "goal_id": goal.pk,
        "exception_id": factory.make_exception(goal).pk,
        "job_id": factory.make_job(site, asked_by=world.members[Role.CREW].account).pk,
    }
    world.members["tablet"] = (tablet, token)
    return world


@contextmanager
def world_of_a_module(blocker: Any) -> Iterator[World]:
    """Made once, and undone after the module's last test; each test has a savepoint of its own.

    Tests look at a copy, so that none finds what another did to it. For modules without
    `django_db(transaction=True)`.
    """
    with blocker.unblock(), transaction.atomic():
        yield make_world()
        transaction.set_rollback(True)


def _member(site: Any, role: str) -> Any:
    account = factory.make_account(f"Secretmember {role}")
    return factory.make_member(site, role, account=account, initials=f"QX{role[:4].upper()}")


def _record_a_day(season: Any, diver: Any) -> Dive:
    day = factory.make_day(season, place="Secretcove")
    SupervisorShift.objects.create(day=day, name="Secretsupervisor", from_time=datetime.time(8))
    dive = factory.make_dive(day)
    factory.make_dive_member(dive, diver)
    DiveTask.objects.create(
        dive=dive, method="other", outcome="done", where_in_words="the bower, Secretspot"
    )
    return dive


def _releases(season: Any, director: Any) -> Any:
    """One that stands; all that would open a place was withdrawn, and opens nothing."""
    withdrawn = {"voided_at": timezone.now(), "voided_by": director, "void_reason": "a mistake"}
    for what in (Released.POSITIONS, Released.GEOGRAPHIC):
        factory.make_release(season, what=what, audience=Audience.PUBLIC, **withdrawn)
    return factory.make_release(season)


def _find(world: World, goal: SquareGoal, diver: Any) -> Any:
    """An ordinary find, which is handed back, and bones; both with position and picture."""
    lies = {"square": goal.square, "stage": goal.stage, "where_in_words": "", "found_by": diver}
    ordinary = factory.make_find(world.season, **lies)
    factory.make_find(world.season, where_in_words="Secretspot, 40 m north")
    bones = factory.make_find(
        world.season,
        object_name="Secretbones",
        description="Secretbones",
        restriction="human_remains",
        **lies,
    )
    with acting_as(world.members[Role.LEAD].account):
        for find in (ordinary, bones):
            fix_by_offsets(find, FixEntry(0.25, 0.5, 12.0, 0.02))
            picture = make_picture(world.season.site, caption=find.object_name)
            add_find_picture(find, picture, ShotEntry(subject=find.object_name))
    return ordinary


def _want_a_square(season: Any) -> SquareGoal:
    grid = factory.make_grid(season.site, origin_e_m=4711.25, origin_n_m=8822.75)
    return factory.make_goal(factory.make_stage(season), factory.make_square(grid))


def every_url() -> list[URLPattern]:
    return list(get_resolver().url_patterns)


def address(pattern: URLPattern, world: World) -> str:
    needed = pattern.pattern.converters
    unknown = [name for name in needed if name not in world.parameters]
    assert not unknown, f"{pattern.name}: give {unknown} in the world of {__name__}"
    path = reverse(pattern.name, kwargs={name: world.parameters[name] for name in needed})
    return f"{path}?{QUERY[pattern.name]}" if pattern.name in QUERY else path
