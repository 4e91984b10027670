"""The wreck site, its tie to the world, and what the director has released."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history


def usual_object_names() -> list[str]:
    """A first list of object names; each site edits its own."""
    return ["jar", "bowl", "plate", "bottle", "tool", "fitting", "weapon", "coin", "cordage"]


def usual_outline_kinds() -> list[dict[str, str | int]]:
    """A first list of kinds of traced features: letters, name, number of the look. The director
    may extend it."""
    kinds = (
        ("T", "timber"),
        ("P", "planking"),
        ("F", "fastening"),
        ("B", "ballast"),
        ("C", "ceramic"),
        ("K", "concretion"),
        ("W", "worked stone"),
        ("R", "natural rock"),
        ("O", "other"),
    )
    return [{"letters": one, "name": name, "look": n} for n, (one, name) in enumerate(kinds)]


class Site(Record):
    code = models.SlugField(_("site code"), max_length=20, unique=True)
    name = models.CharField(_("name of the site"), max_length=120)
    description = models.TextField(_("what lies here"), blank=True)
    object_names = models.JSONField(_("object names"), default=usual_object_names)
    outline_kinds = models.JSONField(_("kinds of traced features"), default=usual_outline_kinds)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def site(self) -> "Site":
        return self


class SiteAnchor(Record):
    """Where the site's local origin lies on the Earth: leads and the director only."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="anchors")
    latitude_deg = models.FloatField(_("latitude"))
    longitude_deg = models.FloatField(_("longitude"))
    site_north_deg = models.FloatField(_("site north, clockwise from true north"), default=0)
    datum_note = models.CharField(_("datum and how it was fixed"), max_length=200, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["site"], condition=Q(voided_at=None), name="siteanchor_one_standing"
            ),
            models.CheckConstraint(
                name="siteanchor_on_the_earth",
                condition=Q(latitude_deg__range=(-90, 90), longitude_deg__range=(-180, 180)),
                violation_error_message=_(
                    "Latitude lies between −90 and 90, longitude between −180 and 180."
                ),
            ),
        ]


class Released(models.TextChoices):
    POSITIONS = "positions", _("positions on the site (E, N)")
    GEOGRAPHIC = "geographic", _("the site's place on the Earth")
    SUMMARY = "summary", _("the season's summary page")


class Audience(models.TextChoices):
    READERS = "readers", _("readers of this site")
    PUBLIC = "public", _("everybody")


class Release(Record):
    """What the director opens, to whom; voiding it closes it again."""

    season = models.ForeignKey("records.Season", on_delete=models.PROTECT, related_name="releases")
    what = models.CharField(_("what"), max_length=12, choices=Released.choices)
    audience = models.CharField(_("to whom"), max_length=8, choices=Audience.choices)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-made_at"]
