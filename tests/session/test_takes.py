"""What sessions without a sound device leave in folders of their own: only the last few stay."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.cli.main import main
from companion.errors import UserError
from companion.places import own_config, shipped
from companion.session.session_folders import clear_old, folder_for, taken_up, takes

FILES = ("window.png", "sound.wav", "take.mid", "marks.json", "marks-2.json", "marks-12.json")


def a_session(day: int, *files: str) -> Path:
    folder = takes() / f"2026-03-{day:02} 20.00.00"
    folder.mkdir(parents=True)
    for name in files or FILES:
        (folder / name).write_bytes(b"0123456789")
    return folder


def test_the_last_few_stay_and_the_rest_goes() -> None:
    folders = [a_session(day) for day in (9, 2, 11, 4, 30)]
    assert taken_up() == (5, 5 * 10 * len(FILES))
    clear_old(2, folders[0])
    assert sorted(takes().iterdir()) == sorted([folders[0], folders[2], folders[4]])
    assert taken_up() == (3, 3 * 10 * len(FILES))


def test_nothing_goes_where_all_are_to_stay() -> None:
    folders = [a_session(day) for day in (1, 2, 3)]
    clear_old(0, folders[0])
    clear_old(3, folders[0])
    assert sorted(takes().iterdir()) == folders
    assert taken_up()[0] == 3


def test_only_what_the_program_named_and_filled_goes(tmp_path: Path) -> None:
    last = a_session(28)
    other_name = takes() / "evening"
    other_name.mkdir()
    (other_name / "take.mid").touch()
    own_file = a_session(3, "take.mid", "notes.txt")
    own_folder = a_session(4, "take.mid")
    (own_folder / "marks.json").mkdir()
    file = takes() / "2026-03-05 20.00.00"
    file.touch()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "take.mid").touch()
    links = []
    try:
        link = takes() / "2026-03-06 20.00.00"
        link.symlink_to(elsewhere)
        links.append(link)
    except OSError:
        pass  # this system makes no links
    chosen = folder_for(str(takes() / "2026-03-07 20.00.00"))
    (chosen / "take.mid").touch()
    clear_old(1, last)
    assert sorted(takes().iterdir()) == sorted([last, other_name, own_file, own_folder, file, *links, chosen])
    assert (own_file / "take.mid").exists()
    assert (elsewhere / "take.mid").exists()
    assert (chosen / "take.mid").exists()


def test_a_folder_that_is_kept_elsewhere_gets_nothing_added(tmp_path: Path) -> None:
    assert not list(folder_for(str(tmp_path / "evening")).iterdir())
    assert not list(folder_for(str(tmp_path / "2026-03-07 20.00.00")).iterdir())
    assert not list(folder_for(None).iterdir())


@pytest.fixture
def _no_devices(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"):
        monkeypatch.delenv(name, raising=False)


@pytest.mark.usefixtures("_no_devices")
def test_a_session_clears_what_is_old(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import soundfile

    old = [a_session(day) for day in range(1, 8)]
    assert main(["practise", "--seconds", "1"]) == 0
    left = sorted(takes().iterdir())
    assert left[:-1] == old[3:]
    assert soundfile.info(left[-1] / "sound.flac").frames > 0
    assert main(["practise", "--seconds", "0.2", "--keep", str(tmp_path / "evening")]) == 0
    assert sorted(takes().iterdir()) == left
    own = shipped("config", "sound.toml").read_text(encoding="utf-8").replace("sessions = 5 ", "sessions = 1 ")
    own_config().mkdir(parents=True, exist_ok=True)
    (own_config() / "sound.toml").write_text(own, encoding="utf-8")
    capsys.readouterr()
    assert main(["check"]) == 0
    assert "(5 sessions, " in capsys.readouterr().out
    assert main(["practise", "--seconds", "0.2"]) == 0
    assert taken_up()[0] == 1
    assert sorted(path.name for path in (tmp_path / "evening").iterdir())[0] == "marks.json"


@pytest.mark.usefixtures("_no_devices")
def test_where_one_thing_cannot_be_left_the_others_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object) -> None:
        raise UserError("This cannot be written: no space left on device.")

    monkeypatch.setattr("companion.cli.leaving.write_sound", full)
    assert main(["practise", "--seconds", "1", "--keep", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert "The picture, the take and the marks are in: " in said.out
    assert said.err.count("\n") == 1
    assert "no space left" in said.err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["marks.json", "take.mid", "window.png"]
