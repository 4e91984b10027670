"""Pages behind one-time links, and one's own password."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from records.crew_session import tablet_of
from records.forms.saving import save_or_explain
from records.forms.sign_in import ChosenPasswordForm, FirstAccountForm, OwnPasswordForm
from records.models import Account
from records.sign_in import link_for
from records.verbs.accounts import change_own_password, make_first_director, set_password_by_link
from records.views.beyond_sites import BY_PASSWORD, account_page
from records.views.form_page import see_other, typed_in
from records.views.sign_in import begin_full_session, log


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("password", "again")
@never_cache
def first_account(request: HttpRequest, token: str) -> HttpResponse:
    link = link_for(token)
    if request.method != "POST" and (link is None or link.account or Account.objects.exists()):
        return _used_up(request)
    form = FirstAccountForm(typed_in(request))
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            said = _without_again(form.cleaned_data)
            pk = said.pop("id")
            account, status = save_or_explain(
                form, lambda: make_first_director(token, pk=pk, **said)
            )
            if account is not None:
                log.info("first account made: %r", account.sign_in_name)
                begin_full_session(request, account)
                messages.success(request, _("Your account is made, and the link is used up."))
                return see_other(reverse("site_new"))
    return render(request, "people/first_account.html", {"form": form}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("password", "again")
@never_cache
def account_link(request: HttpRequest, token: str) -> HttpResponse:
    link = link_for(token)
    if request.method != "POST" and (link is None or link.account is None):
        return _used_up(request)
    form = ChosenPasswordForm(typed_in(request))
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            password = form.cleaned_data["password"]
            account, status = save_or_explain(
                form, lambda: set_password_by_link(token, password=password)
            )
            if account is not None:
                log.info("password chosen by link: %r", account.sign_in_name)
                begin_full_session(request, account, tablet_of(request))
                messages.success(request, _("Your password is set, and the link is used up."))
                return see_other(reverse("home"))
    page = {"form": form, "account": link.account if link else None}
    return render(request, "people/account_link.html", page, status=status)


def _without_again(cleaned: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in cleaned.items() if name != "again"}


def _used_up(request: HttpRequest) -> HttpResponse:
    return render(request, "people/link_used_up.html", status=404)


@account_page("GET", "HEAD", "POST", who=BY_PASSWORD)
@sensitive_post_parameters("old", "password", "again")
def own_password(request: HttpRequest) -> HttpResponse:
    form = OwnPasswordForm(typed_in(request))
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            said = _without_again(form.cleaned_data)
            account, status = save_or_explain(form, lambda: change_own_password(**said))
            if account is not None:
                log.info("password changed: %r", account.sign_in_name)
                update_session_auth_hash(request, account)
                messages.success(request, _("Your password is changed."))
                return see_other(reverse("sites"))
    return render(request, "people/own_password.html", {"form": form}, status=status)
