"""Mutation testing of one part of the program: what the tests do not notice when the code is changed a little.

    python -m tests.mutants fingering            every mutant of that part, or as many as its sample asks for
    python -m tests.mutants fingering again      those of them that are not killed yet, once more
    python -m tests.mutants fingering table      only what is known so far

The parts, their modules and the tests that are run are in `pyproject.toml` (`[tool.mutants.…]`). Each part is worked on
in a folder of its own, `build/mutants/PART`, where the results are kept. A part with a `sample` has only so many of its
mutants run: those whose names come first by their SHA-256, so that the same ones are taken each time.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

HOME = Path(__file__).parent.parent
# How mutmut keeps what became of a mutant: the exit code of pytest, or one of its own.
NOT_RUN, SURVIVED = (None, 2), (0, 5, 33)  # not yet, or interrupted; all passed, or no test comes to it
LINKED = ("companion", "tests", "config", "demo_tunes", "soundfonts")


def prepare(part: str) -> tuple[Path, dict[str, Any]]:
    """The part's folder, with links to what is needed and mutmut's settings; and what `pyproject.toml` says of it."""
    tool = tomllib.loads((HOME / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
    if part not in tool["mutants"]:
        sys.exit(f"there is no part {part!r}; choose one of {', '.join(tool['mutants'])}")
    folder = HOME / "build" / "mutants" / part
    folder.mkdir(parents=True, exist_ok=True)
    for name in LINKED:
        link = folder / name
        if not link.is_symlink():
            link.symlink_to(os.path.relpath(HOME / name, folder), target_is_directory=True)
    own = tool["mutants"][part]
    mutmut = tool["mutmut"] | {
        "only_mutate": own["modules"],
        "pytest_add_cli_args_test_selection": own["tests"],
        "pytest_add_cli_args": tool["mutmut"]["pytest_add_cli_args"]
        + [f"--deselect={name}" for name in own.get("leave_out", [])],
    }
    text = table("tool.pytest.ini_options", tool["pytest"]["ini_options"]) + table("tool.mutmut", mutmut)
    settings = folder / "pyproject.toml"
    if not settings.exists() or settings.read_text(encoding="utf-8") != text:
        settings.write_text(text, encoding="utf-8")
    return folder, own


def table(name: str, values: dict[str, Any]) -> str:
    """A TOML table of numbers, strings and lists of strings (which are written as in JSON)."""
    lines = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in values.items()]
    return "\n".join([f"[{name}]", *lines, "", ""])


def results(folder: Path) -> dict[str, str]:
    """What became of each mutant: "killed" (a test failed, or the time ran out), "survived", "not run"."""
    found = {}
    for meta in sorted(folder.glob("mutants/companion/**/*.py.meta")):
        for name, code in json.loads(meta.read_text(encoding="utf-8"))["exit_code_by_key"].items():
            found[name] = "not run" if code in NOT_RUN else "survived" if code in SURVIVED else "killed"
    return found


def sample(folder: Path, modules: list[str], count: int) -> list[str]:
    """So many of all mutants there are, the same ones each time."""
    from mutmut.mutation.file_mutation import mutate_file_contents
    from mutmut.utils.format_utils import get_mutant_name

    os.chdir(folder)  # where mutmut finds its settings
    made = ((Path(name), mutate_file_contents(name, Path(name).read_text(encoding="utf-8"))) for name in modules)
    names = [get_mutant_name(path, mutant) for path, file in made for mutant in file.mutant_names]
    return sorted(names, key=lambda name: hashlib.sha256(name.encode()).digest())[:count]


def main() -> None:
    """See above."""
    part, what = ([*sys.argv[1:], "", ""])[:2]
    folder, own = prepare(part)
    if what != "table":
        names = sample(folder, own["modules"], own["sample"]) if "sample" in own else []
        if what == "again":
            known = results(folder)
            names = [name for name in names or known if known.get(name) != "killed"]
        mutmut = [sys.executable, "-m", "mutmut", "run", "--max-children", os.environ.get("CHILDREN", "1"), *names]
        if subprocess.run(mutmut, cwd=folder, check=False).returncode:
            sys.exit(1)  # it has said why
    found = results(folder)
    modules = {name: name.rpartition(".")[0] for name in found}
    for module in sorted(set(modules.values())):
        tell(module, Counter(result for name, result in found.items() if modules[name] == module))
    tell(part, Counter(found.values()))


def tell(name: str, counts: Counter[str]) -> None:
    """One line of the table."""
    run = counts["killed"] + counts["survived"]
    share = f"{counts['killed'] / run:.1%}" if run else ""
    print(f"{name:36} {run:5} run {counts['killed']:5} killed {share:>6} {counts['not run']:5} not run")


if __name__ == "__main__":
    main()
