"""A looped piece under load, for minutes: the program in its window, an instrument over JACK, a busy second process,
a tempo step every four rounds; and what a listener at the sound server must have heard.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.lesson.pieces import piece_named
from companion.places import shipped
from companion.sound.render import Renderer
from companion.sound.score import Request, passage
from companion.sound.sound_settings import sound_settings
from companion.timeline import Timeline
from tests.servers.sound_ear import RATE, find, listening
from tests.session.fakes import a_tune_in_hand

ROOT = Path(__file__).parents[2]
BUSY = "import os\nwhile os.getppid() == {parent}: sum(range(10000))"


@dataclass(frozen=True, slots=True)
class Found:
    """What came of it: rounds and tempi heard, onsets looked for, those not there, the worst of the others (s), seams
    that are exact, frames that are not as they should be, and how often the recording slipped (a drop-out).
    """

    rounds: int
    tempi: int
    seconds: float
    onsets: int
    lost: int
    worst: float
    seams: int
    wrong: int
    breaks: int


def rules_in(folder: Path) -> Path:
    """A folder of tables in which one bar loops and four clean rounds raise the tempo a little."""
    rungs = ", ".join(f"{0.5 + 0.02 * i:.2f}" for i in range(26))
    return lesson_in(
        folder,
        order='["in time"]',
        rungs=f"[{rungs}]",
        clean_needed="4",
        failed_lower="1000",
        stride="1",
        most_stride="1",
        fastest_pace="0",
        shrink_after="1000",
        turn_minutes="1000.0",
        minutes="1000.0",
        bar="1.0",
    )


def lesson_in(folder: Path, **changed: str) -> Path:
    """A folder of tables in which some lines of the lesson's are changed."""
    text = shipped("config", "lesson.toml").read_text(encoding="utf-8")
    for key, value in changed.items():
        text, count = re.subn(rf"(?m)^{key} = .*$", f"{key} = {value}", text)
        assert count == 1, key
    (folder / "tables").mkdir()
    (folder / "tables" / "lesson.toml").write_text(text, encoding="utf-8")
    return folder / "tables"


def run(folder: Path, seconds: int, program: str = "tests.servers.whole_job", *, busy: bool = True) -> Found:
    """Run it for so long, and hold what was heard to what the tune says. `busy`: with a second process at work."""
    environment = os.environ | {
        "SDL_AUDIODRIVER": "pulseaudio",
        "BOX_COMPANION_DATA": str(folder / "data"),
        "BOX_COMPANION_CONFIG": str(rules_in(folder)),
        "COMPANION_DEBUG": "1",
    }
    environment.pop("SDL_VIDEODRIVER", None)
    left = folder / "left"
    work = BUSY.format(parent=os.getpid()) if busy else ""
    beside = subprocess.Popen([sys.executable, "-c", work], start_new_session=True)
    try:
        with listening() as heard:
            subprocess.run(
                [sys.executable, "-m", program, str(left), str(seconds)],
                cwd=ROOT,
                env=environment,
                check=True,
                timeout=seconds + 60,
            )
    finally:
        beside.kill()
        beside.wait()
    return held_to(heard.wave, json.loads((left / "asked.json").read_text()))


def held_to(wave: NDArray[np.float64], asked: list[dict[str, Any]]) -> Found:
    """Every onset on its own, every seam, and every frame, against rounds that were rendered by themselves."""
    course, lesson = a_tune_in_hand()
    settings = sound_settings()
    renderer = Renderer(settings.voices)
    rounds = asked[:-2]  # the last ones were cut off by the end of the session
    expected = np.zeros(len(wave) + 8 * RATE)
    begins = rounds[0]["first"]
    onsets: list[int] = []
    ends, seams = [], 0
    for one in rounds:
        laid = course.laid(piece_named(lesson.pieces, one["piece"]))
        timeline = Timeline(one["bpm"], course.beat)
        made = passage(laid, timeline, course.meter, settings.score, Request(bars_in=one["bars_in"]))
        sound = renderer.render(made)[:, 0]
        first = one["first"] - begins
        if ends and first == ends[-1]:
            seams += 1
        ends.append(first + made.frames)
        expected[first : first + len(sound)] += sound
        onsets += [first + made.start + round(float(Fraction(at)) * timeline.whole * RATE) for at, _ in one["notes"]]
    loud = int(np.flatnonzero(np.abs(wave) > 0.02)[0])
    shift, alike = find(wave, expected[: RATE // 2], loud, RATE // 4)
    assert alike > 0.99, alike
    worst = lost = breaks = 0
    off = 0  # by how much the recording has slipped since its beginning, where it broke up
    for onset in onsets:
        before = min(onset, 600)
        shape, place = expected[onset - before : onset + 1800], shift + onset - before
        found, alike = find(wave, shape, place + off, 600)
        if alike < 0.9 or abs(found - place - off) > 0.001 * RATE:
            found, alike = find(wave, shape, place + off, 2 * RATE)
            breaks += alike > 0.9
            off = found - place if alike > 0.9 else off
        lost += alike < 0.9
        if alike > 0.9:
            worst = max(worst, abs(found - place - off))
    length = ends[-1]
    wrong = int((np.abs(wave[shift : shift + length] - expected[:length]) > 3 / 32768).sum())
    tempi = len({one["bpm"] for one in rounds})
    return Found(len(rounds), tempi, length / RATE, len(onsets), lost, worst / RATE, seams, wrong, breaks)
