"""Whatever is given, a mistake is answered with one sentence and exit code 2, never a traceback."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.input.take_file import write_take
from companion.marking.mark_values import Heard
from companion.places import shipped

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
BOOKS = {
    "none.abc": None,
    "empty.abc": b"",
    "binary.abc": bytes(range(256)) * 20,
    "no_notes.abc": b"X:1\nT:Nothing\nK:D\n",
    "prose.abc": b"This is a letter.\n",
}
# A layout with a note that there is none of, on one line of it.
BROKEN = shipped("config", "boxes", "bc-21.toml").read_text(encoding="utf-8").replace('"F#6', '"H6')
BROKEN_LINE = next(number for number, line in enumerate(BROKEN.splitlines(), 1) if "H6" in line)
COMMANDS = {
    "tunes": [],
    "buttons": [],
    "bellows": [],
    "basses": [],
    "ornaments": [],
    "choose": [],
    "pieces": [],
    "render": ["-o", "out.wav"],
    "play": [],
    "practise": ["--seconds", "1"],
    "mark": ["take.mid"],
}
# Of each table of `config/`: a command that reads it, and an entry as it is and as it cannot be.
TABLES = {
    "bellows.toml": (["bellows", BOOK], "value = 8.0", "value = 0"),
    "choose.toml": (["choose", BOOK], "value = 6.0", 'value = "six"'),
    "hand.toml": (["buttons", BOOK], "value = 24.0", "value = -24.0"),
    "hands/flowing.toml": (["buttons", BOOK, "--hand", "flowing"], 'parent = "plain"', 'parent = "flowing"'),
    "keys.toml": (["practise", BOOK], 'standin = ["s"]', "standin = []"),
    "lesson.toml": (["pieces", BOOK], "phrase_bars = 2", "phrase_bars = 0"),
    "lift.toml": (["render", BOOK, "-o", "out.wav"], "shares = [1.4, 1]", "shares = [1.4, 0]"),
    "marks.toml": (["mark", BOOK, "take.mid"], "short = 0.35", "short = nan"),
    "memory.toml": (["practise", BOOK], "longest_days = 365", "longest_days = 36.5"),
    "ornaments.toml": (["ornaments", BOOK], 'notes = "L N"', 'notes = "L X"'),
    "sound.toml": (["render", BOOK, "-o", "out.wav"], "staccato = 0.5", "staccato = true"),
    "standin.toml": (["practise", BOOK], "missed = 0.02", "missed = 2"),
    "tempi.toml": (["pieces", BOOK], "bpm = 116", "bpm = 1160"),
    "themes.toml": (["practise", BOOK], 'ink = "#1c1f24"', 'ink = "#aaaaaa"'),
    "window.toml": (["practise", BOOK], "wait = 8.0", "wait = 800.0"),
    "words.toml": (["practise", BOOK], 'pull = "PULL"', "pull = 3"),
    "boxes/bc-21.toml": (["buttons", BOOK], '"F#6"', '"H6"'),
    "boxes/bc-23.toml": (["buttons", BOOK, "--box", "bc-23"], 'name = "C"', 'name = "B"'),
    "boxes/csd-21.toml": (["buttons", BOOK, "--box", "csd-21"], "offset = 0.5", "offset = 0.3"),
    "boxes/csd-23.toml": (["buttons", BOOK, "--box", "csd-23"], 'home = "', 'home = "x'),
    "boxes/d-10.toml": (["buttons", BOOK, "--box", "d-10"], 'kind = "chord"', 'kind = "drone"'),
    "boxes/dg-21.toml": (["buttons", BOOK, "--box", "dg-21"], 'source = "', "source = [] # "),
}


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name, content in BOOKS.items():
        if content is not None:
            Path(name).write_bytes(content)
    Path("folder").mkdir()
    Path("broken.toml").write_text(BROKEN, encoding="utf-8")
    Path("empty.mid").write_bytes(b"")
    write_take(Path("take.mid"), [Heard(n / 4, 62 + n, end=n / 4 + 0.2) for n in range(8)])
    Path("short.mid").write_bytes(b"MThd\x00\x00\x00\x06\x00\x00")
    return tmp_path


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The one sentence with which a command refuses."""
    before = sorted(Path().rglob("*"))
    assert main(arguments) == 2
    said = capsys.readouterr().err
    assert said.startswith("companion: ")
    assert said.count("\n") == 1
    assert "Traceback" not in said
    assert sorted(Path().rglob("*")) == before
    return said


