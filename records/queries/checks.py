"""The check that counts of a drawn square."""

from django.db.models import OuterRef, QuerySet, Subquery

from records.models import DrawingCheck


def latest_check() -> QuerySet[DrawingCheck]:
    """Of a drawn square as it is marked now; for a subquery. Marked anew, it waits again."""
    of_this = DrawingCheck.objects.standing().filter(
        drawn_square=OuterRef("pk"), made_at__gte=OuterRef("placement__made_at")
    )
    return of_this.order_by("-made_at", "-pk")


def of_latest_check(field: str) -> Subquery:
    """What it says in a field, such as `verdict`; None where the drawn square waits for one."""
    return Subquery(latest_check().values(field)[:1])
