"""An hour of practice under load: ``python -m benchmarks.hour_under_load [MINUTES] [--every MINUTES] [--seed N]``.

`companion practise` itself runs all the time, in a window of 1920×1080, its sound going to PulseAudio, its MIDI coming
over JACK, its marks going into a record. A player, who slips in one round of twenty, sends from a process of its own;
another process keeps a core busy; the instrument is unplugged and plugged in again every five minutes, every other time
in the middle of a round. The sound is recorded from the server and held, frame by frame and in passing, to what was
handed to the device. At the end each figure stands beside its limit; 1 is given where one does not hold.

Needs a JACK server, a PulseAudio server and an X display (DEVELOPERS.md). The logs of a run are left where
`--keep FOLDER` says.
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import json
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import astuple
from pathlib import Path
from typing import IO

import numpy as np

from benchmarks.hour import found
from benchmarks.hour.along import Along, Stream
from benchmarks.hour.found import Sample
from benchmarks.window_session import resident
from companion.sound.device import FIRST, SERVER_MS
from companion.sound.sound_settings import sound_settings
from tests.servers.looped import BUSY, ROOT, lesson_in
from tests.servers.sound_ear import RATE, monitor

Plug = tuple[float, bool, float]
PLAYER, SESSION = "player.jsonl", "session.jsonl"
AWAY = (1.0, 6.0)  # seconds for which the plug is out
WARM = 360.0  # seconds after which memory is compared
SAMPLE = 5.0  # seconds between two looks at the process
SAID = 300.0  # seconds between two lines of how it goes
CONTROL = "control"  # the sink on which the system's own player plays
WAKES = 2.0  # seconds after which a listener hears
PIPE = 1 << 20  # bytes that may wait in a pipe


def plugs(seconds: float, every: float, seed: int) -> list[Plug]:
    """When the instrument is unplugged, whether in the middle of a round, and for how long."""
    chance = random.Random(seed)
    times = round(seconds / every)
    # The last one comes early enough for something to be played after it.
    return [((n + 0.5) * every, n % 2 == 0, chance.uniform(*AWAY)) for n in range(times)]


@contextmanager
def running(command: list[str], **given: object) -> Iterator[subprocess.Popen[bytes]]:
    """A process, ended at the end of the block."""
    process = subprocess.Popen(command, cwd=ROOT, **given)  # type: ignore[call-overload]
    try:
        yield process
    finally:
        if process.poll() is None:
            process.terminate()
        process.wait(timeout=20)


def pipe() -> tuple[int, int]:
    """A pipe that holds some seconds of sound."""
    read, write = os.pipe()
    with contextlib.suppress(OSError):
        fcntl.fcntl(write, fcntl.F_SETPIPE_SZ, PIPE)
    return read, write


def pour(source: int, into: Stream, channels: int) -> threading.Thread:
    """Read int16 sound from a file descriptor into a stream, its first channel, until it ends."""

    def read() -> None:
        rest = b""
        while came := os.read(source, 1 << 16):
            rest += came
            whole = len(rest) // (2 * channels) * 2 * channels
            into.add(np.frombuffer(rest[:whole], "<i2").reshape(-1, channels)[:, 0].copy())
            rest = rest[whole:]

    thread = threading.Thread(target=read, daemon=True)
    thread.start()
    return thread


def look(process: int, began: float) -> Sample:
    """What a process holds now."""
    folder = Path(f"/proc/{process}")
    threads, files = len(list((folder / "task").iterdir())), len(list((folder / "fd").iterdir()))
    steal = int(Path("/proc/stat").read_text(encoding="ascii").split()[8]) / os.sysconf("SC_CLK_TCK")
    return Sample(time.monotonic() - began, resident(process), threads, files, time.perf_counter(), steal)


@contextmanager
def control() -> Iterator[Along]:
    """The system's own player at the same time, with as much in the server, on a sink of its own: noise without end.

    What breaks up there too is the machine's doing, or the server's.
    """
    sink = ["module-null-sink", f"sink_name={CONTROL}"]
    module = subprocess.run(["pactl", "load-module", *sink], check=True, capture_output=True, text=True).stdout.strip()
    sound = ["--format=s16le", f"--rate={RATE}", "--channels=1"]
    along, going = Along(), threading.Event()

    def play(out: IO[bytes]) -> None:
        rng = np.random.default_rng(1)
        with contextlib.suppress(OSError):
            while not going.is_set():
                noise = rng.integers(-9000, 9000, RATE // 10).astype("<i2")
                along.played.add(noise)
                out.write(noise.tobytes())
                out.flush()

    try:
        with (
            running(["parec", "-d", f"{CONTROL}.monitor", *sound, "--latency-msec=10"], stdout=subprocess.PIPE) as ear,
            running(["pacat", "-d", CONTROL, *sound, f"--latency-msec={SERVER_MS}"], stdin=subprocess.PIPE) as player,
        ):
            assert ear.stdout is not None
            assert player.stdin is not None
            with contextlib.suppress(OSError):  # before others, where the program's own sound may be too
                os.sched_setscheduler(player.pid, os.SCHED_RR, os.sched_param(FIRST))
            pour(ear.stdout.fileno(), along.heard, 1)
            time.sleep(WAKES)
            threading.Thread(target=play, args=(player.stdin,), daemon=True).start()
            yield along
            going.set()
    finally:
        subprocess.run(["pactl", "unload-module", module], check=False)


def watch(session: subprocess.Popen[bytes], along: Along, beside: Along, seconds: float) -> list[Sample]:
    """Compare and look until the session has ended."""
    began, said = time.monotonic(), SAID
    samples: list[Sample] = []
    while session.poll() is None:
        time.sleep(0.5)
        along.compare()
        beside.compare()
        at = time.monotonic() - began
        if at < seconds and at >= SAMPLE * (len(samples) + 1):
            with contextlib.suppress(OSError):
                samples.append(look(session.pid, began))
        if samples and at >= said:
            last = samples[-1]
            breaks = f"{len(along.breaks)} drop-outs, {len(beside.breaks)} beside"
            print(f"minute {said / 60:.0f}: {last.memory:.1f} MB, {breaks}", flush=True)
            said += SAID
        if at > seconds + 120:
            raise TimeoutError("the session does not end")
    return samples


def environment(folder: Path) -> dict[str, str]:
    """What the session is run with: folders of its own, and no rests in the lesson: it is to be an hour of work."""
    own = {f"BOX_COMPANION_{name}": str(folder / name.lower()) for name in ("DATA", "CACHE")}
    own["BOX_COMPANION_CONFIG"] = str(lesson_in(folder, break_minutes="1000.0"))
    found_ = os.environ | own | {"SDL_AUDIODRIVER": "pulseaudio", "COMPANION_DEBUG": "1"}
    found_.pop("SDL_VIDEODRIVER", None)
    return found_


def played(
    folder: Path, seconds: float, planned: Sequence[Plug], seed: int, along: Along
) -> tuple[list[Sample], Along]:
    """Let the session, its player, its listener and what they are beside run to the end; gives what was seen of it."""
    orders, ordering = pipe()
    sound, sounding = pipe()
    python = [sys.executable, "-m"]
    listen = ["parec", "-d", str(monitor()), "--format=s16le", f"--rate={RATE}", "--channels=2", "--latency-msec=10"]
    play = [*python, "benchmarks.hour.player", str(folder / PLAYER), json.dumps(planned)]
    practise = [*python, "benchmarks.hour.session", str(folder / SESSION), str(seconds), str(ordering), str(sounding),
                str(seed)]  # fmt: skip
    with contextlib.ExitStack() as open_:
        busy = [sys.executable, "-c", BUSY.format(parent=os.getpid())]
        open_.enter_context(running(busy, start_new_session=True))
        player = open_.enter_context(running(play, stdin=orders, stdout=subprocess.PIPE))
        assert player.stdout is not None
        assert player.stdout.readline() == b"ready\n", "the player has no port"
        beside = open_.enter_context(control())
        heard = open_.enter_context(running(listen, stdout=subprocess.PIPE))
        assert heard.stdout is not None
        pour(heard.stdout.fileno(), along.heard, 2)
        pass_on = {"env": environment(folder), "pass_fds": (ordering, sounding)}
        session = open_.enter_context(running(practise, **pass_on))
        os.close(ordering)
        os.close(sounding)
        tapped = pour(sound, along.played, 1)
        samples = watch(session, along, beside, seconds)
        tapped.join(timeout=5)
        player.wait(timeout=20)  # the orders have ended
    if session.returncode:
        raise RuntimeError(f"the session ended with {session.returncode}")
    along.compare(last=True)
    return samples, beside


def run(folder: Path, seconds: float, planned: Sequence[Plug], seed: int) -> list[found.Line]:
    """Run it, and give what was found."""
    along = Along()
    samples, beside = played(folder, seconds, planned, seed, along)
    (folder / "samples.json").write_text(json.dumps([astuple(one) for one in samples]), encoding="utf-8")
    logs = found.read(folder / PLAYER, folder / SESSION)
    return [
        *found.of_sound(along, beside, logs, sound_settings().speaker.frames),
        *found.of_notes(logs),
        *found.of_plugs(logs, len(planned)),
        *found.of_rounds(logs),
        *found.of_record(folder / "data" / "record.sqlite3", logs),
        *found.of_process(samples, logs, min(WARM, 0.3 * seconds)),
        *found.of_frames(logs),
    ]


def main() -> int:
    """Run it and print the table. Gives 1 where a limit does not hold."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("minutes", nargs="?", type=float, default=60.0)
    parser.add_argument("--every", type=float, default=5.0, metavar="MINUTES", help="between two unpluggings")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="leave the logs and the record here")
    given = parser.parse_args()
    seconds = 60 * given.minutes
    planned = plugs(seconds, 60 * given.every, given.seed)
    with tempfile.TemporaryDirectory() as name:
        folder = given.keep or Path(name)
        folder.mkdir(parents=True, exist_ok=True)
        load = os.getloadavg()[0]
        print(f"{given.minutes:g} minutes, {len(planned)} unpluggings; load before: {load:.2f}", flush=True)
        lines = run(folder, seconds, planned, given.seed)
    print(found.table(lines))
    print(f"load at the end: {os.getloadavg()[1]:.2f} over five minutes, {os.cpu_count()} cores")
    return int(any(not line.holds for line in lines))


if __name__ == "__main__":
    sys.exit(main())
