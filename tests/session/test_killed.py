"""A session that is killed in the middle of a round loses at most that round, and the next start goes on from there."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from companion.cli.ready_tune import open_tune
from companion.pages.books_at_hand import demo_book
from companion.practice.player_state import task
from companion.practice.state_json import from_plain
from companion.store.record import open_record
from tests.shipped_tables import TABLES


def start(data: Path, *arguments: str) -> subprocess.Popen[str]:
    environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    environment |= {"BOX_COMPANION_DATA": str(data), "SDL_AUDIODRIVER": "dummy", "SDL_VIDEODRIVER": "dummy"}
    command = [sys.executable, "-m", "companion", "practise", *arguments]
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)


def rounds(record: Path) -> list[tuple[str, str]]:
    if not record.exists():
        return []
    with sqlite3.connect(record, timeout=10) as db:
        try:
            return db.execute("SELECT piece, step FROM round ORDER BY id").fetchall()
        except sqlite3.OperationalError:  # the tables are being made
            return []


def where_it_stands(path: Path) -> str:
    """The piece and the step that are next for the stand-in player, as the record has them."""
    opened, rules = open_tune(str(demo_book()), None, "bc-21"), TABLES.lesson
    with closing(open_record(path)) as record:
        plain = record.state(1, opened.box.id, standin=True)
    assert plain is not None
    asked = task(from_plain(opened.lesson, plain, rules), rules)
    return f"{asked.piece.name}, {asked.step}"


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_a_killed_session_goes_on(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    running = start(tmp_path, "--seconds", "120")
    until = time.monotonic() + 60
    while len(rounds(record)) < 3 and time.monotonic() < until:
        time.sleep(0.05)
    time.sleep(0.7)  # well into the next round
    known = rounds(record)
    assert len(known) >= 3
    os.kill(running.pid, signal.SIGKILL)
    running.wait()
    after = rounds(record)
    assert after[: len(known)] == known
    assert len(after) <= len(known) + 1
    expected = where_it_stands(record)
    again = start(tmp_path, "--seconds", "1")
    said, _ = again.communicate(timeout=60)
    assert again.returncode == 0
    piece, rest = expected.split(", ", 1)
    assert f"goes on with {piece} ({rest}" in said
    assert rounds(record)[: len(after)] == after
