"""A session that is killed in the middle of a round loses at most that round, and the next start goes on from there."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest


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


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_a_killed_session_goes_on(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite3"
    running = start(tmp_path, "--seconds", "120")
    until = time.monotonic() + 60
    while len(rounds(record)) < 5 and time.monotonic() < until:
        time.sleep(0.05)
    time.sleep(0.7)  # well into the next round
    known = rounds(record)
    assert len(known) >= 5
    os.kill(running.pid, signal.SIGKILL)
    running.wait()
    after = rounds(record)
    assert after[: len(known)] == known
    assert len(after) <= len(known) + 1
    again = start(tmp_path, "--seconds", "1")
    said, _ = again.communicate(timeout=60)
    assert again.returncode == 0
    piece, step = after[-1]
    assert "goes on with" in said
    assert f"{piece}, {step}" in said or "in time" in said
    assert rounds(record)[: len(after)] == after
