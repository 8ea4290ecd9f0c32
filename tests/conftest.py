"""What all tests share: folders of their own, and the servers that some of them need.

A test marked `midi_server`, `sound_server` or `display_server` has such a server of its own, and is skipped where the
machine has none. With `COMPANION_NO_SKIPS=1` (as `.ci/run` sets it) any skipped test is a failure.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import Phase, settings

from tests.servers.own_servers import NEEDS, OwnServers, missing

# How long an example takes says nothing on a machine that others use too. `.ci/run` takes the same examples each time,
# so that what it says is about the change; elsewhere they are drawn anew.
HERE = bool(os.environ.get("COMPANION_NO_SKIPS"))
settings.register_profile("usual", deadline=None, derandomize=HERE, max_examples=40 if HERE else 100)
settings.load_profile("usual")
# For mutation testing: few examples, the same ones each time, and none made smaller when it fails. Where a test says
# how many it wants, it has them.
settings.register_profile(
    "mutants",
    max_examples=20,
    deadline=None,
    derandomize=True,
    database=None,
    phases=(Phase.explicit, Phase.generate),
)

SERVERS = pytest.StashKey[OwnServers]()


@pytest.hookimpl(trylast=True)  # after `-m`: only what the tests that are left need is started
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for kind in NEEDS:
        needing = [item for item in items if item.get_closest_marker(kind) is not None]
        if not needing or config.option.collectonly:
            continue
        if lacks := missing(kind):
            for item in needing:
                item.add_marker(pytest.mark.skip(reason=f"this needs {lacks} (see DEVELOPERS.md)"))
            continue
        if SERVERS not in config.stash:
            config.stash[SERVERS] = OwnServers()
        try:
            config.stash[SERVERS].start(kind)
        except (RuntimeError, OSError) as why:
            for item in needing:
                item.add_marker(pytest.mark.skip(reason=str(why)))


def pytest_unconfigure(config: pytest.Config) -> None:
    if SERVERS in config.stash:
        config.stash[SERVERS].close()


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    if not os.environ.get("COMPANION_NO_SKIPS"):
        return
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter is not None else []
    if skipped:
        reporter.write_line(f"{len(skipped)} tests were skipped, and here none may be", red=True)
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(autouse=True)
def own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep the tests away from the player's own record, cache and tables."""
    folder = tmp_path_factory.mktemp("own")
    for name in ("DATA", "CACHE", "CONFIG"):
        monkeypatch.setenv(f"BOX_COMPANION_{name}", str(folder / name.lower()))
    return folder


@pytest.fixture
def own_table() -> Iterator[Callable[[str, str], Path]]:
    """Writes a table of the player's own, such as "keys.toml", which then stands in for the one of that name."""
    from companion.places import own_config
    from companion.screen.actions import actions_by_key, load_keys
    from companion.screen.pedal_table import load_pedals
    from companion.screen.theme import load_themes
    from companion.screen.words import load_words
    from companion.tables import read_tables

    kept = (actions_by_key, load_keys, load_pedals, load_themes, load_words, read_tables)

    def write(name: str, text: str) -> Path:
        for read in kept:
            read.cache_clear()
        path = own_config() / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    yield write
    for read in kept:
        read.cache_clear()
