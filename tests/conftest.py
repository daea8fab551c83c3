"""What every test needs: a data folder of its own and a mark with its folder's name."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest
from django.conf import settings
from django.test import override_settings

HERE = Path(__file__).parent

# A busy machine is no failure: how long one example takes says nothing of what is true of the code.
# Before a change is taken the examples are the same each time; whoever develops meets new ones.
hypothesis.settings.register_profile("gablekeep", deadline=None, derandomize="CI" in os.environ)
hypothesis.settings.load_profile("gablekeep")
OURS = {"DATABASE_URL", "REDIS_URL"}
SHOTS = "GABLEKEEP_SHOTS"  # where the browser's tests leave pictures; no setting of the program

# Before Django reads its settings: no test may see or touch the farm's own data or servers.
_data = tempfile.TemporaryDirectory(prefix="gablekeep-tests-")
for _name in [name for name in os.environ if name in OURS or (name.startswith("GABLEKEEP_") and name != SHOTS)]:
    del os.environ[_name]
os.environ["GABLEKEEP_DATA"] = _data.name
if "TEST_DATABASE_URL" in os.environ:  # .ci/run runs the database's tests on a real server too
    os.environ["DATABASE_URL"] = os.environ["TEST_DATABASE_URL"]


def pytest_configure(config: pytest.Config) -> None:
    """Load the settings here, not by name in pyproject.toml: that would be before the lines above."""
    if getattr(config.option, "numprocesses", None):
        return  # it only hands tests to processes that each come through here, and would inherit the name
    os.environ["DJANGO_SETTINGS_MODULE"] = "farm.settings"
    assert Path(_data.name).resolve() == settings.DATA_DIR


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test with the name of its folder."""
    for item in items:
        folder = item.path.relative_to(HERE).parts[0]
        if not folder.endswith(".py"):
            item.add_marker(folder)


def pytest_unconfigure() -> None:
    """Remove the tests' data folder."""
    _data.cleanup()


@pytest.fixture(autouse=True, scope="session")
def _static_files_without_a_manifest() -> Iterator[None]:
    """Serve static files under their plain names: nobody runs collectstatic before a test."""
    settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(STORAGES={**settings.STORAGES, "staticfiles": plain}):
        yield


@pytest.fixture(autouse=True, scope="session")
def _nothing_kept_between_pages() -> Iterator[None]:
    """Keep nothing from one test for the next, nor from one page for the next: both count queries."""
    with override_settings(CACHES={"default": {"BACKEND": "django.core.cache.backends.dummy.DummyCache"}}):
        yield