@pytest.mark.parametrize("book", [*BOOKS, "folder"])
@pytest.mark.parametrize("command", COMMANDS)
def test_a_book_that_is_none(capsys: pytest.CaptureFixture[str], command: str, book: str) -> None:
    assert book.removesuffix(".abc") in refused(capsys, command, book, *COMMANDS[command])


@pytest.mark.parametrize("command", [command for command in COMMANDS if command != "tunes"])
@pytest.mark.parametrize(
    ("box", "says"), [("harp", "bc-21"), ("broken.toml", f"broken.toml:{BROKEN_LINE}"), ("none.toml", "none")]
)
def test_a_box_that_is_none(capsys: pytest.CaptureFixture[str], command: str, box: str, says: str) -> None:
    assert says in refused(capsys, command, BOOK, *COMMANDS[command], "--box", box)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["buttons", BOOK, "--tune", "99"], "99"),
        (["buttons", BOOK, "--tune", "x"], "no tune in it is called “x”"),
        (["render", BOOK, "-o", "none/out.wav"], "none"),
        (["render", BOOK, "-o", "out.doc"], ".wav"),
        (["render", BOOK, "-o", "out.wav", "--tempo", "fast"], "fast"),
        (["render", BOOK, "-o", "out.wav", "--tempo", "900%"], "150%"),
        (["render", BOOK, "-o", "out.wav", "--rounds", "0"], "--rounds"),
        (["render", BOOK, "-o", "out.wav", "--piece", "Z part"], "Z part"),
        (["mark", BOOK, "none.mid"], "none.mid"),
        (["mark", BOOK, "empty.mid"], "empty"),
        (["mark", BOOK, "short.mid"], "short.mid"),
        (["mark", BOOK, "broken.toml"], "broken.toml"),
        (["practise", BOOK, "--port", "No Such Port"], "MIDI"),
        (["practise", BOOK, "--size", "huge"], "huge"),
        (["practise", BOOK, "--theme", "plaid"], "plaid"),
        (["practise", BOOK, "--seconds", "1", "--device", "No Such Device"], "No Such Device"),
        (["practise", BOOK, "--seconds", "-1"], "--seconds"),
        (["practise", BOOK, "--keep", "broken.toml/x"], "broken.toml"),
        (["dance"], "dance"),
    ],
)
def test_other_mistakes(capsys: pytest.CaptureFixture[str], arguments: list[str], says: str) -> None:
    assert says in refused(capsys, *arguments)


def test_each_table_is_tried() -> None:
    config = shipped("config")
    assert set(TABLES) == {path.relative_to(config).as_posix() for path in config.rglob("*.toml")}


Write = Callable[[str, str], Path]


@pytest.mark.parametrize("table", TABLES)
def test_a_wrong_value_in_a_table(capsys: pytest.CaptureFixture[str], own_table: Write, table: str) -> None:
    arguments, right, wrong = TABLES[table]
    before, _, after = shipped("config", table).read_text(encoding="utf-8").partition(right)
    path = own_table(table, before + wrong + after)
    assert f"{path}:{before.count(chr(10)) + 1}:" in refused(capsys, *arguments)


@pytest.mark.parametrize("table", TABLES)
def test_a_table_that_is_no_toml(capsys: pytest.CaptureFixture[str], own_table: Write, table: str) -> None:
    arguments, right, _ = TABLES[table]
    before, _, after = shipped("config", table).read_text(encoding="utf-8").partition(right)
    path = own_table(table, before + "no = = toml" + after)
    said = refused(capsys, *arguments)
    assert f"{path}:{before.count(chr(10)) + 1}:" in said
    assert "this is not valid TOML: " in said
