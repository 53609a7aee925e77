"""The whole suite runs in two processes; a part of it, a long run and one with -s run in one."""

import os

import pytest
from hypothesis import settings

pytest_plugins = ("tests.chromium",)
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # else two processes take more threads than there are cores

settings.register_profile("untimed", deadline=None)  # a loaded machine makes no test fail
settings.load_profile("untimed")

PROCESSES = 2
ONE_PROCESS = ("tests/cards/",)  # whose files share what takes long to make


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """Before pytest-xdist reads the same options. -n on the command line wins; -n 0 is one process."""
    if not config.pluginmanager.hasplugin("xdist") or hasattr(config, "workerinput"):
        return
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS and config.option.markexpr == "not long"
    if whole and config.option.numprocesses is None and config.option.capture != "no":
        config.option.numprocesses, config.option.dist = PROCESSES, "loadgroup"


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """A file stays in one process, for its fixtures; so do the files of some folders. Before pytest-xdist groups."""
    if not config.pluginmanager.hasplugin("xdist"):
        return
    for item in items:
        file = item.nodeid.partition("::")[0]
        item.add_marker(pytest.mark.xdist_group(next((f for f in ONE_PROCESS if file.startswith(f)), file)))
