"""Settings that all tests share."""

from __future__ import annotations

from hypothesis import settings

# A busy machine is no failure: speed has its own benches, which compare in one run.
settings.register_profile("pacerail", deadline=None)
settings.load_profile("pacerail")
