"""What is to be said of a card that comes in as a whole."""

from django.utils.formats import localize
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.intake.alike import card_looked_at
from records.intake.arrangement import Arrangement
from records.intake.card_clock import clock_of
from records.refusals import in_words


def remarks_of(now: Arrangement) -> list[str]:
    """What holds for the card as a whole."""
    remarks = list(now.proposed_as.remarks) if now.proposed else []
    untimed = [one for one in now.frames if one.picture is None or one.picture.taken_at is None]
    if untimed:
        words = ngettext(
            "%(count)d frame does not say when it was taken; it stands by its name.",
            "%(count)d frames do not say when they were taken; they stand by their names.",
            len(untimed),
        )
        remarks.append(words % {"count": len(untimed)})
    outside = clock_of(now)
    if outside is not None:
        remarks.append(in_words(outside.told))
    return remarks


def waiting_words(now: Arrangement) -> str:
    """What the worker still does with its frames, until somebody moved one; nothing once it is
    done."""
    looking = card_looked_at(now.card) if now.proposed else None
    if not looking:
        return ""
    if not looking.pictures:
        return _("Wait: frames are being compared. Their stations may change by it.")
    words = ngettext(
        "Wait: %(n)s picture is still being looked at. Stations may change by it.",
        "Wait: %(n)s pictures are still being looked at. Stations may change by it.",
        looking.pictures,
    )
    return words % {"n": localize(looking.pictures)}
