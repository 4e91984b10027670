"""Accounts, members, tablets, divers: their verbs."""

import datetime
import uuid

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from records.acting import acting_as
from records.models import Account, DiverPaper, Membership, OneTimeLink, Role, Season, TrustedTablet
from records.queries.people import papers_in_force
from records.refusals import Conflict, Refused, Stale
from records.sign_in import LINK_VALID, TABLET_COOKIE, hashed, link_for, make_link
from records.verbs.accounts import (
    change_account,
    change_own_password,
    make_first_director,
    set_password_by_link,
)
from records.verbs.divers import add_diver, add_paper, edit_diver, void_diver, void_paper
from records.verbs.people import (
    add_member,
    change_member,
    end_membership,
    give_link,
    make_account,
    set_pin,
)
from records.verbs.tablets import trust_tablet
from tests.factory import PASSWORD, make_diver, make_member, make_site
from tests.factory import make_account as account_row

pytestmark = pytest.mark.django_db
NEW = "brass-lantern-tide"


@pytest.fixture
def site():
    return make_site()


@pytest.fixture
def director(site):
    return make_member(site, Role.DIRECTOR, initials="DD")


@pytest.fixture
def acting(director):
    with acting_as(director.account):
        yield director.account


def first(token, pk=None, **changes):
    said = {"name": "Ida Sund", "sign_in_name": "Ida", "password": NEW} | changes
    return make_first_director(token, pk=pk or uuid.uuid4(), **said)


# The first director ---------------------------------------------------------------------------


def test_the_first_director_is_administrator_and_uses_up_every_first_link():
    token, other = make_link(None), make_link(None)

    account = first(token)

    assert (account.sign_in_name, account.is_administrator) == ("ida", True)
    assert not OneTimeLink.objects.filter(used_at=None).exists()
    for again in (token, other):
        with pytest.raises(Refused, match="used up"):
            first(again, password="another-long-one")
    assert Account.objects.count() == 1


def test_the_same_form_sent_twice_makes_one_first_director():
    token, pk = make_link(None), uuid.uuid4()

    assert first(token, pk) == first(token, pk)
    with pytest.raises(Refused):
        first(token, pk, password="guessed-by-another")
    with pytest.raises(Refused):
        first(token)


def test_no_first_director_where_an_account_exists_even_with_a_fresh_link():
    account_row()
    token = make_link(None)

    with pytest.raises(Refused):
        first(token)
    assert OneTimeLink.objects.get().used_at is None


@pytest.mark.parametrize("token", ["", "never-one"])
def test_an_unknown_token_makes_nothing(token):
    with pytest.raises(Refused):
        first(token)
    assert not Account.objects.exists()


def test_an_old_link_makes_nothing():
    token = make_link(None)
    link = OneTimeLink.objects.get()
    link.expires_at = timezone.now() - datetime.timedelta(seconds=1)
    link.save()

    with pytest.raises(Refused):
        first(token)


def test_a_refused_password_leaves_the_link_unused():
    token = make_link(None)

    with pytest.raises(Refused) as refusal:
        first(token, password="short")

    assert refusal.value.field == "password"
    assert first(token).check_password(NEW)


# Invited people -------------------------------------------------------------------------------


def invite(site, **changes):
    said = {"name": "Ove", "sign_in_name": "ove", "role": Role.CREW, "initials": "ov"} | changes
    return make_account(site, pk=changes.pop("pk", uuid.uuid4()), **{k: said[k] for k in _SAID})


_SAID = ("name", "sign_in_name", "role", "initials")


def test_an_invited_person_chooses_the_password_once(site, acting):
    member = invite(site)
    token = give_link(member)
    assert not member.account.has_usable_password()

    set_password_by_link(token, password=NEW)

    member.account.refresh_from_db()
    assert member.account.check_password(NEW)
    assert member.initials == "OV"
    assert set_password_by_link(token, password=NEW) == member.account  # the same form again
    with pytest.raises(Refused, match="used up"):
        set_password_by_link(token, password="something-else-now")


