"""Numbers of a season: taken in one batch under the counter's lock, never reused."""

from django.db import transaction

from records.models import NumberCounter, NumberKind, Season


def take_numbers(season: Season, kind: NumberKind, count: int) -> range:
    """The next `count` numbers; must run inside the transaction that saves their records."""
    if count < 1:
        raise ValueError(f"count must be at least 1, not {count!r}")
    if not transaction.get_connection().in_atomic_block:
        raise ValueError("take_numbers must run inside transaction.atomic()")
    NumberCounter.objects.get_or_create(season=season, kind=kind)
    counter = NumberCounter.objects.select_for_update().get(season=season, kind=kind)
    first = counter.last + 1
    counter.last += count
    counter.save()
    return range(first, first + count)
