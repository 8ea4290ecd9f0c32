"""Files that are written whole or not at all: beside their place first, then moved there."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from companion.errors import Place, UserError


@contextlib.contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A name beside `path` to write to; what stands there is put in the file's place when all went well.

    The name has the ending of `path`, for libraries that go by it.

    Raises
    ------
    UserError
        Where there is no such folder, `path` is a folder, or it cannot be written.
    """
    if not path.parent.is_dir():
        raise UserError(f'there is no folder "{path.parent}"; make it, or choose another.')
    if path.is_dir():
        raise UserError(f'"{path}" is a folder; give a file\'s name.')
    try:
        handle, name = tempfile.mkstemp(prefix=".", suffix=path.suffix, dir=path.parent)
        os.close(handle)
    except OSError as error:
        raise _cannot(path, error) from error
    beside = Path(name)
    try:
        yield beside
        mask = os.umask(0)
        os.umask(mask)
        beside.chmod(0o666 & ~mask)  # mkstemp's are private
        beside.replace(path)
    except OSError as error:
        raise _cannot(path, error) from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()


def _cannot(path: Path, error: OSError) -> UserError:
    return UserError(f"This cannot be written: {(error.strerror or 'no reason given').lower()}.", Place(path))
