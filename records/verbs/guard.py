"""The guard that every write verb begins with: who may, is the season still open for it."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from records.acting import acting_account
from records.models import Phase, Record, Season, Site
from records.permissions import May, demand
from records.refusals import Closed, Conflict, Refused, Stale

P = ParamSpec("P")
W = TypeVar("W")
R = TypeVar("R")
M = TypeVar("M", bound=Record)

UNTIL_FIELDWORK_CLOSED = frozenset({Phase.OPEN})
UNTIL_DEPOSITED = frozenset({Phase.OPEN, Phase.FIELDWORK_CLOSED})
ALWAYS = frozenset(Phase)


@dataclass(frozen=True)
class Verb:
    name: str
    may: May | None  # None: it stands outside any site and asks for itself
    during: frozenset[Phase]


VERBS: dict[str, Verb] = {}


def verb(
    may: May, during: frozenset[Phase]
) -> Callable[[Callable[Concatenate[W, P], R]], Callable[Concatenate[W, P], R]]:
    """Make a write: its first argument (a season, a site, or a record that has one) says where.

    Inside one transaction it asks the permission, locks the season's row and asks whether the
    season still takes such an entry. Lock order: season, counter, rows by id.
    """

    def wrap(act: Callable[Concatenate[W, P], R]) -> Callable[Concatenate[W, P], R]:
        named = Verb(f"{act.__module__.rsplit('.', 1)[-1]}.{act.__name__}", may, during)
        VERBS[named.name] = named

        @wraps(act)
        def guarded(where: W, /, *args: P.args, **kwargs: P.kwargs) -> R:
            with transaction.atomic():
                _guard(where, named)
                return act(where, *args, **kwargs)

        cast(Any, guarded).verb = named
        return guarded

    return wrap


def verb_beyond_sites(
    ask: Callable[[Any], None],
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Make a write that stands outside any site: `ask` is given the acting account and refuses."""

    def wrap(act: Callable[P, R]) -> Callable[P, R]:
        named = Verb(f"{act.__module__.rsplit('.', 1)[-1]}.{act.__name__}", None, ALWAYS)
        VERBS[named.name] = named

        @wraps(act)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
            with transaction.atomic():
                ask(acting_account())
                return act(*args, **kwargs)

        cast(Any, guarded).verb = named
        return guarded

    return wrap


def _guard(where: Any, named: Verb) -> None:
    season = getattr(where, "season", None)
    site = season.site if season is not None else where.site
    demand(acting_account(), site, cast(May, named.may))
    if season is None:  # who is on the site is decided by one at a time
        Site.objects.select_for_update(no_key=True).get(pk=site.pk)
        return
    locked = Season.objects.select_for_update(no_key=True).get(pk=season.pk)
    demand_open(locked, named.during)


def demand_open(season: Season, during: frozenset[Phase]) -> None:
    phase = season.phase()
    if phase in during:
        return
    if phase == Phase.DEPOSITED:
        raise Closed(
            _("The archive of this season is deposited. Only a dated addendum can be added.")
        )
    raise Closed(
        _("Fieldwork of this season is closed. The director can reopen it, with a reason.")
    )


def current(model: type[M], pk: Any, seen_version: int | None) -> M:
    """The row, locked; refuses a save made over somebody else's."""
    row = cast(M, model._default_manager.select_for_update().get(pk=pk))
    if seen_version is not None and row.version != seen_version:
        raise Stale(row, seen_version)
    return row


def made_before(model: type[M], pk: Any) -> M | None:
    """A double submit: the same person's record under the same key, or None.

    A known key of another person's record is refused, so that a key cannot be borrowed.
    """
    row = cast("M | None", model._default_manager.filter(pk=pk).first())
    if row is not None and row.made_by != acting_account():
        raise Conflict(_("This form was already used for another record. Open a new one."))
    return row


def as_made_before(model: type[M], pk: Any, **said: Any) -> M | None:
    """As `made_before`; the same key with other content is told, so that nothing is swallowed."""
    row = made_before(model, pk)
    if row is not None and any(getattr(row, name) != value for name, value in said.items()):
        raise Conflict(
            _("This form was saved already, with other content. Open the record to change it.")
        )
    return row


def demand_standing(record: Record) -> None:
    if record.is_voided:
        raise Conflict(
            _("This record was made void: %(reason)s It cannot be changed any more.")
            % {"reason": record.void_reason}
        )


def save_in_words(record: M) -> M:
    """Validate and save; what a validator or constraint refuses is said beside its field."""
    try:
        record.full_clean()
    except ValidationError as error:
        name, words = next(iter(error.message_dict.items()))
        raise Refused(words[0], field=None if name == NON_FIELD_ERRORS else name) from error
    record.save()
    return record


def void(record: Record, reason: str) -> None:
    """Mark as void: the record and its number stay. Callers are guarded verbs."""
    if record.is_voided:
        raise Conflict(_("This record is already void."))
    if not reason.strip():
        raise Refused(_("Say why this record is void."), field="reason")
    record.voided_at = timezone.now()
    record.voided_by = acting_account()
    record.void_reason = reason.strip()
    record.save()


def restore(record: Record) -> None:
    """Stand again: for what was voided and is wanted anew. Callers are guarded verbs."""
    record.voided_at = record.voided_by = None
    record.void_reason = ""
    record.save()
