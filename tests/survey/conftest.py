"""How Hypothesis runs here: without a deadline, since the machine may be busy."""

from hypothesis import settings

settings.register_profile("survey", deadline=None)
settings.load_profile("survey")
