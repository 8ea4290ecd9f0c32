"""What came of the hour: the logs of the player and of the session, the record and the sound, held to the limits."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

from benchmarks.frames import spread
from benchmarks.hour.along import Along, Break
from tests.servers.sound_ear import RATE

CYCLES = 0.011  # seconds: two of JACK's cycles at 256 frames, within which what is sent at a plug may be lost
PATIENCE = 2.0  # seconds for which a note may be under way, before it counts as lost
TOLD = 1.0  # seconds within which the window must say that the instrument is gone
LATE_SEAM = 1.0  # seconds: two rounds further apart than this have a page between them
GROWTH = 10.0  # MB
FRAME = {"median": 6.0, "99%": 1000 / 60}  # ms
SEEN = 25.0  # ms, for nine notes of ten


@dataclass(frozen=True, slots=True)
class Line:
    """A figure, its limit in words ("" where there is none), and whether it holds."""

    name: str
    figure: str
    limit: str = ""
    holds: bool = True


@dataclass(frozen=True, slots=True)
class Sent:
    """A note that the player sent, or would have sent had it been plugged in (`there` False)."""

    stamp: float
    round: int
    asked: int
    pitch: int
    velocity: int
    late: float
    there: bool


@dataclass(frozen=True, slots=True)
class Sample:
    """What a process holds at a moment: memory in MB, threads, file descriptors; and what the machine has lost."""

    seconds: float
    memory: float
    threads: int
    files: int
    stamp: float  # `time.perf_counter()`
    stolen: float  # seconds that whoever runs this machine as a guest has taken from it, since it was started


@dataclass
class Logs:
    """What the player and the session have said."""

    sent: list[Sent] = field(default_factory=list)
    plugs: list[tuple[float, float, float, bool]] = field(default_factory=list)  # out, gone, in, in the middle
    heard: list[tuple[float, int, int]] = field(default_factory=list)
    drawn: list[float] = field(default_factory=list)  # for each note heard
    rounds: list[list[Any]] = field(default_factory=list)
    kept: list[list[Any]] = field(default_factory=list)
    dropped: set[int] = field(default_factory=set)
    told: list[tuple[float, bool]] = field(default_factory=list)
    back: list[float] = field(default_factory=list)  # when the session's ear had the port again
    frames: list[float] = field(default_factory=list)
    tape: list[tuple[float, int, float]] = field(default_factory=list)  # when, how far it was, MB of sound that it held
    end: list[int] = field(default_factory=list)


def _lines(path: Path) -> Iterator[list[Any]]:
    with path.open(encoding="utf-8") as file:
        yield from map(json.loads, file)


def read(player: Path, session: Path) -> Logs:
    """Read both logs."""
    logs, out = Logs(), [0.0, 0.0, False]
    for what, *given in _lines(player):
        if what == "note":
            stamp, number, asked, pitch, velocity, late, there = given
            logs.sent.append(Sent(stamp, number, asked, pitch, velocity, late, there))
        elif what == "out":
            out = given
        elif what == "in" and out[0]:
            logs.plugs.append((out[0], out[1], given[0], bool(out[2])))
    for what, stamp, *given in _lines(session):
        if what == "heard":
            logs.heard.append((given[0], given[1], given[2]))
        elif what == "drawn":
            logs.drawn += [stamp] * given[0]
        elif what == "round":
            logs.rounds.append(given)
        elif what == "kept":
            logs.kept.append(given)
        elif what == "dropped":
            logs.dropped.update(given[0])
        elif what in ("told", "untold"):
            logs.told.append((stamp, what == "told"))
        elif what == "news" and given[1]:
            logs.back.append(given[0])
        elif what == "frames":
            logs.frames = given[1]
        elif what == "tape":
            logs.tape.append((stamp, given[0], given[1]))
        elif what == "end":
            logs.end = given
    return logs


def matched(logs: Logs) -> tuple[list[tuple[Sent, int]], list[Sent]]:
    """Notes sent with the place of the heard one that is theirs; and those that were not heard."""
    found, lost, at = [], [], 0
    for one in logs.sent:
        if not one.there:
            continue
        place = next(
            (
                j
                for j in range(at, min(at + 90, len(logs.heard)))
                if logs.heard[j][1:] == (one.pitch, one.velocity) and -0.01 < logs.heard[j][0] - one.stamp < PATIENCE
            ),
            None,
        )
        if place is None:
            lost.append(one)
        else:
            found.append((one, place))
            at = place + 1
    return found, lost


def at_a_plug(stamp: float, logs: Logs) -> bool:
    """Whether a note was sent within JACK's cycle of an unplugging, or before the port was connected again."""
    if any(out - CYCLES < stamp <= gone for out, gone, _, _ in logs.plugs):
        return True
    connected = [next((back for back in logs.back if back > put), put) for _, _, put, _ in logs.plugs]
    return any(put <= stamp < back + CYCLES for (_, _, put, _), back in zip(logs.plugs, connected, strict=True))


