"""Long work: what runs, how far it is, and the wish that it stop."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class JobState(models.TextChoices):
    WAITING = "waiting", _("waiting")
    RUNNING = "running", _("running")
    DONE = "done", _("done")
    STOPPED = "stopped", _("stopped")
    FAILED = "failed", _("failed")


class Job(models.Model):
    """No record of the season: a row of progress, rewritten while the work goes on."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=40)
    queue = models.CharField(max_length=8)
    site = models.ForeignKey(
        "records.Site", on_delete=models.PROTECT, null=True, related_name="jobs"
    )
    argument = models.JSONField(default=dict)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="jobs"
    )
    asked_at = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=8, choices=JobState.choices, default=JobState.WAITING)
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)
    heartbeat_at = models.DateTimeField(null=True)
    stop_asked_at = models.DateTimeField(null=True)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    message = models.TextField(blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    cut_offs = models.PositiveSmallIntegerField(default=0)
    result = models.JSONField(default=dict)
    task_id = models.UUIDField(null=True)
    """The queue's own row for the present attempt."""

    class Meta:
        ordering = ["-asked_at"]
        indexes = [models.Index(fields=["state", "queue"], name="job_state_queue")]

    @property
    def is_over(self) -> bool:
        return self.state in {JobState.DONE, JobState.STOPPED, JobState.FAILED}


class PictureToMake(models.Model):
    """Derivatives of an original that are asked for and not made yet; gone once they are."""

    file = models.ForeignKey("records.StoredFile", on_delete=models.PROTECT, related_name="to_make")
    orientation = models.PositiveSmallIntegerField(default=1)
    recipes = models.CharField(max_length=20)
    asked_at = models.DateTimeField(default=timezone.now)
    tries = models.PositiveSmallIntegerField(default=0)
    words = models.TextField(blank=True)
    """Why they cannot be made, once it was tried often enough."""

    class Meta:
        ordering = ["tries", "asked_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["file", "orientation", "recipes"], name="picturetomake_asked_once"
            )
        ]


class WindowToMake(models.Model):
    """A window of a grid that is asked for and not drawn yet; gone once it is."""

    key = models.CharField(max_length=64, unique=True)
    window = models.JSONField()
    """As `records.intake.windows.Window` says it."""
    asked_at = models.DateTimeField(default=timezone.now)
    tries = models.PositiveSmallIntegerField(default=0)
    words = models.TextField(blank=True)
    """Why it cannot be drawn, once it was tried often enough."""

    class Meta:
        ordering = ["tries", "asked_at"]


class PictureMeasure(models.Model):
    """What a frame's pixels said, kept so that nobody need look at them again; a cache."""

    file = models.ForeignKey(
        "records.StoredFile", on_delete=models.PROTECT, related_name="measures"
    )
    orientation = models.PositiveSmallIntegerField()
    recipe_version = models.PositiveSmallIntegerField()
    data = models.BinaryField()
    """As `survey.measuring.packed` says it."""

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["file", "orientation"], name="picturemeasure_once")
        ]


class PictureCodes(models.Model):
    """The printed codes that a frame shows, kept so that nobody need look for them again."""

    file = models.ForeignKey("records.StoredFile", on_delete=models.PROTECT, related_name="codes")
    orientation = models.PositiveSmallIntegerField()
    recipe_version = models.PositiveSmallIntegerField()
    codes = models.JSONField(default=list)
    """As `records.intake.codes.codes_in` says it."""

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["file", "orientation"], name="picturecodes_once")
        ]


class PictureCorners(models.Model):
    """Corners of printed sheets found in a picture of full size, so that nobody need look again."""

    file = models.ForeignKey("records.StoredFile", on_delete=models.PROTECT, related_name="corners")
    orientation = models.PositiveSmallIntegerField()
    sheet = models.CharField(max_length=20)
    """What was looked for: a group of `records.intake.corners`."""
    recipe_version = models.PositiveSmallIntegerField()
    found = models.JSONField(default=list)
    """As `records.intake.corners.corners_in` says it."""

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["file", "orientation", "sheet"], name="picturecorners_once"
            )
        ]


class RunSeen(models.Model):
    """How neighbouring frames of a run lie to each other by what both show; a cache."""

    run = models.OneToOneField("records.PhotoRun", on_delete=models.PROTECT, related_name="seen")
    pairs = models.JSONField(default=list)
    """As `records.intake.seen.SeenPair` says it; a pair holds while both placements do."""


class CardAlike(models.Model):
    """How frames of a card that comes in stand to those before them by what both show; a cache."""

    card = models.OneToOneField("records.Card", on_delete=models.PROTECT, related_name="alike")
    pairs = models.JSONField(default=list)
    """As `records.intake.alike.AlikePair` says it; a pair holds while its pictures do."""
