"""What all tests share: quick password hashing, unhashed static names, and an end in time."""

import gc
import os
import time

import pytest
from django.conf import settings
from django.contrib.contenttypes.management import create_contenttypes
from django.db.models.signals import post_migrate
from django.test import utils as django_test
from django.test.signals import template_rendered


def _tell_of_pages(template, context):
    """`answer.context` is the page's own: Django would copy it again for every part and field."""
    if context.template is template:
        template_rendered.send(sender=template, template=template, context=context)
    return template.nodelist.render(context)


def pytest_configure() -> None:
    django_test.instrumented_test_render = _tell_of_pages
    gc.disable()  # what is collected here stays to the end: nothing of it need be looked through
    # Nothing here asks Django's own permissions; every emptied database would get 500 of them.
    post_migrate.disconnect(dispatch_uid="django.contrib.auth.management.create_permissions")
    post_migrate.disconnect(create_contenttypes)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.STORAGES["staticfiles"] = {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
    }
    settings.WHITENOISE_AUTOREFRESH = True
    settings.PICTURE_PROCESSES = 0  # a test of the pool sets its own
    settings.WHITENOISE_USE_FINDERS = True


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """`BEGIN_UNTIL`, seconds since 1970: .ci/run ends in time on a slow machine too, and names
    what it did not begin."""
    if time.time() > float(os.environ.get("BEGIN_UNTIL", "inf")):
        pytest.skip("not begun for want of time")


@pytest.fixture(autouse=True)
def _no_throttle_left_over():
    from axes.handlers.proxy import AxesProxyHandler

    yield
    AxesProxyHandler.implementation = None
