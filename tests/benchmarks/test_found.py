"""The logs of an hour held to the limits: what went wrong in them is found, and what did not is not."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from benchmarks.hour import found
from benchmarks.hour.found import Line, Logs, Sample

PLUG = 20.0  # seconds at which the instrument is unplugged, for two seconds


def written(folder: Path, player: list[Any], session: list[Any]) -> Logs:
    """Logs, written to files and read back."""
    paths = []
    for name, lines in (("player", player), ("session", session)):
        paths.append(folder / f"{name}.jsonl")
        paths[-1].write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    return found.read(*paths)


def note(stamp: float, number: int, wrong: int = 0, there: bool = True) -> list[Any]:
    return ["note", stamp, number, 60 + round(stamp) % 12, 60 + round(stamp) % 12 + wrong, 20 + number, 0.001, there]


def hour() -> tuple[list[Any], list[Any]]:
    """Rounds of two notes two seconds apart, played right but for the fourth; unplugged in the eleventh."""
    player: list[Any] = [["in", 0.0]]
    session: list[Any] = []
    for number in range(1, 21):
        begins = 2.0 * number - 2
        notes = [
            note(begins + k, number, int(number == 4 and k == 1), not PLUG <= begins + k < PLUG + 2) for k in (0, 1)
        ]
        player += notes
        session.append(["round", begins, number, "A bar 1", "in time", 60.0, round(begins * 44100), 88200])
        for _, stamp, _, _, pitch, velocity, _, there in notes:
            if there:
                session += [["heard", stamp + 0.004, stamp + 0.003, pitch, velocity], ["drawn", stamp + 0.01, 1]]
        if number == 11:
            player += [["out", PLUG, PLUG + 0.01, True], ["in", PLUG + 2]]
            session += [["news", PLUG + 0.05, PLUG + 0.05, False], ["dropped", PLUG + 0.05, [11]], ["told", PLUG + 0.1]]
            session += [["news", PLUG + 2.05, PLUG + 2.05, True], ["untold", PLUG + 2.1]]
        else:
            session.append(["kept", begins + 2, number, number != 4, 2, 2, 0, []])
    session.append(["end", 40.0, 38, 19, 0, 0])
    return player, session


def failing(lines: list[Line]) -> list[str]:
    return [line.name for line in lines if not line.holds]


def all_of(logs: Logs) -> list[Line]:
    return [*found.of_notes(logs), *found.of_plugs(logs, 1), *found.of_rounds(logs)]


def test_an_hour_without_a_fault_holds_every_limit(tmp_path: Path) -> None:
    logs = written(tmp_path, *hour())
    assert failing(all_of(logs)) == []
    said = {line.name: line.figure for line in all_of(logs)}
    assert said["notes sent while plugged in"] == "38; 38 heard"
    assert said["rounds marked"] == "19, 18 clean"
    assert said["unplugged and plugged in again"] == "1, 1 in mid-round"


def test_a_note_that_was_not_heard_is_missed(tmp_path: Path) -> None:
    player, session = hour()
    at = next(k for k, line in enumerate(session) if line[0] == "heard" and line[1] > 12)
    del session[at : at + 2]
    logs = written(tmp_path, player, session)
    assert failing(found.of_notes(logs)) == ["notes missed"]


@pytest.mark.parametrize(("stamp", "missed"), [(PLUG - 0.005, 0), (PLUG - 0.5, 1), (PLUG + 2.03, 0), (PLUG + 2.2, 1)])
def test_but_not_in_the_very_moment_of_a_plug(tmp_path: Path, stamp: float, missed: int) -> None:
    player, session = hour()
    player.append(note(stamp, 77))
    player.sort(key=lambda line: line[1])
    lines = found.of_notes(written(tmp_path, player, session))
    assert {line.name: line.figure for line in lines}["notes missed"] == str(missed)


def test_a_note_that_nobody_sent_is_told_of(tmp_path: Path) -> None:
    player, session = hour()
    session[3:3] = [["heard", 0.9, 0.9, 61, 99], ["drawn", 0.91, 1]]
    assert failing(found.of_notes(written(tmp_path, player, session))) == ["notes heard that nobody sent"]


def test_an_unplugging_that_was_not_told(tmp_path: Path) -> None:
    player, session = hour()
    logs = written(tmp_path, player, [line for line in session if line[0] not in ("told", "untold")])
    assert failing(found.of_plugs(logs, 1)) == ["told and taken back by the window"]


def test_a_round_marked_wrong_for_no_fault_of_the_players_and_one_marked_clean_for_a_slip(tmp_path: Path) -> None:
    player, session = hour()
    for line in session:
        if line[0] == "kept" and line[2] in (4, 9):
            line[3] = line[2] == 4
    lines = found.of_rounds(written(tmp_path, player, session))
    assert failing(lines) == ["marked wrong without a slip of the player's", "marked clean with one"]


def test_a_seam_that_came_late(tmp_path: Path) -> None:
    player, session = hour()
    next(line for line in session if line[0] == "round" and line[2] == 8)[6] += 300
    assert failing(found.of_rounds(written(tmp_path, player, session))) == ["seams exact to the frame"]


@pytest.mark.parametrize(("leak", "sound", "fails"), [(0.0, 30.0, False), (12.0, 0.0, True), (12.0, 30.0, True)])
def test_growth_is_told_from_the_sound_in_hand(leak: float, sound: float, fails: bool) -> None:
    samples = [
        Sample(float(s), 200.0 + (sound if s > 500 else 0.0) + leak * s / 1000, 9, 50, float(s), 0.0)
        for s in range(0, 1000, 5)
    ]
    logs = Logs(tape=[(0.0, 0, 0.0), (500.5, 0, sound)])
    assert bool(failing(found.of_process(samples, logs, 10.0))) is fails