def test_only_the_newest_link_counts(site, acting):
    member = invite(site)
    earlier, newest = give_link(member), give_link(member)

    assert link_for(earlier) is None
    assert link_for(newest).account == member.account
    with pytest.raises(Refused):
        set_password_by_link(earlier, password=NEW)


def test_links_end_by_themselves(site, acting):
    give_link(invite(site))

    left = OneTimeLink.objects.get().expires_at - timezone.now()
    assert datetime.timedelta(0) < left <= LINK_VALID


def test_tokens_are_kept_as_hashes_only(site, acting):
    link_token = give_link(invite(site))
    _tablet, tablet_token = trust_tablet(site, pk=uuid.uuid4(), name="Shed 1")

    assert OneTimeLink.objects.get().token_hash == hashed(link_token) != link_token
    assert TrustedTablet.objects.get().token_hash == hashed(tablet_token) != tablet_token


def test_a_double_submit_is_one_person_and_other_content_is_told(site, acting):
    pk = uuid.uuid4()

    assert invite(site, pk=pk) == invite(site, pk=pk)
    with pytest.raises(Conflict):
        invite(site, pk=pk, role=Role.LEAD)
    assert Account.objects.filter(sign_in_name="ove").count() == 1


def test_sign_in_names_and_initials_are_taken_once_in_words(site, acting):
    invite(site)

    with pytest.raises(Refused) as name:
        invite(site, sign_in_name=" OVE ", initials="x")
    with pytest.raises(Refused) as initials:
        invite(site, sign_in_name="other", initials=" oV")

    assert (name.value.field, initials.value.field) == ("sign_in_name", "initials")
    assert "Ove" in initials.value.words
    assert not Account.objects.filter(sign_in_name="other").exists()  # nothing half-written


def test_somebody_from_another_site_joins_by_sign_in_name(site, acting):
    known = account_row(sign_in_name="karin")

    member = add_member(site, pk=uuid.uuid4(), sign_in_name="Karin", role=Role.READER, initials="K")

    assert member.account == known
    with pytest.raises(Refused, match="already a member"):
        add_member(site, pk=uuid.uuid4(), sign_in_name="karin", role=Role.CREW, initials="K2")
    with pytest.raises(Refused, match="Nobody"):
        add_member(site, pk=uuid.uuid4(), sign_in_name="nobody", role=Role.CREW, initials="N")


# Roles ----------------------------------------------------------------------------------------


def change(member, seen=None, **changes):
    said = {"name": member.account.name, "role": member.role, "initials": member.initials}
    return change_member(member, seen, **said | changes)


def test_a_stale_change_of_role_is_refused(site, acting):
    member = invite(site)
    change(member, 1, role=Role.LEAD)

    with pytest.raises(Stale):
        change(member, 1, role=Role.READER)


def test_the_last_director_cannot_leave(site, director, acting):
    second = make_member(site, Role.DIRECTOR)
    second.account.is_active = False
    second.account.save()  # one who may not sign in does not count

    for leaving in (
        lambda: change(director, role=Role.LEAD),
        lambda: end_membership(director, reason="tired"),
    ):
        with pytest.raises(Refused, match="only director"):
            leaving()

    make_member(site, Role.DIRECTOR)
    assert change(director, role=Role.LEAD).role == Role.LEAD


def test_whoever_is_no_longer_crew_has_no_pin(site, acting):
    member = set_pin(invite(site), pin="7392")

    assert change(member, role=Role.LEAD).pin_hash == ""
    with pytest.raises(Refused, match="Only crew"):
        set_pin(member, pin="7392")


@pytest.mark.parametrize("pin", ["", "12", "123456789", "12a4", "1111", "1234", "9876", "٣٤٥٦"])
def test_poor_pins_are_refused(site, acting, pin):
    with pytest.raises(Refused) as refusal:
        set_pin(invite(site), pin=pin)
    assert refusal.value.field == "pin"


