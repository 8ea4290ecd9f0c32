"""Files that are written whole or not at all: beside their place first, then moved there."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from collections.abc import Iterator
from pathlib import Path

from companion.errors import Place, UserError


@contextlib.contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A name beside `path` to write to; what stands there is put in the file's place when all went well.

    The name has the ending of `path`, for libraries that go by it. Of a link, the file that it leads to is written. A
    file that was there keeps its permissions, and its owner where the system allows that; a new one gets the usual
    ones. It is on the disk, not only in memory, before it takes the old one's place.

    Raises
    ------
    UserError
        Where there is no such folder, `path` is no ordinary file, or it cannot be written.
    """
    try:
        target, old = _target(path)
        beside = target.with_name(f".{secrets.token_hex(8)}{path.suffix}")
        # While it is written, nobody may read it who may not read the old one.
        os.close(os.open(beside, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600 if old else 0o666))
    except OSError as error:
        raise _cannot(path, error) from error
    try:
        yield beside
        _to_disk(beside, os.O_RDWR)
        if old and os.name == "posix":
            _give_rights(beside, old)
        beside.replace(target)
    except OSError as error:
        raise _cannot(path, error) from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()
    with contextlib.suppress(OSError):  # the file is in place; not every system can do this with a folder
        _to_disk(target.parent, os.O_RDONLY)


def _target(path: Path) -> tuple[Path, os.stat_result | None]:
    """The file that is to be written, links followed, and what is known of the one that is there (None: none is)."""
    target = Path(os.path.realpath(path)) if path.is_symlink() else path
    if not target.parent.is_dir():
        raise UserError(f'there is no folder "{target.parent}"; make it, or choose another.')
    try:
        old = target.stat()
    except FileNotFoundError:
        return target, None
    if stat.S_ISDIR(old.st_mode):
        raise UserError(f'"{path}" is a folder; give a file\'s name.')
    if not stat.S_ISREG(old.st_mode):
        raise UserError(f'"{path}" is a device, not a file; give a file\'s name.')
    return target, old


def _give_rights(file: Path, old: os.stat_result) -> None:
    """The owner, where the system allows it, and the permissions of the file that was there."""
    now = file.stat()
    if (now.st_uid, now.st_gid) != (old.st_uid, old.st_gid):
        with contextlib.suppress(OSError):
            os.chown(file, old.st_uid, old.st_gid)
    file.chmod(stat.S_IMODE(old.st_mode))


def _to_disk(there: Path, access: int) -> None:
    handle = os.open(there, access)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _cannot(path: Path, error: OSError) -> UserError:
    return UserError(f"This cannot be written: {(error.strerror or 'no reason given').lower()}.", Place(path))
