"""The demo season's story agrees with itself, whenever it is told."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest

from fixtures.evidence import labels
from fixtures.season import season, season_days, square_at

NOW = datetime(2026, 6, 18, 11, 5, tzinfo=UTC)


@pytest.fixture(scope="module")
def story():
    return season(NOW)


@pytest.mark.parametrize(
    "now",
    [
        NOW,
        datetime(2026, 1, 1, 0, 4, tzinfo=UTC),
        datetime(2026, 1, 1, 0, 40, tzinfo=UTC),
        datetime(2026, 3, 29, 1, 30, tzinfo=UTC),  # the night the clocks go forward
        datetime(2026, 10, 25, 1, 20, tzinfo=UTC),  # and back
    ],
)
def test_nothing_happens_after_now_and_dives_follow_each_other(now):
    told = season(now)

    times = [t for d in told.dives for t in (d.left_at, d.reached_at) if t]
    frames = [f for card in told.cards for f in told.frames(card)]
    assert max(times) <= now
    assert all(a.astimezone(UTC) <= b.astimezone(UTC) for a, b in pairwise(times))
    assert max(f.taken_at for f in frames) <= now + timedelta(seconds=40)
    assert told.dives[-1].reached_at is None
    assert told.dives[-1].left_at.date() == told.days[-1].date
    assert all(told.first_date <= day.date <= told.last_date for day in told.days)


def test_days_and_dives_are_on_the_same_dates(story):
    by_index = {day.index: day.date for day in season_days(NOW)}

    assert [dive.number for dive in story.dives] == list(range(1, 27))
    assert all(dive.left_at.date() == by_index[dive.day] for dive in story.dives)
    assert not [dive for dive in story.dives if by_index[dive.day] == by_index[5]]


def test_crew_is_known_and_unique_and_nobody_is_in_two_dives_at_once(story):
    divers = {person.initials for person in story.people if person.dives}

    assert len({person.initials for person in story.people}) == len(story.people)
    for dive in story.dives:
        names = [member.initials for member in dive.members]
        assert len(set(names)) == len(names)
        assert set(names) <= divers
    for a, b in pairwise(story.dives):
        together = {m.initials for m in a.members} & {m.initials for m in b.members}
        assert not together or a.reached_at < b.left_at


def test_air_is_used_at_a_rate_that_a_diver_breathes(story):
    """10 m of sea is 1 bar (EN 13319, from memory); mean depth taken as 0.9 of the greatest."""
    for dive in story.dives[:-1]:
        minutes = (dive.reached_at - dive.left_at).total_seconds() / 60
        bar = 1 + 0.9 * dive.max_depth_m / 10
        for member in dive.members:
            litres = sum(c.size_l * (c.bar_in - c.bar_out) for c in member.cylinders)
            assert 8 < litres / (bar * (minutes - member.reached_before_min)) < 26


def test_every_task_stands_on_an_open_square_and_once(story):
    goals = {(g.grid, g.stage, g.square) for g in story.goals}

    for dive in story.dives:
        done = [(t.grid, t.stage, s, t.method) for t in dive.tasks for s in t.squares]
        assert len(set(done)) == len(done)
        assert {place[:3] for place in done} <= goals
        assert all(bool(t.squares) != bool(t.where) for t in dive.tasks)


def test_every_sheet_was_drawn_on_its_dive_by_one_of_its_divers(story):
    for sheet in story.sheets:
        dive = story.dive(sheet.dive)
        tasks = {
            square: task.outcome
            for task in dive.tasks
            if (task.method, task.grid, task.stage) == ("drawing", sheet.grid, sheet.stage)
            for square in task.squares
        }
        assert sheet.drawn_by in {member.initials for member in dive.members}
        for drawn in sheet.squares:
            assert tasks[drawn.square] == ("part" if drawn.part else "done")


def test_only_the_sheet_of_l11_is_missing(story):
    said = {
        (task.grid, task.stage, square)
        for dive in story.dives
        for task in dive.tasks
        if task.method == "drawing" and task.outcome in ("done", "part")
        for square in task.squares
    }
    brought = {(s.grid, s.stage, drawn.square) for s in story.sheets for drawn in s.squares}

    assert said - brought == {("P", "found", "L11")}
    assert brought <= said


def test_the_block_was_recorded_as_found_before_it_was_cleaned(story):
    block = {g.square for g in story.goals if g.stage == "cleaned"}
    cleaning = min(d.number for d in story.dives for t in d.tasks if t.method == "cleaning")
    drawn = {
        drawn.square
        for sheet in story.sheets
        if sheet.stage == "found" and sheet.dive < cleaning
        for drawn in sheet.squares
        if drawn.check == "accepted" and not drawn.part
    }

    assert len(block) == 12
    assert block <= drawn
    assert block <= {
        square for square, share in _photographed(story, "found").items() if share > 0.98
    }


def test_the_run_leaves_a_hole_in_two_squares(story):
    shares = _photographed(story, "found")
    below = {square for square, share in shares.items() if 0.5 < share < 0.98}

    assert below == {"R9", "S9"}
    assert shares["R9"] == pytest.approx(0.94, abs=0.005)  # 0.15 × 0.4 m are missing in each
    assert shares["K12"] == 0


def test_finds_lie_in_their_squares_and_were_there_to_be_found(story):
    for find in story.finds:
        assert find.found_by in {member.initials for member in story.dive(find.dive).members}
        assert bool(find.square) != bool(find.where)
        assert 0 <= find.offset_x_m < 1
        assert 0 <= find.offset_y_m < 1
        if find.square:
            square_at(find.grid, find.square)
    assert len({find.key for find in story.finds}) == len(story.finds)
    assert {find.object_name for find in story.finds} <= set(story.site.object_names)
    tags = [find.tag for find in story.finds if find.tag]
    assert all(
        any(b.first <= tag <= b.last for b in story.blocks if b.kind == "find") for tag in tags
    )


def test_labels_skip_letters_that_look_like_numbers(story):
    plan = story.grids[0]

    assert labels(plan)[:10] == ("K7", "L7", "M7", "N7", "P7", "Q7", "R7", "S7", "T7", "U7")
    assert square_at("P", "U12") == (9, 5)
    assert square_at("H", "D2") == (3, 1)


def _photographed(story, stage: str, cell_m: float = 0.01) -> dict[str, float]:
    """Share of each square of the plan grid under kept footprints, counted in cells."""
    plan = story.grids[0]
    n = round(1 / cell_m)
    seen = np.zeros((plan.rows * n, plan.columns * n), bool)
    wide, high = story.set_up.footprint_m
    runs = {run.key for run in story.runs if (run.grid, run.stage) == ("P", stage)}
    for card in story.cards:
        if card.run in runs and card.accepted_by:
            for frame in story.frames(card):
                if not frame.left_out:
                    x, y = frame.x_m - wide / 2, frame.y_m - high / 2
                    box = [max(0, round(v * n)) for v in (y, y + high, x, x + wide)]
                    seen[box[0] : box[1], box[2] : box[3]] = True
    cells = seen.reshape(plan.rows, n, plan.columns, n).mean(axis=(1, 3))
    return {
        label: float(cells[place // plan.columns, place % plan.columns])
        for place, label in enumerate(labels(plan))
    }
