"""The environment that is measured in, and what there is to say of the machine."""

from __future__ import annotations

import os
import platform
import shutil
import subprocess
import sys
import time
from pathlib import Path

HOME = Path(__file__).resolve().parent.parent.parent
YARDSTICKS = ("yamllint", "pyperf")


def install(folder: Path) -> str:
    """An environment with an ordinary install of this checkout and the yardsticks; gives its Python."""
    project = folder / "project"
    _copy(project)
    subprocess.run([sys.executable, "-m", "venv", str(folder / "venv")], check=True)
    python = str(folder / "venv" / ("Scripts" if os.name == "nt" else "bin") / "python")
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, str(project), *YARDSTICKS], check=True, stderr=subprocess.DEVNULL, env=environment(folder))
    return python


def _copy(target: Path) -> None:
    """Every file of this checkout, committed or not, so that a build leaves nothing here."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listing = subprocess.run(command, cwd=HOME, check=True, capture_output=True).stdout
    for name in filter(None, os.fsdecode(listing).split("\0")):
        if (HOME / name).is_file():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(HOME / name, target / name)


def environment(folder: Path) -> dict[str, str]:
    """As on a user's machine: byte code is kept, and the cache is there."""
    dropped = ("PYTHONDONTWRITEBYTECODE", "PYTHONPATH", "FORMCHECK_OWN")
    kept = {name: value for name, value in os.environ.items() if name not in dropped}
    return {**kept, "FORMCHECK_CACHE": str(folder / "cache")}


def program(name: str) -> str:
    """The path of a program of the environment that this Python belongs to."""
    return str(Path(sys.executable).with_name(name))


def described() -> str:
    """The machine, the Python, the day and the load, in a sentence."""
    load = "/".join(f"{each:.1f}" for each in os.getloadavg())
    return (
        f"{_processor()}, {os.cpu_count()} cores, {platform.system()} {platform.machine()}; "
        f"{platform.python_implementation()} {platform.python_version()}; {time.strftime('%Y-%m-%d')}; "
        f"load of the machine over 1/5/15 minutes at the end: {load}"
    )


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor() or "unknown processor"
    names = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return " ".join(next(names, "unknown processor").split())
