"""Photo runs: rows of stations on a grid, photographed by one set-up."""

import math
from functools import cached_property
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history
from records.models.placements import Placement
from survey import placement as placing
from survey.coverage import overlap_fraction
from survey.errors import UnfitError


class PhotoRun(Record):
    season = models.ForeignKey("records.Season", on_delete=models.PROTECT, related_name="runs")
    stage = models.ForeignKey("records.Stage", on_delete=models.PROTECT, related_name="runs")
    grid = models.ForeignKey("records.Grid", on_delete=models.PROTECT, related_name="runs")
    set_up = models.ForeignKey("records.TowerSetUp", on_delete=models.PROTECT, related_name="runs")
    name = models.CharField(_("name of the run"), max_length=80)
    note = models.TextField(_("note"), blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["season", "name"],
                name="photorun_name_once_in_season",
                violation_error_message=_("The season already has a run of this name."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @cached_property
    def in_order(self) -> list["RunRow"]:
        """Its rows as they are photographed; a run that is only thought of is given them."""
        return list(self.rows.all())

    @cached_property
    def stations(self) -> list[tuple["RunRow", int]]:
        """All stations in order: row after row, in each from 1."""
        return [(row, station) for row in self.in_order for station in row.numbers]

    @cached_property
    def places(self) -> dict[tuple[Any, int | None], int]:
        """(row's key, station from 1) → the station counted from 0 over the whole run."""
        return {(row.pk, station): n for n, (row, station) in enumerate(self.stations)}

    @property
    def board_number(self) -> int:
        """The run's number on its board: its place among all of the season, voided ones too."""
        before = PhotoRun.objects.filter(season=self.season_id, made_at__lt=self.made_at)
        return before.count() + 1

    @property
    def least_forward_overlap(self) -> float | None:
        """Of neighbours along its rows: the share of a frame that the next one covers too."""
        set_up = self.set_up.placement
        pairs = [row.outlines(set_up)[:2] for row in self.in_order if row.stations > 1]
        return min((overlap_fraction(*pair) for pair in pairs), default=None)

    def station_words(self, place: int) -> str:
        """How a station, counted from 0 over the whole run, is called."""
        row, station = self.stations[place]
        return gettext("row %(row)d, station %(station)d") % {"row": row.order, "station": station}


class RunRow(Record):
    """A row of stations: where the middle of the tower's base stands, and how it is turned."""

    run = models.ForeignKey(PhotoRun, on_delete=models.PROTECT, related_name="rows")
    order = models.PositiveSmallIntegerField(_("row"))
    start_x_m = models.FloatField(_("first station x"))
    start_y_m = models.FloatField(_("first station y"))
    direction_deg = models.FloatField(_("direction, from +x counter-clockwise"), default=0)
    step_m = models.FloatField(_("step"), validators=[MinValueValidator(0.01)])
    stations = models.PositiveSmallIntegerField(
        _("stations"), validators=[MinValueValidator(1), MaxValueValidator(500)]
    )
    turn_deg = models.FloatField(_("turn of the tower, counter-clockwise"), default=0)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["order"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["run", "order"], name="runrow_order_once_in_run"),
            models.CheckConstraint(
                name="runrow_goes_somewhere", condition=Q(step_m__gt=0, stations__gte=1)
            ),
        ]

    @property
    def season(self) -> Any:
        return self.run.season

    @property
    def numbers(self) -> range:
        return range(1, self.stations + 1)

    def station_at(self, station: int) -> tuple[float, float]:
        """Grid x, y of a station in m; the first is station 1."""
        along_m = (station - 1) * self.step_m
        direction = math.radians(self.direction_deg)
        return (
            self.start_x_m + along_m * math.cos(direction),
            self.start_y_m + along_m * math.sin(direction),
        )

    @property
    def step_on_base_m(self) -> tuple[float, float]:
        """From a station to the next, along the axes of the tower's base as it is turned, m."""
        on_base = math.radians(self.direction_deg - self.turn_deg)
        return self.step_m * math.cos(on_base), self.step_m * math.sin(on_base)

    def square_at(self, station: int) -> tuple[int, int]:
        """Column and row of the square over which the tower's middle stands; −1: at the end."""
        side_m = self.run.grid.side_m
        at = self.station_at(self.stations if station == -1 else station)
        column, row = (math.floor(round(along / side_m, 9)) for along in at)
        return column, row

    def label_at(self, station: int) -> str:
        """The label of that square; empty where it bears none."""
        try:
            return str(self.run.grid.label_of(*self.square_at(station)))
        except UnfitError:
            return ""

    def pose_at(self, station: int, foot_m: tuple[float, float] = (0.0, 0.0)) -> placing.Pose:
        return placing.Pose(*self.station_at(station), self.turn_deg, *foot_m)

    def outlines(self, set_up: Placement) -> list[list[tuple[float, float]]]:
        """What a frame covers of the grid on each of its stations: corners x, y in m."""
        placed = placing.placement_on_grid(set_up.as_value, self.pose_at(1))
        corners = placing.covered_outline(placed, set_up.width_px, set_up.height_px).tolist()
        first = self.station_at(1)
        stands = [self.station_at(station) for station in self.numbers]
        return [[(x + sx - first[0], y + sy - first[1]) for x, y in corners] for sx, sy in stands]
