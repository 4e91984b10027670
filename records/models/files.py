"""Originals by digest, and the pictures that are the hub for access, marks and captions."""

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history


class StoredFile(Record):
    """One original, kept under its digest and never altered; it has no name of its own."""

    sha256 = models.CharField(max_length=64, unique=True, editable=False)
    size_bytes = models.PositiveBigIntegerField(editable=False)
    media_type = models.CharField(max_length=60, editable=False)
    width_px = models.PositiveIntegerField(null=True, editable=False)
    height_px = models.PositiveIntegerField(null=True, editable=False)
    on_second_copy_at = models.DateTimeField(null=True, editable=False)

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(name="storedfile_not_empty", condition=Q(size_bytes__gt=0)),
        ]

    @property
    def is_shown(self) -> bool:
        """Videos and RAW files are kept and listed, not shown."""
        return self.width_px is not None


class Picture(Record):
    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="pictures")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="pictures")
    raw_file = models.ForeignKey(
        StoredFile, on_delete=models.PROTECT, null=True, blank=True, related_name="raw_of"
    )
    original_name = models.CharField(_("original name"), max_length=255, editable=False)
    orientation = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(8)]
    )
    taken_at = models.DateTimeField(_("taken at"), null=True, blank=True)
    exif = models.JSONField(default=dict, editable=False)
    caption = models.TextField(_("caption"), blank=True)
    creator = models.CharField(_("made by"), max_length=120, blank=True)
    rights = models.CharField(_("rights"), max_length=200, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["taken_at", "original_name"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["site", "file"],
                condition=Q(voided_at=None),
                name="picture_once_a_file_in_site",
                violation_error_message=_("This file is already in the record."),
            ),
            models.CheckConstraint(
                name="picture_orientation_is_exif",
                condition=Q(orientation__gte=1, orientation__lte=8),
            ),
        ]

    @property
    def upright_size_px(self) -> tuple[int, int] | None:
        """Width and height once turned upright; None for what is not shown."""
        if self.file.width_px is None or self.file.height_px is None:
            return None
        size = (self.file.width_px, self.file.height_px)
        return size if self.orientation < 5 else (size[1], size[0])


class PagedFile(Record):
    """A PDF or a TIFF of several pages as it came in under Scans; each page becomes a picture."""

    season = models.ForeignKey(
        "records.Season", on_delete=models.PROTECT, related_name="paged_files"
    )
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="paged")
    original_name = models.CharField(_("original name"), max_length=255, editable=False)
    pages = models.PositiveSmallIntegerField(_("pages"), editable=False)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["season", "file"],
                name="pagedfile_once_in_season",
                violation_error_message=_("This file is already in the record."),
            ),
            models.CheckConstraint(name="pagedfile_has_pages", condition=Q(pages__gte=1)),
        ]

    def __str__(self) -> str:
        return self.original_name

    def missing(self) -> list[int]:
        """The pages, from 1, that are no pictures yet."""
        there = set(self.taken.exclude(picture=None).values_list("page", flat=True))
        return [page for page in range(1, self.pages + 1) if page not in there]


class FilePage(Record):
    """Which picture a page of a file became, or why it could not become one."""

    paged = models.ForeignKey(PagedFile, on_delete=models.PROTECT, related_name="taken")
    page = models.PositiveSmallIntegerField(editable=False)
    picture = models.ForeignKey(
        Picture, on_delete=models.PROTECT, null=True, blank=True, related_name="pages"
    )
    """Pages that look the same to the last dot are one picture."""
    words = models.TextField(blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["page"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["paged", "page"], name="filepage_once_in_file"),
            models.CheckConstraint(
                name="filepage_is_a_picture_or_says_why",
                condition=(Q(picture__isnull=False) & Q(words=""))
                | (Q(picture=None) & ~Q(words="")),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.paged.season


class SecondCopy(Record):
    """One run of the copy to a second drive, and how it went."""

    folder = models.CharField(_("folder"), max_length=400)
    finished_at = models.DateTimeField(null=True)
    is_good = models.BooleanField(default=False)
    is_on_same_drive = models.BooleanField(default=False)
    words = models.TextField(blank=True)
    files_total = models.PositiveIntegerField(default=0)
    files_new = models.PositiveIntegerField(default=0)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-made_at"]
