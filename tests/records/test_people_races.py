"""Nobody locks everybody out, and no link is used twice, even by real processes at one moment."""

import uuid

import pytest

from records.models import Account, Membership, OneTimeLink, Role
from tests.factory import make_account, make_member, make_site
from tests.racing import race

AT_ONCE = 4  # enough to meet; each is a Python of its own
pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


def become_first(token: str, number: int) -> str:
    from records.refusals import Refused
    from records.verbs.accounts import make_first_director

    said = {"name": f"N{number}", "sign_in_name": f"n{number}", "password": "brass-lantern-tide"}
    try:
        return make_first_director(token, pk=uuid.uuid4(), **said).sign_in_name
    except Refused:
        return ""


def step_down(membership_id: str) -> bool:
    from records.acting import acting_as
    from records.refusals import Refused
    from records.verbs.people import change_member

    member = Membership.objects.select_related("account").get(pk=membership_id)
    with acting_as(member.account):
        said = {"name": member.account.name, "initials": member.initials, "role": Role.CREW}
        try:
            change_member(member, None, **said)
        except Refused:
            return False
    return True


def lay_down_the_flag(account_id: str) -> bool:
    from records.acting import acting_as
    from records.refusals import Refused
    from records.verbs.accounts import change_account

    account = Account.objects.get(pk=account_id)
    with acting_as(account):
        try:
            change_account(account, None, name=account.name, is_administrator=False, is_active=True)
        except Refused:
            return False
    return True


def test_one_first_director_whatever_the_links():
    from records.sign_in import make_link

    tokens = [make_link(None) for _each in range(AT_ONCE)]

    made = race(f"{__name__}:become_first", [(token, n) for n, token in enumerate(tokens)])

    assert [Account.objects.get().sign_in_name] == [name for name in made if name]
    assert not OneTimeLink.objects.filter(used_at=None).exists()


def test_of_directors_who_all_step_down_at_once_one_remains():
    site = make_site()
    members = [make_member(site, Role.DIRECTOR) for _each in range(AT_ONCE)]

    outcomes = race(f"{__name__}:step_down", [(str(member.pk),) for member in members])

    assert outcomes.count(False) == 1
    assert Membership.objects.standing().filter(site=site, role=Role.DIRECTOR).count() == 1


def test_of_administrators_who_all_lay_it_down_at_once_one_remains():
    accounts = [make_account(is_administrator=True) for _each in range(AT_ONCE)]

    outcomes = race(f"{__name__}:lay_down_the_flag", [(str(one.pk),) for one in accounts])

    assert outcomes.count(False) == 1
    assert Account.objects.filter(is_administrator=True).count() == 1