def of_notes(logs: Logs) -> list[Line]:
    """Every note that was sent was heard, and how soon it was seen."""
    found, lost = matched(logs)
    sent = [one for one in logs.sent if one.there]
    excepted = [one for one in lost if at_a_plug(one.stamp, logs)]
    missed = len(lost) - len(excepted)
    strange = len(logs.heard) - len(found)
    came = 1000 * np.array([logs.heard[place][0] - one.stamp for one, place in found])
    seen = 1000 * np.array([logs.drawn[place] - one.stamp for one, place in found if place < len(logs.drawn)])
    late = 1000 * np.array([one.late for one in sent])
    at = {share: float(np.percentile(seen, share)) for share in (50, 90, 99)}
    return [
        Line("notes sent while plugged in", f"{len(sent)}; {len(found)} heard"),
        Line("notes missed", f"{missed}", "0", missed == 0),
        Line("lost in the very moment of a plug", f"{len(excepted)}, not counted as missed"),
        Line("notes heard that nobody sent", f"{strange}", "0", strange == 0),
        Line("notes dropped by the ear", f"{logs.end[2]}", "0", logs.end[2] == 0),
        Line("sent to arrived, ms", _shares(came)),
        Line("sent to drawn verdict, ms", _shares(seen), f"90% under {SEEN:.0f}", at[90] < SEEN),
        Line("the player's own lateness, ms", _shares(late)),
    ]


def _shares(found: Any) -> str:
    return (
        ", ".join(f"{share}% {np.percentile(found, share):.1f}" for share in (50, 90, 99))
        + f", worst {found.max():.1f}"
    )


def of_plugs(logs: Logs, planned: int) -> list[Line]:
    """The unplugging was told each time, soon, and taken back."""
    waits = []
    for out, _, put, _ in logs.plugs:
        said = next((stamp for stamp, gone in logs.told if gone and out <= stamp < put), None)
        gone = next((stamp for stamp, gone in logs.told if not gone and stamp > put), None)
        waits.append((said - out if said else None, gone - put if gone else None))
    told = sum(a is not None and a < TOLD and b is not None and b < TOLD for a, b in waits)
    worst = max((t for pair in waits for t in pair if t is not None), default=0.0)
    middle = sum(one[3] for one in logs.plugs)
    return [
        Line("unplugged and plugged in again", f"{len(logs.plugs)}, {middle} in mid-round", f"{planned}",
             len(logs.plugs) == planned),
        Line("told and taken back by the window", f"{told}, after {worst:.2f} s at most",
             f"each, in {TOLD:.0f} s", told == planned == len(logs.told) / 2),
    ]  # fmt: skip


def of_rounds(logs: Logs) -> list[Line]:
    """A round is marked wrong where the player slipped, and nowhere else."""
    slipped = {one.round for one in logs.sent if one.there and one.pitch != one.asked}
    unjust = [kept for kept in logs.kept if not kept[1] and kept[0] not in slipped]
    passed = [kept[0] for kept in logs.kept if kept[1] and kept[0] in slipped]
    clean = sum(kept[1] for kept in logs.kept)
    kept_and_dropped = logs.dropped & {kept[0] for kept in logs.kept}
    lines = [
        Line("rounds begun", f"{len(logs.rounds)}, {len(logs.dropped)} broken off"),
        Line("rounds marked", f"{len(logs.kept)}, {clean} clean"),
        Line("marked wrong without a slip of the player's", f"{len(unjust)}", "0", not unjust),
        Line("marked clean with one", f"{len(passed)}", "0", not passed),
        Line("broken off and yet marked wrong", f"{len(kept_and_dropped & {k[0] for k in unjust})}", "0",
             not kept_and_dropped & {k[0] for k in unjust}),
        of_seams(logs),
    ]  # fmt: skip
    return lines + [Line("  such a round", json.dumps(one)) for one in (*unjust, *passed)[:5]]


def of_seams(logs: Logs) -> Line:
    """A round in time that follows another begins on the very frame on which that ends."""
    exact = late = 0
    for before, after in zip(logs.rounds, logs.rounds[1:], strict=False):
        if before[4] is None or after[4] is None or before[0] in logs.dropped:
            continue
        gap = after[4] - before[4] - before[5]
        exact += gap == 0
        late += 0 < gap < LATE_SEAM * RATE
    return Line("seams exact to the frame", f"{exact} of {exact + late}", "all", late == 0)


