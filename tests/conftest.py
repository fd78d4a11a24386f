"""Settings that every test shares."""

from __future__ import annotations

import os
import tempfile

from hypothesis import HealthCheck, settings

# Compiling takes longer than any deadline, and two cores are shared; what is found must come again in CI.
settings.register_profile(
    "here", deadline=None, print_blob=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("ci", settings.get_profile("here"), derandomize=True, database=None)
settings.load_profile("ci" if os.environ.get("CI") else "here")

# Who is paired with a farm under test is nobody's business after it.
_STATE = tempfile.TemporaryDirectory(prefix="browseline-state-")
os.environ["BROWSELINE_STATE"] = _STATE.name
