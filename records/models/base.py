"""What every record has: a key made with its form, who and when, a version, and no deletion."""

import uuid
from functools import cache
from operator import attrgetter
from typing import Any, ClassVar, Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from simple_history.manager import HistoryManager
from simple_history.models import HistoricalRecords

from records.acting import acting_account


def _who_acts(**_kwargs: Any) -> Any:
    return acting_account()


class KeptManager(HistoryManager):  # type: ignore[misc] # its package has no types
    """Its class is made once; as it comes, one is made at every look at a record's history."""

    @classmethod
    @cache
    def from_queryset(cls, queryset_class: Any, class_name: str | None = None) -> Any:
        return super().from_queryset(queryset_class, class_name)


def kept_history(**options: Any) -> HistoricalRecords:
    """History that names the acting account; each concrete record declares it."""
    return HistoricalRecords(get_user=_who_acts, history_manager=KeptManager, **options)


class RecordQuerySet(models.QuerySet[Any]):
    def standing(self) -> Self:
        """Records that have not been voided."""
        return self.filter(voided_at__isnull=True)


class Record(models.Model):
    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,  # the very first account has nobody before it
        editable=False,
        related_name="+",
    )
    version = models.PositiveIntegerField(default=1, editable=False)
    voided_at = models.DateTimeField(null=True, editable=False)
    voided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        editable=False,
        related_name="+",
    )
    void_reason = models.TextField(blank=True, editable=False)

    objects = RecordQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                name="%(class)s_void_says_when_who_why",
                condition=Q(voided_at=None, voided_by=None, void_reason="")
                | (Q(voided_at__isnull=False, voided_by__isnull=False) & ~Q(void_reason="")),
                violation_error_message=_("A voided record says when, by whom and why."),
            )
        ]

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self._state.adding:
            self.made_by = self.made_by or acting_account()
        else:
            self.version += 1
            if kwargs.get("update_fields") is not None:
                kwargs["update_fields"] = {*kwargs["update_fields"], "version"}
        super().save(*args, **kwargs)

    @property
    def is_voided(self) -> bool:
        return self.voided_at is not None


class Searchable(models.Model):
    """Text to search by: case-folded and kept, since databases fold no more than ASCII alike."""

    searched: ClassVar[tuple[str, ...]]

    search_text = models.TextField(default="", editable=False)

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.note_words()
        if kwargs.get("update_fields") is not None:
            kwargs["update_fields"] = {*kwargs["update_fields"], "search_text"}
        super().save(*args, **kwargs)

    def note_words(self) -> None:
        words = (attrgetter(name)(self) for name in self.searched)
        self.search_text = " ".join(str(word) for word in words if word).casefold()


class NumberKind(models.TextChoices):
    DIVE = "dive", _("dive")
    PHOTO = "photo", _("photograph")
    DRAWING = "drawing", _("drawing")
    FIND = "find", _("find")


class Numbered(Record):
    """A record with a number of its season; voided ones keep theirs."""

    number_kind: NumberKind

    season = models.ForeignKey(
        "records.Season", on_delete=models.PROTECT, related_name="%(class)ss"
    )
    n = models.PositiveIntegerField(_("number"), editable=False)

    class Meta(Record.Meta):
        abstract = True
        ordering = ["n"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["season", "n"],
                name="%(class)s_number_once_in_season",
                violation_error_message=_("This number is already taken in the season."),
            ),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def number(self) -> str:
        return f"{self.season.code}-{self.number_kind.value}-{self.n}"