def of_sound(along: Along, control: Along, logs: Logs, buffer: int) -> list[Line]:
    """What was heard is what was handed to the device; beside it what became of the system's own player."""
    long, beside = ([one for one in these.breaks if one.length > buffer] for these in (along, control))
    lines = [
        Line("sound compared, frame by frame", f"{along.frames / RATE:.0f} s"),
        Line(f"drop-outs over one buffer ({buffer} frames)", f"{len(long)}", "0", not long),
        Line("  of pacat beside it, in the same run", f"{len(beside)} in {control.frames / RATE:.0f} s"),
        Line("drop-outs of any length", f"{len(along.breaks)} (pacat: {len(control.breaks)})"),
        Line("the device's queue found empty", f"{logs.end[3]} times", "0", logs.end[3] == 0),
    ]
    return lines + [Line("  such a break", _told(one)) for one in along.breaks[:20]]


def _told(one: Break) -> str:
    where = "in a silence" if one.silent else "in the sound"
    return f"{one.at / RATE:.2f} s: {one.length} frames, what follows {one.slip:+d}, {where}"


def of_process(samples: Sequence[Sample], logs: Logs, warm: float) -> list[Line]:
    """It has not grown since it was warm, but by the sound of the round in hand (36 MB three times round)."""
    after = [one for one in samples if one.seconds >= warm]
    alone = [one.memory - _sound_at(one.stamp, logs) for one in after]
    grown = alone[-1] - alone[0]
    most = max(one.memory for one in after)
    part = max(1, len(after) // 5)
    # The middle of the first and of the last fifth: while the plug is out there are fewer.
    threads, files = (
        [round(median(held[:part])), round(median(held[-part:])), max(held)]
        for held in ([one.threads for one in after], [one.files for one in after])
    )
    return [
        Line(f"memory from minute {warm / 60:.0f} on, MB",
             f"{after[0].memory:.1f} to {after[-1].memory:.1f} (highest {most:.1f})"),
        Line("  without the sound of the round in hand",
             f"{alone[0]:.1f} to {alone[-1]:.1f}: {grown:+.1f} (highest {max(alone):.1f})",
             f"+{GROWTH:.0f}", grown <= GROWTH),
        Line("threads", f"{threads[0]} to {threads[1]} (most {threads[2]})", "no more", threads[1] <= threads[0]),
        Line("taken from this machine by its host, s", f"{samples[-1].stolen - samples[0].stolen:.2f}"),
        Line("files open", f"{files[0]} to {files[1]} (most {files[2]})", "no more", files[1] <= files[0]),
    ]  # fmt: skip


def _sound_at(stamp: float, logs: Logs) -> float:
    """MB of sound that the tape held at a moment."""
    return next((held for at, _, held in reversed(logs.tape) if at <= stamp), 0.0)


def of_frames(logs: Logs) -> list[Line]:
    """How long each picture took."""
    at = spread(np.array(logs.frames, np.float32))
    limits = ", ".join(f"{name} {ms:.1f}" for name, ms in FRAME.items())
    figures = ", ".join(f"{name} {ms:.2f}" for name, ms in at.items())
    return [
        Line("a picture drawn, ms", f"{figures} ({len(logs.frames)} of them)", limits,
             all(at[name] <= most for name, most in FRAME.items())),
    ]  # fmt: skip


def of_record(path: Path, logs: Logs) -> list[Line]:
    """The record is whole, and holds what was played."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        quick = [row[0] for row in db.execute("PRAGMA quick_check")]
        keys = db.execute("PRAGMA foreign_key_check").fetchall()
        (sitting,) = db.execute("SELECT max(id) FROM sitting").fetchone()
        rounds, clean, foreign = db.execute(
            "SELECT count(*), total(clean), total(standin) FROM round WHERE sitting = ?", (sitting,)
        ).fetchone()
        notes, heard = db.execute(
            "SELECT count(*), count(heard_pitch) FROM note_mark JOIN round ON round.id = round WHERE sitting = ?",
            (sitting,),
        ).fetchone()
        (open_,) = db.execute("SELECT count(*) FROM sitting WHERE ended IS NULL").fetchone()
    whole = quick == ["ok"] and not keys and open_ == 0
    played = (len(logs.kept), sum(k[1] for k in logs.kept), sum(k[2] for k in logs.kept), sum(k[3] for k in logs.kept))
    same = (rounds, clean, notes, heard) == played and not foreign
    return [
        Line("record: quick_check, foreign_key_check", f"{', '.join(quick)}; {len(keys)} faults", "ok; 0", whole),
        Line("record: rounds, clean, notes, heard", f"{rounds}, {clean:.0f}, {notes}, {heard}",
             ", ".join(map(str, played)), same),
    ]  # fmt: skip


def table(lines: Sequence[Line]) -> str:
    """The lines as a table."""
    wide = max(len(line.name) for line in lines) + 2
    rows = []
    for line in lines:
        verdict = "" if not line.limit else f"   [{'holds' if line.holds else 'DOES NOT HOLD'}: {line.limit}]"
        rows.append(f"{line.name:{wide}}{line.figure}{verdict}")
    return "\n".join(rows)
