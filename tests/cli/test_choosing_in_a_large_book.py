"""`companion choose` on a large book: by all processors, from what is known, and the same whatever way it comes."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from companion.box.layout import load_box
from companion.cli import weighed as under_test
from companion.notation import read_book, tune_index
from companion.pages.difficulty_cache import key_of, known, weigh
from companion.tune.unfold import unfold
from tests.cli.test_reports import printed

TUNES = 130


def tunes(count: int, seed: int = 3) -> str:
    """Tunes of which no two are the same; now and then one that does not fit the box."""
    dice = random.Random(seed)
    book = []
    for n in range(1, count + 1):
        bars = ["".join(dice.choice("DEFGABcdefg") for _ in range(8)) for _ in range(4)]
        low = "D,," if n % 40 == 0 else ""
        book.append(f"X:{n % 100}\nT:Tune {n}\nR:reel\nM:4/4\nL:1/8\nK:D\n{low}{'|'.join(bars)}|\n")
    return "\n".join(book)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "large.abc"
    path.write_text(tunes(TUNES), encoding="utf-8")
    return path


def plainly(book: Path) -> list[tuple[str, str, float | None, str]]:
    """The ranking, one tune after the other."""
    box = load_box("bc-21")
    found = []
    for tune in read_book(book).tunes:
        weight = weigh(tune, unfold(tune), box)
        hard = weight.difficulty
        points = None if hard is None else hard.points
        reason = weight.lacks if hard is None else hard.reason
        found.append((points is None, points or 0, tune.number, tune.nth, (tune.name, tune.title, points, reason)))
    return [one[-1] for one in sorted(found, key=lambda one: one[:4])]


def chosen(capsys: pytest.CaptureFixture[str], book: Path, *asked: str) -> list[tuple[str, str, float | None, str]]:
    report = printed(capsys, "choose", str(book), "--json", *asked)["tunes"]
    return [(t.get("name", str(t["number"])), t["title"], t["points"], t["reason"]) for t in report]


def same(found: list[tuple[str, str, float | None, str]], expected: list[tuple[str, str, float | None, str]]) -> bool:
    rounded = [(name, title, None if p is None else round(p, 6), why) for name, title, p, why in expected]
    return found == rounded


def test_several_processes_then_what_is_known(
    book: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[Any] = []
    real = subprocess.Popen

    def popen(*arguments: Any, **named: Any) -> Any:
        begun.append(arguments)
        return real(*arguments, **named)

    monkeypatch.setattr(under_test, "_processors", lambda: 2)
    monkeypatch.setattr(subprocess, "Popen", popen)
    monkeypatch.setattr(under_test, "weighed", lambda *_: pytest.fail("the processes left something over"))
    expected = plainly(book)
    assert sum(points is None for _, _, points, _ in expected) == 3
    assert same(chosen(capsys, book), expected)
    assert len(begun) == 2
    # Again: neither is a process begun, nor the book read.
    monkeypatch.setattr(tune_index, "read_book", lambda *_: pytest.fail("it was read before"))
    assert same(chosen(capsys, book), expected)
    assert len(begun) == 2


def test_no_process_to_be_had_and_no_place_to_keep_anything(
    book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = plainly(book)

    def none(*_: Any, **__: Any) -> Any:
        raise OSError("no more processes")

    with monkeypatch.context() as broken:
        broken.setattr(subprocess, "Popen", none)
        assert same(chosen(capsys, book), expected)
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("BOX_COMPANION_CACHE", str(tmp_path / "file" / "cache"))
    monkeypatch.setattr(under_test, "_processors", lambda: 2)
    assert same(chosen(capsys, book), expected)


def test_only_what_is_asked_for_is_weighed(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (only,) = chosen(capsys, book, "--title", "tune 77")
    assert only[1] == "Tune 77"
    assert set(known(key_of(book.read_bytes(), load_box("bc-21")))) == {"77"}


def begin(book: Path, stderr: int) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", "from companion.cli.main import entry; entry()", "choose", str(book)],
        stdout=subprocess.DEVNULL,
        stderr=stderr,
        preexec_fn=hears_interrupts,
    )


def hears_interrupts() -> None:
    """Ctrl-C ends what is begun here, even where the tests run behind a shell that has it ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def at_work(book: Path) -> list[str]:
    """The processes that have to do with a book."""
    found = []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            command = (process / "cmdline").read_bytes()
        except OSError:
            continue
        if str(book).encode() in command and b"companion.pages.rating_process" in command:
            found.append(process.name)
    return found


@pytest.mark.skipif(not Path("/proc/self/cmdline").exists(), reason="looks at the processes in /proc")
def test_ctrl_c_ends_it_and_all_it_has_begun(tmp_path: Path) -> None:
    book = tmp_path / "large.abc"
    book.write_text(tunes(1500), encoding="utf-8")
    program = begin(book, subprocess.PIPE)
    try:
        end = time.monotonic() + 60
        while not at_work(book) and len(os.sched_getaffinity(0)) > 1:
            assert time.monotonic() < end
            assert program.poll() is None
            time.sleep(0.05)
        program.send_signal(signal.SIGINT)
        _, said = program.communicate(timeout=30)
    finally:
        program.kill()
    assert (program.returncode, said) == (130, b"")
    end = time.monotonic() + 10  # a busy machine takes a moment to clear an ended process away
    while at_work(book) and time.monotonic() < end:
        time.sleep(0.05)
    assert at_work(book) == []


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of its own")
def test_there_is_a_bar_on_a_terminal_and_nothing_elsewhere(book: Path) -> None:
    import pty

    plain = begin(book, subprocess.PIPE)
    assert plain.communicate(timeout=60)[1] == b""
    book.write_text(tunes(TUNES, seed=4), encoding="utf-8")
    ours, theirs = pty.openpty()
    program = begin(book, theirs)
    os.close(theirs)
    shown = b""
    try:
        while True:
            shown += os.read(ours, 4096)
    except OSError:  # its end
        pass
    os.close(ours)
    assert program.wait(timeout=60) == 0
    assert f"Weighing {TUNES} tunes".encode() in shown
