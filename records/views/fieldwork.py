"""What fieldwork may still write: a closed season says so before anybody types."""

from records.models import Phase
from records.permissions import May
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, demand_open
from records.views.frame import PageRequest


def may_still(request: PageRequest, may: May) -> bool:
    """For buttons: the role allows it, and the season still takes such an entry."""
    return request.may(may) and request.season.phase() == Phase.OPEN


def open_forms_only(request: PageRequest) -> None:
    """For forms: refused in words as they are asked for. What is sent goes to its verb, so that
    a form that was open when the season closed keeps what was typed."""
    if request.method != "POST":
        demand_open(request.season, UNTIL_FIELDWORK_CLOSED)


def may_until_deposited(request: PageRequest, may: May) -> bool:
    """For what stays open after the fieldwork: captions, photographs that are no frames."""
    return request.may(may) and request.season.phase() != Phase.DEPOSITED
