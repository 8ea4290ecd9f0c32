"""What all tests share: folders of their own, and the servers that some of them need.

A test marked `midi_server`, `sound_server` or `display_server` is skipped where that server does not run. With
`COMPANION_NO_SKIPS=1` (as `.ci/run` sets it) any skipped test is a failure.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import pytest
from hypothesis import Phase, settings

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

PROBES = {
    "midi_server": (["jack_lsp"], "no JACK server runs, or python-rtmidi is not there"),
    "sound_server": (["pactl", "info"], "no PulseAudio server runs"),
    "display_server": (["xdotool", "getdisplaygeometry"], "no X display is there"),
}


@cache
def _runs(server: str) -> bool:
    command, _ = PROBES[server]
    if shutil.which(command[0]) is None or (server == "midi_server" and find_spec("rtmidi") is None):
        return False
    return subprocess.run(command, capture_output=True, timeout=20, check=False).returncode == 0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        for server, (_, why) in PROBES.items():
            if item.get_closest_marker(server) is not None and not _runs(server):
                item.add_marker(pytest.mark.skip(reason=f"{why} (see DEVELOPERS.md)"))


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
