"""Closing in two steps: each write verb is tried in an open, a closed and a deposited season.

One line a verb says until when the design lets it write; a verb without a line fails. What the
verbs that close and reopen refuse by themselves is tested in test_season.py.
"""

import pkgutil
import typing
from importlib import import_module
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import models

import records.verbs
from records.acting import acting_as
from records.models import Phase, Role, Season, SeasonEvent, Site
from records.refusals import Closed
from records.verbs.guard import ALWAYS, UNTIL_DEPOSITED, UNTIL_FIELDWORK_CLOSED, VERBS
from tests.factory import make_member, make_season

MODULES = {
    module.name: import_module(f"records.verbs.{module.name}")
    for module in pkgutil.iter_modules(records.verbs.__path__)
}

UNTIL = {
    # people
    "accounts.make_first_director": ALWAYS,
    "accounts.set_password_by_link": ALWAYS,
    "accounts.change_own_password": ALWAYS,
    "accounts.give_link_to_account": ALWAYS,
    "accounts.change_account": ALWAYS,
    "people.make_account": ALWAYS,
    "people.add_member": ALWAYS,
    "people.change_member": ALWAYS,
    "people.set_pin": ALWAYS,
    "people.end_membership": ALWAYS,
    "people.give_link": ALWAYS,
    "tablets.trust_tablet": ALWAYS,
    "tablets.distrust_tablet": ALWAYS,
    "divers.add_diver": ALWAYS,
    "divers.edit_diver": ALWAYS,
    "divers.void_diver": ALWAYS,
    "divers.add_paper": ALWAYS,
    "divers.edit_paper": ALWAYS,
    "divers.void_paper": ALWAYS,
    # site and season
    "site.make_site": ALWAYS,
    "site.edit_site": ALWAYS,
    "site.set_anchor": ALWAYS,
    "season.make_season": ALWAYS,
    "season.edit_season": UNTIL_DEPOSITED,
    "season.close_fieldwork": ALWAYS,
    "season.deposit_archive": ALWAYS,
    "season.reopen": ALWAYS,
    "season.add_addendum": ALWAYS,
    "season.release": ALWAYS,
    "season.withdraw_release": ALWAYS,
    "blocks.give_block": UNTIL_DEPOSITED,
    "blocks.end_numbers": UNTIL_DEPOSITED,
    # days and dives
    "days.open_day": UNTIL_FIELDWORK_CLOSED,
    "days.edit_day": UNTIL_FIELDWORK_CLOSED,
    "days.void_day": UNTIL_FIELDWORK_CLOSED,
    "dives.log_dive": UNTIL_FIELDWORK_CLOSED,
    "dives.edit_dive": UNTIL_FIELDWORK_CLOSED,
    "dives.surface": UNTIL_FIELDWORK_CLOSED,
    "dives.void_dive": UNTIL_FIELDWORK_CLOSED,
    # grids, squares, stages
    "squares.plan_grid": UNTIL_FIELDWORK_CLOSED,
    "squares.edit_grid": UNTIL_FIELDWORK_CLOSED,
    "squares.add_squares": UNTIL_FIELDWORK_CLOSED,
    "squares.grow_grid": UNTIL_FIELDWORK_CLOSED,
    "squares.take_out_squares": UNTIL_FIELDWORK_CLOSED,
    "squares.void_grid": UNTIL_FIELDWORK_CLOSED,
    "stages.open_stage": UNTIL_FIELDWORK_CLOSED,
    "stages.rename_stage": UNTIL_FIELDWORK_CLOSED,
    "stages.void_stage": UNTIL_FIELDWORK_CLOSED,
    "stages.set_goals": UNTIL_FIELDWORK_CLOSED,
    "stages.change_goal": UNTIL_FIELDWORK_CLOSED,
    "stages.void_goal": UNTIL_FIELDWORK_CLOSED,
    "stages.accept_exception": UNTIL_FIELDWORK_CLOSED,
    "stages.accept_exceptions": UNTIL_FIELDWORK_CLOSED,
    "stages.void_exception": UNTIL_FIELDWORK_CLOSED,
    # drawings: field drawings close with the fieldwork, which their own tests try
    "drawings.bring_in_drawing": UNTIL_DEPOSITED,
    "drawings.edit_drawing": UNTIL_DEPOSITED,
    "drawings.void_drawing": UNTIL_DEPOSITED,
    "drawn_squares.place_drawn_square": UNTIL_DEPOSITED,
    "drawn_squares.remark_square": UNTIL_DEPOSITED,
    "drawn_squares.void_drawn_square": UNTIL_DEPOSITED,
    "drawn_squares.check_drawn_square": UNTIL_DEPOSITED,
    "scans.take_in_scan": UNTIL_FIELDWORK_CLOSED,
    "scans.leave_to_person": UNTIL_DEPOSITED,
    "scans.lay_on_board": UNTIL_FIELDWORK_CLOSED,
    "scans.file_by_sheet": UNTIL_FIELDWORK_CLOSED,
    "scans.file_film": UNTIL_FIELDWORK_CLOSED,
    "pages.set_page_aside": UNTIL_FIELDWORK_CLOSED,
    "pages.set_scan_aside": UNTIL_FIELDWORK_CLOSED,
    "scans.read_again": UNTIL_FIELDWORK_CLOSED,
    "pages.take_in_pages": UNTIL_FIELDWORK_CLOSED,
    "pages.take_in_page": UNTIL_FIELDWORK_CLOSED,
    "pages.note_page": UNTIL_FIELDWORK_CLOSED,
    "comparisons.compare": UNTIL_DEPOSITED,
    "comparisons.void_comparison": UNTIL_DEPOSITED,
    "sheets.print_sheets": UNTIL_FIELDWORK_CLOSED,
    "sheets.print_board": UNTIL_FIELDWORK_CLOSED,
    "sheets.void_sheet": UNTIL_DEPOSITED,
    # traced features
    "outlines.trace_outline": UNTIL_DEPOSITED,
    "outlines.retrace_outline": UNTIL_DEPOSITED,
    "outlines.void_outline": UNTIL_DEPOSITED,
    "outlines.set_outline_kinds": ALWAYS,
    # pictures
    "windows.want_window": ALWAYS,  # what the screen needs is made anew at any time
    "coverage.recount": ALWAYS,  # a cache, told anew from the same evidence
    "pictures.take_in_file": UNTIL_DEPOSITED,
    "pictures.take_in_picture": UNTIL_DEPOSITED,
    "pictures.pair_raw": UNTIL_DEPOSITED,
    "pictures.turn_picture": UNTIL_DEPOSITED,
    "pictures.want_shown": ALWAYS,  # what was recorded stays to be seen
    "placing.place_frame_by_marks": UNTIL_FIELDWORK_CLOSED,
    "placing.place_photograph_by_marks": UNTIL_FIELDWORK_CLOSED,
    # cards and frames; photographs that are no frames stay open, which their own tests try
    "cards.begin_card": UNTIL_FIELDWORK_CLOSED,
    "cards.note_listing": UNTIL_FIELDWORK_CLOSED,
    "cards.note_refused": UNTIL_FIELDWORK_CLOSED,
    "cards.take_in_card_file": UNTIL_FIELDWORK_CLOSED,
    "cards.edit_card": UNTIL_FIELDWORK_CLOSED,
    "cards.set_card_aside": UNTIL_FIELDWORK_CLOSED,
    "cards.set_clock": UNTIL_FIELDWORK_CLOSED,
    "cards.set_clock_by_watch": UNTIL_FIELDWORK_CLOSED,
    "sheet.move_on": UNTIL_FIELDWORK_CLOSED,
    "sheet.move_back": UNTIL_FIELDWORK_CLOSED,
    "sheet.stand_on": UNTIL_FIELDWORK_CLOSED,
    "sheet.leave_out": UNTIL_FIELDWORK_CLOSED,
    "sheet.leave_out_told": UNTIL_FIELDWORK_CLOSED,
    "sheet.put_back": UNTIL_FIELDWORK_CLOSED,
    "sheet.lay_from": UNTIL_FIELDWORK_CLOSED,
    "sheet.undo": UNTIL_FIELDWORK_CLOSED,
    "acceptance.accept_card": UNTIL_FIELDWORK_CLOSED,
    "frames.stand_frame": UNTIL_FIELDWORK_CLOSED,
    "frames.leave_out_frame": UNTIL_FIELDWORK_CLOSED,
    "frames.trust_frame": UNTIL_FIELDWORK_CLOSED,
    "frames.use_frame": UNTIL_FIELDWORK_CLOSED,
    "photographs.record_photograph": UNTIL_DEPOSITED,
    "photographs.edit_photograph": UNTIL_DEPOSITED,
    "photographs.void_photograph": UNTIL_DEPOSITED,
    "tower.make_set_up": UNTIL_FIELDWORK_CLOSED,
    "set_up_versions.place_set_up_by_marks": UNTIL_FIELDWORK_CLOSED,
    "set_up_versions.void_set_up_version": UNTIL_FIELDWORK_CLOSED,
    "set_up_versions.note_base_markers": UNTIL_FIELDWORK_CLOSED,
    "set_up_versions.want_base_found": UNTIL_FIELDWORK_CLOSED,
    "lenses.add_board_picture": UNTIL_FIELDWORK_CLOSED,
    "lenses.leave_out_board_picture": UNTIL_FIELDWORK_CLOSED,
    "lenses.keep_lens": UNTIL_FIELDWORK_CLOSED,
    "tower.void_set_up": UNTIL_FIELDWORK_CLOSED,
    "tower.void_run": UNTIL_FIELDWORK_CLOSED,
    "tower.plan_run": UNTIL_FIELDWORK_CLOSED,
    "tower.edit_run": UNTIL_FIELDWORK_CLOSED,
    # finds: new ones and fixes close with the fieldwork
    "finds.register_find": UNTIL_FIELDWORK_CLOSED,
    "finds.edit_find": UNTIL_DEPOSITED,
    "finds.restrict_find": UNTIL_DEPOSITED,
    "finds.void_find": UNTIL_DEPOSITED,
    "fixes.fix_by_offsets": UNTIL_FIELDWORK_CLOSED,
    "find_pictures.add_find_picture": UNTIL_DEPOSITED,
    "find_pictures.take_away_find_picture": UNTIL_DEPOSITED,
    # long work
    "copies.ask_second_copy": ALWAYS,
    "copies.ask_sweep": ALWAYS,
    "jobs.stop_job": ALWAYS,
    "jobs.start_job_again": ALWAYS,
}
OF_A_SEASON = sorted(name for name, until in UNTIL.items() if until != ALWAYS)


