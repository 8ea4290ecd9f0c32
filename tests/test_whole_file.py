"""Files written whole or not at all: where they land, with whose rights, and what is left when it goes wrong."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.whole_file import whole_file

set_mask = os.umask
posix = pytest.mark.skipif(os.name != "posix", reason="permissions as POSIX has them")


@pytest.fixture
def usual_mask() -> Iterator[None]:
    """New files are readable by the group and by nobody else."""
    before = set_mask(0o027)
    yield
    set_mask(before)


def _write(path: Path, text: str = "new") -> None:
    with whole_file(path) as beside:
        beside.write_text(text, encoding="utf-8")


def _mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def _linked(link: Path, to: Path | str) -> Path:
    try:
        link.symlink_to(to)
    except OSError:
        pytest.skip("this system makes no links")
    return link


def test_a_file_appears_and_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "tune.abc"
    for text in ("first", "second"):
        _write(path, text)
        assert path.read_text(encoding="utf-8") == text
    assert list(tmp_path.iterdir()) == [path]


def test_the_name_to_write_to_has_the_same_ending_and_folder(tmp_path: Path) -> None:
    with whole_file(tmp_path / "take.flac") as beside:
        assert beside.suffix == ".flac"
        assert beside.parent == tmp_path
        assert beside.name != "take.flac"


@pytest.mark.parametrize("through", [1, 2])
@pytest.mark.parametrize("there", [True, False], ids=["a file", "nothing yet"])
def test_of_a_link_the_file_it_leads_to_is_written(tmp_path: Path, there: bool, through: int) -> None:
    own, kept = tmp_path / "own", tmp_path / "kept"
    own.mkdir()
    kept.mkdir()
    target = kept / "real.toml"
    if there:
        target.write_text("old", encoding="utf-8")
    link = _linked(own / "settings.toml", Path("..") / "kept" / "real.toml")
    if through == 2:
        link = _linked(own / "again.toml", "settings.toml")
    _write(link)
    assert link.is_symlink()
    assert not target.is_symlink()
    assert target.read_text(encoding="utf-8") == "new"
    assert list(kept.iterdir()) == [target]
    assert len(list(own.iterdir())) == through


def test_a_link_that_leads_to_itself_or_nowhere_is_said(tmp_path: Path) -> None:
    link = _linked(tmp_path / "round.toml", "round.toml")
    with pytest.raises(UserError):
        _write(link)
    lost = _linked(tmp_path / "lost.toml", tmp_path / "none" / "lost.toml")
    with pytest.raises(UserError, match="there is no folder"):
        _write(lost)
    assert link.is_symlink()
    assert lost.is_symlink()
    assert sorted(tmp_path.iterdir()) == [lost, link]


@posix
@pytest.mark.usefixtures("usual_mask")
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o644, 0o664, 0o755, 0o444])
def test_a_file_that_was_there_keeps_its_permissions(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "settings.toml"
    path.touch()
    path.chmod(mode)
    with whole_file(path) as beside:
        assert not _mode(beside) & 0o077, "others could read along"
        beside.write_text("new", encoding="utf-8")
    assert _mode(path) == mode
    assert path.read_text(encoding="utf-8") == "new"


@posix
@pytest.mark.usefixtures("usual_mask")
@pytest.mark.parametrize("mask", [0o022, 0o027, 0o077, 0o002])
def test_a_new_file_has_the_usual_permissions_and_the_mask_is_let_be(
    tmp_path: Path, mask: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_mask(mask)
    # The mask is the whole process's: another thread's file would get it too.
    monkeypatch.setattr(os, "umask", lambda mask: pytest.fail(f"the process's mask was set to {mask:o}"))
    _write(tmp_path / "new.toml")
    monkeypatch.undo()
    assert _mode(tmp_path / "new.toml") == 0o666 & ~mask
    assert set_mask(mask) == mask


@posix
def test_a_file_that_was_there_keeps_its_owner(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "settings.toml"
    path.touch()
    if os.geteuid() == 0:
        os.chown(path, 12345, 23456)
        _write(path)
        assert (path.stat().st_uid, path.stat().st_gid) == (12345, 23456)

    def may_not(*_: object) -> None:
        raise PermissionError(errno.EPERM, "not permitted")

    monkeypatch.setattr(os, "chown", may_not)
    _write(path, "again")
    assert path.read_text(encoding="utf-8") == "again"


def test_it_is_on_the_disk_before_it_takes_the_place_and_the_folder_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    path = tmp_path / "tune.abc"
    fsync, replace = os.fsync, Path.replace

    def synced(handle: int) -> None:
        folder = stat.S_ISDIR(os.fstat(handle).st_mode)
        done.append("folder" if folder else f"file of {os.fstat(handle).st_size}")
        fsync(handle)

    def moved(self: Path, target: Path) -> Path:
        done.append("moved")
        return replace(self, target)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "replace", moved)
    _write(path, "seven..")
    assert done[:2] == ["file of 7", "moved"]
    assert done[2:] == (["folder"] if os.name == "posix" else [])


@pytest.mark.parametrize(
    "error", [OSError(errno.ENOSPC, "No space left on device"), KeyError("x"), KeyboardInterrupt()]
)
def test_where_it_goes_wrong_the_old_file_stays_and_nothing_else(tmp_path: Path, error: BaseException) -> None:
    path = tmp_path / "tune.abc"
    path.write_text("old", encoding="utf-8")
    told = UserError if isinstance(error, OSError) else type(error)

    def write_half() -> None:
        with whole_file(path) as beside:
            beside.write_text("half", encoding="utf-8")
            raise error

    with pytest.raises(told):
        write_half()
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_disk_that_fails_at_the_end_leaves_the_old_file(
    tmp_path: Path, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "tune.abc"
    path.write_text("old", encoding="utf-8")

    def fails(*_: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os if step == "fsync" else Path, step, fails)
    with pytest.raises(UserError, match="input/output error"):
        _write(path)
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


@posix
def test_a_folder_that_cannot_be_synced_is_no_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fsync = os.fsync

    def files_only(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "Invalid argument")
        fsync(handle)

    monkeypatch.setattr(os, "fsync", files_only)
    _write(tmp_path / "tune.abc")
    assert (tmp_path / "tune.abc").read_text(encoding="utf-8") == "new"


@posix
def test_what_is_no_ordinary_file_is_left_as_it_is(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.abc"
    os.mkfifo(pipe)
    for path, said in ((pipe, "not a file"), (tmp_path, "is a folder"), (tmp_path / "none" / "x.abc", "no folder")):
        with pytest.raises(UserError, match=said):
            _write(path)
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert list(tmp_path.iterdir()) == [pipe]
