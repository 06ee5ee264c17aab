"""Settings of the whole suite."""

import os

from hypothesis import settings

# The same cases in every run, so that a change is judged by itself; EXPLORE=1 draws new ones.
settings.register_profile("same cases", derandomize=True, deadline=None)
settings.register_profile("new cases", deadline=None)
settings.load_profile("new cases" if os.environ.get("EXPLORE") else "same cases")
