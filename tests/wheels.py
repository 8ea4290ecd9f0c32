"""Which wheels there are for what the program needs: ``python -m tests.wheels`` asks the registry (ten minutes).

One `pip download --only-binary :all: --platform …` for each dependency, platform and Python; says where there is none.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from itertools import product
from pathlib import Path

PLATFORMS = {
    "Linux x86_64": [f"manylinux{kind}_x86_64" for kind in ("2014", "_2_17", "_2_27", "_2_28")],
    "Linux aarch64": [f"manylinux{kind}_aarch64" for kind in ("2014", "_2_17", "_2_27", "_2_28")],
    "macOS arm64": [f"macosx_{release}_0_arm64" for release in (11, 12, 13, 14)],
    "macOS x86_64": [f"macosx_{release}_x86_64" for release in ("10_9", "10_13", "10_15", "11_0", "12_0", "13_0")],
    "Windows x86_64": ["win_amd64"],
}
PYTHONS = ("3.11", "3.12", "3.13")


def dependencies() -> Iterator[str]:
    """What `pyproject.toml` names, without its conditions."""
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for named in (project["dependencies"], *project["optional-dependencies"].values()):
        yield from (one.split(";")[0].strip() for one in named)


def wheel(asked: tuple[str, str, str]) -> str:
    """The name of the wheel for a dependency, a platform and a Python; "" where there is none."""
    dependency, platform, python = asked
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--only-binary", ":all:", "-d", folder]
        command += ["--python-version", python, dependency]
        for tag in PLATFORMS[platform]:
            command += ["--platform", tag]
        subprocess.run(command, capture_output=True, check=False)
        return next((path.name for path in Path(folder).iterdir()), "")


def main() -> None:
    """Print the table."""
    asked = list(product(dependencies(), PLATFORMS, PYTHONS))
    with ThreadPoolExecutor(4) as pool:
        found = dict(zip(asked, pool.map(wheel, asked), strict=True))
    for dependency in dependencies():
        names = {key[1:]: name for key, name in found.items() if key[0] == dependency}
        versions = sorted({name.split("-")[1] for name in names.values() if name})
        none = ", ".join(f"{platform} {python}" for (platform, python), name in names.items() if not name)
        print(f"{dependency}: {', '.join(versions)}; none for: {none or '-'}", flush=True)


if __name__ == "__main__":
    main()
