"""The addresses of set-ups, runs, cards and photographs; `records/urls.py` takes them in."""

from django.urls import path

from records.views import (
    card_files,
    card_moves,
    cards,
    frames,
    lenses,
    optics,
    photo_points,
    photographs,
    prints,
    run_plans,
    runs,
    set_up_base,
    set_ups,
    slates,
)

photos = [
    path("s/<slug:season_code>/set-ups", set_ups.set_ups, name="set_ups"),
    path("s/<slug:season_code>/set-ups/new", set_ups.set_up_new, name="set_up_new"),
    path("s/<slug:season_code>/set-ups/<uuid:set_up_id>", set_ups.set_up, name="set_up"),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/base",
        set_up_base.set_up_base,
        name="set_up_base",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/base/<uuid:picture_id>",
        set_up_base.set_up_marks,
        name="set_up_marks",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/versions/<uuid:version_id>/void",
        set_up_base.set_up_version_void,
        name="set_up_version_void",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/void",
        set_ups.set_up_void,
        name="set_up_void",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/optics",
        optics.set_up_optics,
        name="set_up_optics",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/base-markers",
        prints.base_markers,
        name="base_markers",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/markers",
        set_ups.set_up_markers,
        name="set_up_markers",
    ),
    path("s/<slug:season_code>/set-ups/board", prints.lens_board, name="lens_board"),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/lens",
        lenses.set_up_lens,
        name="set_up_lens",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/lens/pictures",
        lenses.board_pictures,
        name="board_pictures",
    ),
    path(
        "s/<slug:season_code>/set-ups/<uuid:set_up_id>/lens/pictures/<uuid:board_id>/out",
        lenses.board_picture_out,
        name="board_picture_out",
    ),
    path("s/<slug:season_code>/runs", runs.runs, name="runs"),
    path("s/<slug:season_code>/runs/new", runs.run_new, name="run_new"),
    path("s/<slug:season_code>/runs/plan", run_plans.run_plan, name="run_plan"),
    path("s/<slug:season_code>/runs/<uuid:run_id>", runs.run, name="run"),
    path("s/<slug:season_code>/runs/<uuid:run_id>/card", run_plans.run_card, name="run_card"),
    path("s/<slug:season_code>/runs/<uuid:run_id>/boards", run_plans.row_boards, name="row_boards"),
    path("s/<slug:season_code>/runs/<uuid:run_id>/tags", run_plans.square_tags, name="square_tags"),
    path("s/<slug:season_code>/runs/<uuid:run_id>/edit", runs.run_edit, name="run_edit"),
    path("s/<slug:season_code>/runs/<uuid:run_id>/void", runs.run_void, name="run_void"),
    path("s/<slug:season_code>/cards/new", cards.card_new, name="card_new"),
    path("s/<slug:season_code>/cards/<uuid:card_id>", cards.card, name="card"),
    path("s/<slug:season_code>/cards/<uuid:card_id>/edit", cards.card_edit, name="card_edit"),
    path("s/<slug:season_code>/cards/<uuid:card_id>/aside", cards.card_aside, name="card_aside"),
    path("s/<slug:season_code>/cards/<uuid:card_id>/held", card_files.card_held, name="card_held"),
    path("s/<slug:season_code>/cards/<uuid:card_id>/file", card_files.card_file, name="card_file"),
    path(
        "s/<slug:season_code>/cards/<uuid:card_id>/files", card_files.card_files, name="card_files"
    ),
    path("s/<slug:season_code>/cards/<uuid:card_id>/read", card_files.card_read, name="card_read"),
    path("s/<slug:season_code>/cards/<uuid:card_id>/move", card_moves.card_move, name="card_move"),
    path(
        "s/<slug:season_code>/cards/<uuid:card_id>/accept",
        card_moves.card_accept,
        name="card_accept",
    ),
    path("s/<slug:season_code>/photos/new", photographs.photo_new, name="photo_new"),
    path("s/<slug:season_code>/photos/<uuid:photo_id>", photographs.photo, name="photo"),
    path(
        "s/<slug:season_code>/photos/<uuid:photo_id>/edit",
        photographs.photo_edit,
        name="photo_edit",
    ),
    path(
        "s/<slug:season_code>/photos/<uuid:photo_id>/void",
        photographs.photo_void,
        name="photo_void",
    ),
    path(
        "s/<slug:season_code>/photos/<uuid:photo_id>/stand", frames.frame_stand, name="frame_stand"
    ),
    path(
        "s/<slug:season_code>/photos/<uuid:photo_id>/points",
        photo_points.photo_points,
        name="photo_points",
    ),
    path(
        "s/<slug:season_code>/photos/<uuid:photo_id>/leave-out",
        frames.frame_leave_out,
        name="frame_leave_out",
    ),
    path(
        "s/<slug:season_code>/photos/<uuid:photo_id>/trust", frames.frame_trust, name="frame_trust"
    ),
    path("s/<slug:season_code>/dives/<uuid:dive_id>/slate", slates.dive_slate, name="dive_slate"),
]
