"""Which windows of a grid a person may see, and why one is not drawn."""

from records.intake.windows import GridWindow
from records.models import Placement, Season, WindowToMake
from records.queries.pictures import pictures_for


def may_be_seen(season: Season, window: GridWindow, *, may_lead: bool) -> bool:
    """Whether every picture in it is one of the site's that the person may see."""
    seen = Placement.objects.filter(
        pk__in=window.placement_ids,
        grid__site=season.site_id,
        picture__in=pictures_for(season, may_lead=may_lead).values("pk"),
    )
    return bool(window.placement_ids) and seen.count() == len(window.placement_ids)


def why_undrawn(window: GridWindow) -> str:
    """Why it cannot be drawn, or nothing."""
    failed = WindowToMake.objects.filter(key=window.key).exclude(words="")
    return failed.values_list("words", flat=True).first() or ""
