"""What is said when a table of numbers cannot be read."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from companion.errors import Place, UserError


@contextmanager
def reading(file: Path) -> Iterator[None]:
    """Say what goes wrong while a table is read in one sentence. Raises `UserError` with the file's name."""
    try:
        yield
    except (OSError, UnicodeDecodeError) as error:
        raise UserError(f"this table cannot be read ({error}); mend it or remove it", Place(file)) from None
    except tomllib.TOMLDecodeError as error:
        raise UserError(f"this is not valid TOML: {error}; mend that line", Place(file)) from None
    except KeyError as error:
        message = f"the entry {error} is missing; add it, or remove the file to go back to ours"
        raise UserError(message, Place(file)) from None
    except (TypeError, ValueError) as error:
        raise UserError(f"a value is of the wrong kind ({error}); mend it", Place(file)) from None
