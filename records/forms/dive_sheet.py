"""The whole form of a dive: dive, team with cylinders, work. Each refusal of the verb goes beside
the field it belongs to."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Q, QuerySet
from django.forms import BaseForm

from records.forms.dives import DiveForm, MemberRows, TaskRows
from records.models import Diver, DivingDay, Season, Stage
from records.verbs.dive_entry import DiveEntry

ROWS = ("members", "tasks")


class DiveSheet:
    """`before` is the dive as it stands, when it is edited."""

    def __init__(
        self,
        season: Season,
        *,
        check_url: str,
        data: Any = None,
        initial: Mapping[str, Any] | None = None,
        before: DiveEntry | None = None,
    ) -> None:
        given = initial or {}
        self.season, self.before = season, before
        self.form = DiveForm(data, initial={k: v for k, v in given.items() if k not in ROWS})
        self.days = DivingDay.objects.standing().filter(season=season)
        day: Any = self.form.fields["day"]
        day.queryset = self.days
        self.form.add_fault = self.add_fault
        self.members: Any = MemberRows(
            data,
            prefix="members",
            initial=given.get("members"),
            form_kwargs={"divers": divers_for(season, before)},
        )
        stages = Stage.objects.standing().filter(season=season)
        self.tasks: Any = TaskRows(
            data,
            prefix="tasks",
            initial=given.get("tasks"),
            form_kwargs={"stages": stages, "check_url": check_url},
        )
        self.row_of_member: list[Any] = []  # by the index in the entry
        self.row_of_task: list[Any] = []

    @property
    def day(self) -> DivingDay | None:
        """The diving day that stands on the form."""
        given = self.form["day"].value()
        key = given.pk if isinstance(given, DivingDay) else given
        return next((day for day in self.days if str(day.pk) == str(key)), None)

    @property
    def rows(self) -> list[BaseForm]:
        """All rows, flat, as the summary of faults wants them."""
        cylinders = (row for member in self.members.forms for row in member.cylinders.forms)
        return [*self.members.forms, *cylinders, *self.tasks.forms]

    @property
    def asks_left_hour(self) -> bool:
        return self._asks_hour("left")

    @property
    def asks_reached_hour(self) -> bool:
        return self._asks_hour("reached")

    def _asks_hour(self, which: str) -> bool:
        """Only where the clocks went back over the time that was typed."""
        if not self.form.is_bound:
            return False
        asked = self.form.has_error(f"{which}_surface_at", "which_hour")
        return bool(asked or self.form.data.get(f"{which}_hour"))

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), self.members.is_valid(), self.tasks.is_valid()])

    def is_clean(self) -> bool:
        """No field bears words, those found while reading included."""
        rows = (*self.members.standing, *self.tasks.standing)
        return not any(form.errors for form in (self.form, *rows))

    def add_fault(self, place: str, words: str) -> None:
        """`place` as the verb names it: `members.0.cylinders.1.bar_out`."""
        form, field = self._home_of(place.split("."))
        known = form.errors.get(field or "__all__", [])
        if words not in known:
            form.add_error(field if field in form.fields else None, words)

    def bears_words(self, place: str) -> bool:
        """Words stand there already, or at what it follows from: squares that were not found."""
        form, field = self._home_of(place.split("."))
        follows_from = {"where_in_words": "squares"}.get(field, field)
        return field in form.errors or follows_from in form.errors

    def _home_of(self, parts: list[str]) -> tuple[Any, str]:
        match parts:
            case ["members", index, "cylinders", count, field]:
                return self.row_of_member[int(index)].cylinders.standing[int(count)], field
            case ["members", index, field]:
                return self.row_of_member[int(index)], field
            case ["tasks", index, field]:
                return self.row_of_task[int(index)], "squares" if field == "square" else field
        return self.form, parts[-1]


def divers_for(season: Season, before: DiveEntry | None) -> "QuerySet[Diver]":
    """The site's divers, and those already in the team."""
    kept = [diver.pk for diver in before.divers] if before else []
    divers = Diver.objects.filter(Q(voided_at=None) | Q(pk__in=kept), site=season.site_id)
    return divers.order_by("initials")
