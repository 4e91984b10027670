"""What one racing process does; see `racing.race`."""

import datetime
from dataclasses import replace
from pathlib import Path
from uuid import UUID, uuid4

from django.db import transaction

from records.acting import acting_as
from records.intake.pictures import bring_in_picture
from records.models import Account, Diver, DivingDay, NumberKind, Season
from records.refusals import Refused
from records.verbs.dive_entry import DiveEntry, MemberEntry
from records.verbs.dives import log_dive
from records.verbs.guard import current
from records.verbs.numbers import take_numbers


class ChangedItsMind(Exception):
    pass


def number(season_id: UUID, times: int) -> list[int]:
    """Take numbers one by one; every fifth is taken once in vain, by a save that fails."""
    season = Season.objects.get(pk=season_id)
    taken = []
    for turn in range(times):
        if turn % 5 == 0:
            try:
                with transaction.atomic():
                    take_numbers(season, NumberKind.DIVE, 1)
                    raise ChangedItsMind
            except ChangedItsMind:
                pass
        with transaction.atomic():
            taken += take_numbers(season, NumberKind.DIVE, 1)
    return taken


def rename(account_id: UUID, diver_ids: list[UUID], name: str) -> list[str]:
    """Save each diver over its first version, which all saw; the outcome's name for each."""
    outcomes = []
    for diver_id in diver_ids:
        try:
            with acting_as(Account.objects.get(pk=account_id)), transaction.atomic():
                diver = current(Diver, diver_id, 1)
                diver.name = name
                diver.save()
            outcomes.append(name)
        except Refused as refusal:
            outcomes.append(type(refusal).__name__)
    return outcomes


def dive(account_id: UUID, day_id: UUID, diver_ids: list[UUID], hours: list[int]) -> list[str]:
    """Log a dive of these divers at each hour; its number, or why not."""
    day = DivingDay.objects.get(pk=day_id)
    members = tuple(MemberEntry(diver) for diver in Diver.objects.filter(pk__in=diver_ids))
    outcomes = []
    for hour in hours:
        down = datetime.datetime.combine(day.date, datetime.time(hour), day.season.tz)
        entry = DiveEntry(
            day=day,
            left_surface_at=down,
            reached_surface_at=down + datetime.timedelta(minutes=40),
            greatest_depth_m=18.0,
            members=tuple(replace(member, id=uuid4()) for member in members),
        )
        try:
            with acting_as(Account.objects.get(pk=account_id)):
                outcomes.append(log_dive(day.season, entry, uuid4()).number)
        except Refused as refusal:
            outcomes.append(refusal.words)
    return outcomes


def bring_in(place: Path, season_id: UUID, account_id: UUID) -> UUID:
    """Bring in the picture in that file; the picture's key."""
    season = Season.objects.get(pk=season_id)
    with acting_as(Account.objects.get(pk=account_id)), place.open("rb") as file:
        return bring_in_picture(season, file, place.name).pk
