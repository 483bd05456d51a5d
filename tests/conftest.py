"""What holds for every test: nothing is kept in the home of whoever runs them, and none has to be quick."""

import os
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

from auditor.cli.cache import VARIABLE
from tests.canary_world import world as world  # noqa: PLC0414 - the tests on canaries take them from here
from tests.canary_world import world_top as world_top  # noqa: PLC0414

settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


@pytest.fixture(scope="session", autouse=True)
def _cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Give all runs of a session, those in other processes too, one cache of its own."""
    before = os.environ.get(VARIABLE)
    os.environ[VARIABLE] = str(tmp_path_factory.mktemp("cache"))
    yield
    del os.environ[VARIABLE]
    if before is not None:
        os.environ[VARIABLE] = before