def test_a_pin_is_kept_as_a_hash_and_not_in_the_history(site, acting):
    member = set_pin(invite(site), pin="7392")

    assert "7392" not in member.pin_hash
    latest = member.history.latest()
    assert not hasattr(latest, "pin_hash")
    assert latest.history_change_reason == "PIN set"


def test_a_voided_membership_takes_no_change(site, acting):
    member = invite(site)
    end_membership(member, reason="went home")

    for act in (
        lambda: change(member, role=Role.LEAD),
        lambda: set_pin(member, pin="7392"),
        lambda: give_link(member),
        lambda: end_membership(member, reason="twice"),
    ):
        with pytest.raises(Conflict):
            act()


def test_who_left_can_come_back(site, acting):
    end_membership(invite(site), reason="went home")

    back = add_member(site, pk=uuid.uuid4(), sign_in_name="ove", role=Role.CREW, initials="OV")

    assert Membership.objects.standing().filter(account=back.account).count() == 1


# No director reaches further than their own sites ------------------------------------------------


def far_reaching(site, kind):
    account = account_row("Far")
    if kind == "administrator":
        account.is_administrator = True
        account.save()
    else:
        make_member(make_site(), Role.READER, account=account)
    return make_member(site, Role.CREW, account=account)


@pytest.mark.parametrize("kind", ["administrator", "member elsewhere"])
def test_a_director_takes_over_no_account_that_reaches_further(site, acting, kind):
    member = far_reaching(site, kind)

    with pytest.raises(Refused, match="administrator"):
        give_link(member)
    with pytest.raises(Refused, match="administrator"):
        change(member, name="Renamed")
    assert change(member, role=Role.READER).role == Role.READER  # the role here is theirs to give


def test_a_director_of_both_sites_gives_the_link(site, director, acting):
    other = make_site()
    make_member(other, Role.DIRECTOR, account=director.account)
    member = make_member(site, Role.CREW)
    make_member(other, Role.CREW, account=member.account)

    assert give_link(member)


def test_verbs_on_people_are_the_directors(site, director):
    lead = make_member(site, Role.LEAD).account
    elsewhere = make_member(make_site(), Role.DIRECTOR).account

    for account in (lead, elsewhere):
        with acting_as(account):
            for act in (
                lambda: invite(site),
                lambda: change(director, role=Role.LEAD),
                lambda: give_link(director),
                lambda: trust_tablet(site, pk=uuid.uuid4(), name="x"),
            ):
                with pytest.raises(PermissionDenied):
                    act()


# Administrators -------------------------------------------------------------------------------


def as_account(account, seen=None, **changes):
    said = {"name": account.name, "is_administrator": False, "is_active": True}
    return change_account(account, seen, **said | changes)


def test_the_administrator_flag_is_given_only_by_an_administrator(director):
    keeper = account_row(is_administrator=True)
    other = account_row()

    with acting_as(director.account), pytest.raises(PermissionDenied):
        as_account(other, is_administrator=True)
    with acting_as(keeper):
        assert as_account(other, is_administrator=True).is_administrator


@pytest.mark.parametrize("losing", [{"is_administrator": False}, {"is_active": False}])
def test_the_last_administrator_stays(losing):
    keeper = account_row(is_administrator=True)
    account_row(is_administrator=True, is_active=False)
    kept = {"is_administrator": True}

    with acting_as(keeper), pytest.raises(Refused, match="only administrator"):
        as_account(keeper, **kept | losing)


def test_the_last_director_of_a_site_cannot_be_kept_from_signing_in(director):
    with acting_as(account_row(is_administrator=True)), pytest.raises(Refused, match="director"):
        as_account(director.account, is_active=False)


