"""The numbers of a season: counters, and blocks given out ahead."""

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from records.models.base import NumberKind, Record, kept_history
from records.models.season import Season


class NumberCounter(Record):
    """The last number given for a kind; its row is locked while a batch is taken."""

    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="counters")
    kind = models.CharField(max_length=10, choices=NumberKind.choices)
    last = models.PositiveIntegerField(default=0)

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["season", "kind"], name="numbercounter_one_a_kind"),
        ]


class NumberBlock(Record):
    """Numbers given out ahead: find tags for a pair, pre-numbered sheets."""

    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="number_blocks")
    kind = models.CharField(_("numbers for"), max_length=10, choices=NumberKind.choices)
    first = models.PositiveIntegerField(_("first number"))
    last = models.PositiveIntegerField(_("last number"))
    given_to = models.CharField(_("given to"), max_length=120)
    purpose = models.CharField(_("what for"), max_length=200, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["kind", "first"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="numberblock_in_order", condition=Q(first__gte=1, last__gte=F("first"))
            ),
        ]


class NumberEndKind(models.TextChoices):
    USED = "used", _("used")
    RETURNED = "returned", _("returned unused")
    VOID = "void", _("void")


class NumberEnd(Record):
    """How one number of a block ended; a number without one is still out."""

    block = models.ForeignKey(NumberBlock, on_delete=models.PROTECT, related_name="ends")
    n = models.PositiveIntegerField(_("number"))
    end = models.CharField(_("how it ended"), max_length=8, choices=NumberEndKind.choices)
    reason = models.CharField(_("reason"), max_length=200, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["n"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["block", "n"],
                name="numberend_once",
                violation_error_message=_("This number has already ended."),
            ),
            models.CheckConstraint(
                name="numberend_void_has_reason",
                condition=~Q(end="void", reason=""),
                violation_error_message=_("A void number needs its reason."),
            ),
        ]

    @property
    def season(self) -> Season:
        return self.block.season
