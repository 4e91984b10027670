"""Loaded once for all racers: Django and what they call, but no connection to a database."""

import django

django.setup()

from tests import factory, racers  # noqa: E402, F401
