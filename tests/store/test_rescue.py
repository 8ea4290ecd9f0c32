"""What is read of a damaged record: all that does not lie on the damaged pages, and nothing that was not kept."""

from __future__ import annotations

import contextlib
import json
import random
from pathlib import Path

import pytest

from benchmarks import ten_years
from companion.cli.main import main
from companion.errors import UserError
from companion.places import own_data
from companion.store.record import FILE, open_record
from companion.store.rescue import rescue


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, list[str]]:
    """A record of two months: its file and its lines."""
    path = tmp_path_factory.mktemp("whole") / "record.sqlite3"
    ten_years.make(path, days=60, notes=60 * 550)
    with contextlib.closing(open_record(path)) as record:
        lines = list(record.lines())
    return path.read_bytes(), lines


def read(path: Path) -> tuple[list[str], int]:
    with rescue(path) as found:
        return [line for line in found.lines() if line], found.lost


def test_of_a_whole_record_all_is_read(tmp_path: Path, whole: tuple[bytes, list[str]]) -> None:
    path = tmp_path / "old.sqlite3"
    path.write_bytes(whole[0])
    lines, lost = read(path)
    assert (sorted(lines), lost) == (sorted(whole[1]), 0)


def test_a_backup_of_the_first_version_is_read(tmp_path: Path, whole: tuple[bytes, list[str]]) -> None:
    path = tmp_path / "old.sqlite3"
    path.write_bytes(whole[0])
    ten_years.as_first_version(path)
    lines, lost = read(path)
    assert lost == 0
    for kind in ("sitting", "round"):
        assert [line for line in lines if f'"kind":"{kind}"' in line] == [
            line for line in whole[1] if f'"kind":"{kind}"' in line
        ]


@pytest.mark.parametrize("seed", range(12))
def test_of_a_damaged_record_most_is_read_and_nothing_is_made_up(
    tmp_path: Path, whole: tuple[bytes, list[str]], seed: int
) -> None:
    data, lines = bytearray(whole[0]), whole[1]
    chance = random.Random(seed)
    pages = len(data) // 4096
    for page in chance.sample(range(pages // 2, pages), 3):  # the marks lie there, the greatest part of it
        data[page * 4096 : page * 4096 + 4096] = chance.randbytes(4096)
    path = tmp_path / "damaged.sqlite3"
    path.write_bytes(data)
    found, lost = read(path)
    assert lost > 0
    assert {line for line in found if '"kind":"round"' in line} <= set(lines)
    assert len(found) > 0.5 * len(lines)


def test_a_player_gets_back_what_can_be_read(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, whole: tuple[bytes, list[str]]
) -> None:
    own_data().mkdir(parents=True)
    damaged = bytearray(whole[0])
    middle = len(damaged) // 4096 * 2 // 3 * 4096  # among the marks
    damaged[middle : middle + 4096] = random.Random(1).randbytes(4096)
    aside = own_data() / "record.damaged.sqlite3"
    aside.write_bytes(damaged)
    assert main(["record", "rescue", str(aside)]) == 0
    said = capsys.readouterr().out
    assert "New in your record: 60 tunes" in said
    assert "could not be read" in said
    with contextlib.closing(open_record(own_data() / FILE)) as record:
        rounds = sum('"kind":"round"' in line for line in record.lines())
    assert rounds > 0.8 * sum(json.loads(line).get("kind") == "round" for line in whole[1])
    assert main(["record", "rescue", str(aside)]) == 0
    assert "all of it already" in capsys.readouterr().out
    assert main(["record", "rescue", str(tmp_path / "nowhere")]) == 2


def test_what_is_no_record_is_said(tmp_path: Path) -> None:
    path = tmp_path / "other"
    path.write_bytes(b"X:1\nT:A tune\n" * 400)
    with pytest.raises(UserError, match="nothing of this file can be read"), rescue(path):
        pass
