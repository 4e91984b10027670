"""What all tests share: quick password hashing and unhashed static names."""

import pytest
from django.conf import settings


def pytest_configure() -> None:
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.STORAGES["staticfiles"] = {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
    }
    settings.WHITENOISE_AUTOREFRESH = True
    settings.PICTURE_PROCESSES = 0  # a test of the pool sets its own
    settings.WHITENOISE_USE_FINDERS = True


@pytest.fixture(autouse=True)
def _no_throttle_left_over():
    from axes.handlers.proxy import AxesProxyHandler

    yield
    AxesProxyHandler.implementation = None
