"""Sessions that are killed (SIGKILL) at random moments, one after the other on the same record.

    python -m benchmarks.killed [TIMES] [--seed N]           sessions on devices that the script winds, so much faster
    python -m benchmarks.killed [TIMES] --real [--seed N]    `companion practise` itself, in its own time

After each kill: the record opens with nothing to say, is whole, its totals are those of its rounds, at most the round
in progress is missing, and the next session begins in the state that was kept last.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from companion.screen.actions import Action
from companion.store import record_file
from companion.store.record import Record, open_record
from companion.store.totals import count_anew

HERE = Path(__file__).parents[1]
FILE = "record.sqlite3"
WISHES = (Action.ON, Action.BACK, Action.FASTER, Action.SLOWER, Action.AGAIN)
TOTALS = ("piece_day", "mistake_day", "note_month", "practice_day")


# The session that is killed


def play(folder: Path, seed: int) -> None:
    """A session without end, which says on its standard output what it is about to keep, and what it has kept."""
    from companion.practice.state_json import to_plain
    from tests.session.fakes import Bench

    bench = Bench(folder)
    # What the script plays is kept as the player's own, so that the totals count it.
    mine, other = bench.session.state.players
    bench.put(players=(mine, replace(other, state=mine.state, first=mine.first)))
    keep, put_state = bench.record.keep, bench.record.put_state

    def keep_aloud(sitting: int, kept: Any, state: Any) -> int:
        say("keep", [[kept.piece, kept.step, kept.bpm], state])
        number = keep(sitting, replace(kept, standin=False), state)
        say("done", None)
        return number

    def put_aloud(sitting: int, _standin: bool, state: Any) -> None:
        say("put", [None, state])
        put_state(sitting, False, state)
        say("done", None)

    bench.record.keep = keep_aloud  # type: ignore[method-assign]
    bench.record.put_state = put_aloud  # type: ignore[method-assign]
    say("begin", [None, to_plain(bench.session.state.players[0].first, bench.rules)])
    chance = random.Random(seed)
    while True:
        bench.wind(0.5)
        if chance.random() < 0.02:
            bench.window.wanted.append(chance.choice(WISHES))


def say(what: str, value: Any) -> None:
    print(json.dumps([what, value]), flush=True)


# The killing


@dataclass
class Seen:
    """What came of the kills: how many, in which moment they hit, rounds kept, rounds lost in the middle."""

    kills: int = 0
    moments: Counter[str] = field(default_factory=Counter)
    rounds: int = 0
    lost: int = 0


def kill_wound(folder: Path, times: int, seed: int, longest: float = 1.5) -> Seen:
    """Kill sessions on wound devices; raises AssertionError where the record is not what it should be."""
    chance, seen = random.Random(seed), Seen()
    state: Any = None
    for number in range(times):
        before = rounds_in(folder)
        said = _kill_one(folder, chance, number, longest)
        begun = [value for what, value in said if what == "begin"]
        if begun and state is not None:
            assert begun[0][1] == state, "the session did not go on where the record says"
        asked = [value for what, value in said if what in ("keep", "put")]
        done = sum(what == "done" for what, _ in said)
        seen.moments["opening" if not begun else "writing" if done < len(asked) else "playing"] += 1
        after = rounds_in(folder)
        kept = [value[0] for value in asked if value[0] is not None]
        sure = [value[0] for value in asked[:done] if value[0] is not None]
        new = after[len(before) :]
        assert after[: len(before)] == before, "rounds of earlier sessions are gone"
        assert new in (sure, kept), f"{len(new)} rounds kept, {len(sure)} were said to be"
        seen.lost += len(kept) - len(new)
        found = check(folder / FILE)
        if asked:
            written = [*asked[:done], *([asked[done]] if done < len(asked) else [])]
            possible = [written[-1][1], *([written[-2][1]] if len(written) > 1 and done < len(written) else [])]
            if done == 0:
                possible.append(state)
            assert found in possible, "where the player is was not kept with the round"
        else:
            assert found == state
        state = found
        seen.kills += 1
        seen.rounds += len(new)
    return seen


def _kill_one(folder: Path, chance: random.Random, number: int, longest: float) -> list[tuple[str, Any]]:
    """Start a session, kill it at a random moment, and give what it said until then."""
    command = [sys.executable, "-m", "benchmarks.killed", "--play", str(folder), "--seed", str(number)]
    with tempfile.TemporaryFile() as out:
        running = subprocess.Popen(command, stdout=out, cwd=HERE)
        if number % 3 == 0:  # at any moment, from the very start
            time.sleep(chance.uniform(0.0, longest))
        else:  # well within the session; every third time as a round is being written
            _wait_for(out, running, chance.randrange(1, 12))
            time.sleep(chance.uniform(0.0, 0.3 if number % 3 == 1 else 0.002))
        os.kill(running.pid, signal.SIGKILL)
        assert running.wait() == -signal.SIGKILL, "the session ended by itself"
        out.seek(0)
        return [tuple(json.loads(line)) for line in out.read().split(b"\n")[:-1]]


def _wait_for(out: Any, running: subprocess.Popen[bytes], keeps: int) -> None:
    """Wait until a session has begun to keep so many rounds."""
    until = time.monotonic() + 60
    while running.poll() is None and time.monotonic() < until:
        if os.pread(out.fileno(), 1 << 26, 0).count(b'["keep"') >= keeps:
            return
        time.sleep(0.001)


def rounds_in(folder: Path) -> list[list[Any]]:
    """The rounds that a record holds, read past the program."""
    if not (folder / FILE).exists():
        return []
    with contextlib.closing(sqlite3.connect(folder / FILE, timeout=10)) as db:
        return [list(row) for row in db.execute("SELECT piece, step, bpm FROM round ORDER BY id")]


def check(path: Path) -> Any:
    """That a record opens, is whole, and counts right; gives where the player is in its only tune."""
    record = open_record(path)
    try:
        assert record.notice == "", record.notice
        assert record_file.faults_of(path) == ""
        assert _counted(record) == _counted(record, anew=True), "the totals are not those of the rounds"
        return record.state(1, "bc-21", standin=False)
    finally:
        record.close()


def _counted(record: Record, anew: bool = False) -> list[list[Any]]:
    with record._change() as db:
        if anew:
            count_anew(db)
        return [db.execute(f"SELECT * FROM {table}").fetchall() for table in TOTALS]


def kill_real(folder: Path, times: int, seed: int) -> Seen:
    """Kill `companion practise`, with SDL's dummy sound and no screen."""
    chance, seen = random.Random(seed), Seen()
    environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    environment |= {"BOX_COMPANION_DATA": str(folder), "SDL_AUDIODRIVER": "dummy", "SDL_VIDEODRIVER": "dummy"}
    command = [sys.executable, "-m", "companion", "practise", "--seconds", "120"]
    for _ in range(times):
        before = rounds_in(folder)
        running = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, cwd=HERE)
        time.sleep(chance.uniform(0.0, 9.0))
        known = rounds_in(folder)
        os.kill(running.pid, signal.SIGKILL)
        assert running.wait() == -signal.SIGKILL, "the session ended by itself"
        after = rounds_in(folder)
        assert after[: len(known)] == known, "rounds that were kept are gone"
        check(folder / FILE) if (folder / FILE).exists() else None
        seen.kills += 1
        seen.rounds += len(after) - len(before)
        seen.moments["opening" if len(after) == len(before) else "playing"] += 1
    return seen


def main() -> int:
    """Print what came of it; 1 where a record was not what it should be."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("times", nargs="?", type=int, default=200)
    parser.add_argument("--real", action="store_true")
    parser.add_argument("--play", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    if given.play is not None:
        play(given.play, given.seed)
    with tempfile.TemporaryDirectory() as name:
        kill = kill_real if given.real else kill_wound
        seen = kill(Path(name), given.times, given.seed)
    hit = ", ".join(f"{count} while {moment}" for moment, count in seen.moments.most_common())
    print(f"{seen.kills} kills ({hit}): {seen.rounds} rounds kept, {seen.lost} lost in the middle of being written")
    return 0


if __name__ == "__main__":
    sys.exit(main())
