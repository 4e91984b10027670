"""Numbers of a season: taken in one batch under the counter's lock, never reused."""

from django.db import transaction

from records.models import NumberBlock, NumberCounter, NumberKind, Season


def take_numbers(season: Season, kind: NumberKind, count: int) -> list[int]:
    """The next `count` numbers; must run inside the transaction that saves their records.

    Numbers of a block are passed over: they are in somebody's hands already.
    """
    if count < 1:
        raise ValueError(f"count must be at least 1, not {count!r}")
    counter = locked_counter(season, kind)
    taken: list[int] = []
    blocks = sorted(
        NumberBlock.objects.standing()
        .filter(season=season, kind=kind, last__gt=counter.last)
        .values_list("first", "last")
    )
    number = counter.last
    while len(taken) < count:
        number += 1
        while blocks and blocks[0][1] < number:
            blocks.pop(0)
        if blocks and blocks[0][0] <= number:
            number = blocks.pop(0)[1]
            continue
        taken.append(number)
    counter.last = taken[-1]
    counter.save()
    return taken


def locked_counter(season: Season, kind: NumberKind) -> NumberCounter:
    """The kind's counter, its row locked until the transaction ends."""
    if not transaction.get_connection().in_atomic_block:
        raise ValueError("numbers are given inside transaction.atomic() only")
    NumberCounter.objects.get_or_create(season=season, kind=kind)
    counter: NumberCounter = NumberCounter.objects.select_for_update().get(season=season, kind=kind)
    return counter
