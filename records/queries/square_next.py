"""What to do next about a square: pure, so that each step is tested from a table."""

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy

from records.queries.evidence import State
from records.queries.square_missing import Known
from records.queries.squares import SquareState


class Step(TextChoices):
    """What to do next about a square; one at a time."""

    CHECK_DRAWING = "check_drawing", gettext_lazy("Check the drawing")
    GO_ON_WITH_CARD = "go_on_with_card", gettext_lazy("Go on with the card")
    BRING_IN_DRAWING = "bring_in_drawing", gettext_lazy("Bring in the drawing")
    BRING_IN_CARD = "bring_in_card", gettext_lazy("Bring in the card")
    DECIDE = "decide", gettext_lazy("Decide whether that stands")
    LOG_DIVE = "log_dive", gettext_lazy("Log a dive here")
    OPEN_STAGE = "open_stage", gettext_lazy("Open a stage for it")
    NOTHING = "nothing", gettext_lazy("Nothing to do")


def next_step(known: Known, *, may_record: bool, may_lead: bool) -> Step:
    """What has come in is dealt with before what is still to be brought in, that before another
    dive. Who may do nothing about it gets no step."""
    state = known.state
    for step, is_next in (
        (Step.CHECK_DRAWING, may_lead and state.drawing.waits),
        (Step.GO_ON_WITH_CARD, may_record and state.photographs.waits),
        (Step.BRING_IN_DRAWING, may_record and known.awaited_drawing is not None),
        (Step.BRING_IN_CARD, may_record and known.awaited_photographs is not None),
        (Step.DECIDE, may_lead and state.asks_the_lead),
        (Step.LOG_DIVE, may_record and _wants_a_dive(state)),
        (Step.OPEN_STAGE, may_lead and state.goal is None),
    ):
        if is_next:
            return step
    return Step.NOTHING


def _wants_a_dive(state: SquareState) -> bool:
    return any(one.is_missing and one.state != State.WAITING for one in state.methods)
