"""What all tests share: Qt without a screen, a home of their own, examples that repeat."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

# Windows stay off the desk of whoever runs the tests; QT_QPA_PLATFORM=xcb shows them.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# "steady" tries the same few examples on every machine; "roam" looks for new ones, and more.
settings.register_profile(
    "steady", derandomize=True, deadline=None, print_blob=True, max_examples=30
)
settings.register_profile("roam", deadline=None, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))


@pytest.fixture(scope="session", autouse=True)
def _own_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep settings and safety copies out of the home of whoever runs the tests."""
    home: Path = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
            patch.setenv(name, str(home / name.lower()))
        yield
