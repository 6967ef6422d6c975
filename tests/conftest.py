"""Shared settings of the tests: one hypothesis profile, so that a failure is found again."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")
