"""Accounts, who is what on which site, tablets that the director trusts, divers."""

from typing import Any
from uuid import UUID

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history


class AccountManager(BaseUserManager["Account"]):
    def get_by_natural_key(self, username: str | None) -> "Account":
        return self.get(sign_in_name=str(username).strip().casefold())


class Account(AbstractBaseUser, Record):
    sign_in_name = models.CharField(_("sign-in name"), max_length=80, unique=True)
    name = models.CharField(_("name"), max_length=120)
    is_active = models.BooleanField(_("may sign in"), default=True)
    is_administrator = models.BooleanField(_("administrator"), default=False)

    only_site_id: UUID | None = None
    """Set on the account of a request signed in by PIN: the one site it may touch."""

    USERNAME_FIELD = "sign_in_name"
    REQUIRED_FIELDS = ["name"]

    objects = AccountManager()  # type: ignore[misc,assignment]  # signing in asks its own
    history = kept_history(excluded_fields=["password", "last_login"])

    class Meta(Record.Meta):
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.sign_in_name = self.sign_in_name.strip().casefold()
        super().save(*args, **kwargs)


class Role(models.TextChoices):
    READER = "reader", _("reader")
    CREW = "crew", _("crew")
    LEAD = "lead", _("recording lead")
    DIRECTOR = "director", _("director")


class Membership(Record):
    account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="memberships")
    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(_("role"), max_length=10, choices=Role.choices)
    initials = models.CharField(_("initials"), max_length=6)
    pin_hash = models.CharField(max_length=200, blank=True, editable=False)

    history = kept_history(excluded_fields=["pin_hash"])

    class Meta(Record.Meta):
        ordering = ["initials"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["site", "initials"],
                condition=Q(voided_at=None),
                name="membership_initials_once_in_site",
                violation_error_message=_("Somebody on this site already has these initials."),
            ),
            models.UniqueConstraint(
                fields=["site", "account"],
                condition=Q(voided_at=None),
                name="membership_account_once_in_site",
                violation_error_message=_("This person is already a member of the site."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.account.name} ({self.initials})"

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.initials = self.initials.strip().upper()
        super().save(*args, **kwargs)


class TrustedTablet(Record):
    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="tablets")
    name = models.CharField(_("name of the tablet"), max_length=60)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)

    history = kept_history(excluded_fields=["token_hash"])

    class Meta(Record.Meta):
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class OneTimeLink(Record):
    """A link that sets a password once; without an account it makes the first director."""

    account = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, related_name="one_time_links"
    )
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    history = kept_history(excluded_fields=["token_hash"])

    class Meta(Record.Meta):
        pass


class Diver(Record):
    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="divers")
    name = models.CharField(_("name"), max_length=120)
    initials = models.CharField(_("initials"), max_length=6)
    account = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, blank=True, related_name="divers"
    )

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["name"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["site", "initials"],
                condition=Q(voided_at=None),
                name="diver_initials_once_in_site",
                violation_error_message=_("A diver on this site already has these initials."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.initials})"

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.initials = self.initials.strip().upper()
        super().save(*args, **kwargs)


class PaperKind(models.TextChoices):
    QUALIFICATION = "qualification", _("diving qualification")
    MEDICAL = "medical", _("medical certificate")
    FIRST_AID = "first_aid", _("first aid and oxygen")
    INSURANCE = "insurance", _("insurance")
    OTHER = "other", _("other paper")


class DiverPaper(Record):
    diver = models.ForeignKey(Diver, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(_("kind"), max_length=16, choices=PaperKind.choices)
    reference = models.CharField(_("reference"), max_length=120, blank=True)
    issued_on = models.DateField(_("issued on"), null=True, blank=True)
    expires_on = models.DateField(_("valid until"), null=True, blank=True)
    note = models.TextField(_("note"), blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["diver", "kind", "-expires_on"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="diverpaper_expires_after_issue",
                condition=Q(issued_on=None)
                | Q(expires_on=None)
                | Q(expires_on__gte=F("issued_on")),
                violation_error_message=_("A paper cannot expire before it was issued."),
            ),
        ]

    @property
    def site(self) -> Any:
        return self.diver.site
