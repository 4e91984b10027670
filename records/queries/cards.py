"""Cards: found with all that their pages need, and what came in lately."""

from django.db.models import Count, Q, QuerySet

from records.models import Card, CardFileRole, CardState, Job, Photograph, Season
from records.queries.jobs import JobShown, shown
from records.queries.photographs import photographs_for


def cards_with_all(season: Season) -> QuerySet[Card]:
    return (
        Card.objects.filter(run__season=season)
        .select_related(
            "run__season__site",
            "run__stage",
            "run__grid",
            "run__set_up",
            "dive__season",
            "dive__day",
            "photographer",
            "made_by",
        )
        .prefetch_related("run__rows")
    )


def arriving_cards(season: Season) -> QuerySet[Card]:
    """Those that wait to be accepted, with `frames_here` and `files_here`."""
    waiting = cards_with_all(season).filter(voided_at=None, state=CardState.ARRIVING)
    return waiting.annotate(
        files_here=Count("incoming"),
        frames_here=Count("incoming", filter=Q(incoming__role=CardFileRole.FRAME)),
    ).order_by("made_at")


def reading_of(card: Card) -> JobShown | None:
    """The latest reading of the card in this machine, under way or ended."""
    jobs = Job.objects.filter(
        kind="read_card", site=card.run.season.site_id, argument__card=str(card.pk)
    )
    latest = jobs.order_by("-asked_at").first()
    return None if latest is None else shown(latest)


def last_photographs(season: Season, *, may_lead: bool, most: int = 12) -> list[Photograph]:
    """The latest that this person may see."""
    return list(photographs_for(season, may_lead=may_lead).filter(voided_at=None)[:most])