def act_of(name: str) -> Any:
    module, function = name.split(".")
    return getattr(MODULES[module], function)


def test_every_verb_has_its_line_and_its_phases():
    ours = {name: named.during for name, named in VERBS.items() if name.split(".")[0] in MODULES}

    assert ours == UNTIL


def place_of(name: str) -> type:
    """What the verb is given first."""
    hints = typing.get_type_hints(act_of(name))
    return next(kind for parameter, kind in hints.items() if parameter != "return")


def test_a_verb_of_a_season_is_told_its_season_by_what_it_is_given():
    """The guard finds the season by `where.season`; a record without it would slip through."""
    places = {name: place_of(name) for name in OF_A_SEASON}

    assert {
        name: where
        for name, where in places.items()
        if not issubclass(where, models.Model)
        or where is Site
        or not (where is Season or hasattr(where, "season"))
    } == {}


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def acting(season):
    account = make_member(season.site, Role.DIRECTOR).account
    with acting_as(account):
        yield account


def outcome(name: str, season: Season) -> str:
    """What the guard says. The verb is given its place only: past the guard it misses the rest."""
    try:
        act_of(name)(SimpleNamespace(season=season))
    except Closed:
        return "closed"
    except (TypeError, AttributeError, PermissionDenied) as error:
        return "forbidden" if isinstance(error, PermissionDenied) else "let in"
    return "let in"


@pytest.mark.django_db
@pytest.mark.parametrize("phase", Phase)
def test_a_closed_season_takes_nothing_more(season, acting, phase):
    if phase != Phase.OPEN:
        SeasonEvent.objects.create(season=season, kind=phase.value, reason="done")
    may = {name: "let in" if phase in UNTIL[name] else "closed" for name in OF_A_SEASON}

    assert {name: outcome(name, season) for name in OF_A_SEASON} == may


@pytest.mark.django_db
def test_a_reopened_season_takes_everything_again(season, acting):
    for kind in ("fieldwork_closed", "deposited", "reopened"):
        SeasonEvent.objects.create(season=season, kind=kind, reason="done")

    assert {outcome(name, season) for name in OF_A_SEASON} == {"let in"}
