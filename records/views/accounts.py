"""All accounts of this record, for administrators."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import AccountForm
from records.models import Account
from records.queries.changes import entries
from records.verbs.accounts import change_account, give_link_to_account
from records.views.beyond_sites import ADMINISTRATOR, account_page
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest
from records.views.link_once import keep_link, link_to_show


@account_page(who=ADMINISTRATOR)
def accounts(request: PageRequest) -> HttpResponse:
    return render(request, "people/accounts.html", {"accounts": Account.objects.all()})


@account_page(who=ADMINISTRATOR)
def account(request: PageRequest, account_id: UUID) -> HttpResponse:
    shown = get_object_or_404(Account, pk=account_id)
    page = {
        "shown": shown,
        "link": link_to_show(request, shown.pk),
        "history": entries(shown),
    }
    return render(request, "people/account.html", page)


@account_page("GET", "HEAD", "POST", who=ADMINISTRATOR)
def account_edit(request: PageRequest, account_id: UUID) -> HttpResponse:
    changed = get_object_or_404(Account, pk=account_id)
    here = reverse("account", args=[changed.pk])
    page = FormPage(
        title=changed.name,
        answer=_("Say what this account may do beyond its sites."),
        remarks=[_("Whoever may not sign in is signed out at once. Roles are given on each site.")],
        save_label=_("Save the account"),
        cancel_url=here,
        history=entries(changed),
    )

    def act(said: dict[str, Any]) -> Account:
        return change_account(changed, said.pop("version"), **said)

    form = AccountForm(typed_in(request), initial=AccountForm.seen(changed))
    return answer_form(
        request, form, page, act, lambda _account: (_("The account is saved."), here)
    )


@account_page("POST", who=ADMINISTRATOR)
def account_new_link(request: PageRequest, account_id: UUID) -> HttpResponse:
    whose = get_object_or_404(Account, pk=account_id)
    keep_link(request, whose.pk, give_link_to_account(whose))
    return see_other(reverse("account", args=[whose.pk]))