def test_ones_own_password_needs_the_old_one():
    account = account_row()
    with acting_as(account):
        with pytest.raises(Refused) as refusal:
            change_own_password(old="wrong", password=NEW)
        assert refusal.value.field == "old"
        assert change_own_password(old=PASSWORD, password=NEW).check_password(NEW)


# Tablets --------------------------------------------------------------------------------------


def test_a_tablet_trusted_twice_by_one_form_is_one_and_the_later_cookie_counts(site, acting):
    pk = uuid.uuid4()
    tablet, _lost = trust_tablet(site, pk=pk, name="Shed 1")
    again, token = trust_tablet(site, pk=pk, name="Shed 1")

    assert tablet == again
    assert TrustedTablet.objects.get().token_hash == hashed(token)
    with pytest.raises(Conflict):
        trust_tablet(site, pk=pk, name="Shed 2")


def test_the_cookie_of_a_trusted_tablet_is_out_of_reach_of_scripts(site, director, client):
    season = Season.objects.create(
        site=site, code="S", name="S", starts_on="2031-06-01", ends_on="2031-06-20", zone="UTC"
    )
    client.force_login(director.account, "records.sign_in.PasswordBackend")

    client.post(f"/s/{season.code}/tablets/trust", {"id": uuid.uuid4(), "name": "Shed 1"})

    cookie = client.cookies[TABLET_COOKIE]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert int(cookie["max-age"]) > 300 * 24 * 3600
    assert TrustedTablet.objects.get().token_hash == hashed(cookie.value)


# Divers and papers ----------------------------------------------------------------------------


@pytest.fixture
def lead(site):
    account = make_member(site, Role.LEAD, initials="LL").account
    with acting_as(account):
        yield account


def test_leads_keep_the_list_of_divers(site, lead):
    pk = uuid.uuid4()
    diver = add_diver(site, pk=pk, name="Signe Moe", initials="sm")

    assert add_diver(site, pk=pk, name="Signe Moe", initials="sm") == diver
    with pytest.raises(Refused, match="Signe Moe"):
        add_diver(site, pk=uuid.uuid4(), name="Sven Mork", initials="SM")
    renamed = edit_diver(diver, 1, name="Signe Moe-Lie", initials="SM")
    with pytest.raises(Stale):
        edit_diver(diver, 1, name="Late", initials="SM")
    void_diver(renamed, reason="entered twice")
    assert add_diver(site, pk=uuid.uuid4(), name="Sven Mork", initials="SM").pk


def test_a_divers_account_belongs_to_the_site(site, lead):
    with pytest.raises(Refused) as refusal:
        add_diver(site, pk=uuid.uuid4(), name="X", initials="X", account=account_row())
    assert refusal.value.field == "account"


def test_crew_touch_no_papers(site):
    diver = make_diver(site)
    with acting_as(make_member(site, Role.CREW).account), pytest.raises(PermissionDenied):
        add_paper(diver, pk=uuid.uuid4(), kind="medical")


def test_a_renewed_paper_hides_its_forerunner(site, lead):
    day = datetime.date(2031, 6, 10)
    diver = make_diver(site)
    old, new = (
        add_paper(diver, pk=uuid.uuid4(), kind="medical", expires_on=day + away)
        for away in (datetime.timedelta(days=-1), datetime.timedelta(days=20))
    )

    assert [(s.paper, s.run_out, s.soon) for s in papers_in_force(site, day)] == [
        (new, False, True)
    ]
    void_paper(new, reason="belongs to another diver")
    assert [(s.paper, s.run_out) for s in papers_in_force(site, day)] == [(old, True)]


def test_a_paper_cannot_expire_before_it_was_issued(site, lead):
    with pytest.raises(Refused, match="expire"):
        add_paper(
            make_diver(site),
            pk=uuid.uuid4(),
            kind="medical",
            issued_on=datetime.date(2031, 6, 1),
            expires_on=datetime.date(2031, 5, 1),
        )
    assert not DiverPaper.objects.exists()
