"""Builds the wheel and the source distribution of a commit so that anybody who does it again gets the same bytes.

    python tests/release/release_build.py OUT              # of HEAD, into a folder
    python tests/release/release_build.py OUT --commit v1

Needs git, and the package index for one version of setuptools. What is built is an export of the commit, not the checkout, with
fixed modes and in a fixed order; all times are the commit's (SOURCE_DATE_EPOCH, reproducible-builds.org); language, time
zone, umask and the order of sets are fixed as well. The wheel is built from the source distribution. Another zlib may pack
the same contents into other bytes; its version is printed beside the sums.
"""

from __future__ import annotations

import argparse
import gzip
import hashlib
import io
import os
import subprocess
import sys
import tarfile
import tempfile
import zipfile
import zlib
from pathlib import Path

HOME = Path(__file__).resolve().parents[2]
SETUPTOOLS = "setuptools==80.9.0"
"""One version, for its metadata and its order of files become part of the wheel."""
BUILD = "import setuptools.build_meta as backend, sys; print(getattr(backend, sys.argv[1])(sys.argv[2]))"
FILE, PROGRAM, FOLDER = 0o644, 0o755, 0o755


def environment(folder: Path) -> str:
    """The Python of a new environment with that setuptools. Raises CalledProcessError."""
    subprocess.run([sys.executable, "-m", "venv", str(folder)], check=True, capture_output=True)
    python = str(folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))
    install = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", SETUPTOOLS]
    subprocess.run(install, check=True, capture_output=True, text=True)
    return python


def build(out: Path, python: str, commit: str = "HEAD", home: Path = HOME) -> tuple[Path, Path]:
    """Source distribution and wheel of a commit. python: of an environment(). Raises CalledProcessError."""
    epoch = int(git(home, "log", "-1", "--format=%ct", commit))
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="formcheck-build-") as folder:
        work = Path(folder)
        unpack(git(home, "archive", "--format=tar", commit), work / "source", epoch)
        sdist = normal_sdist(run_backend("build_sdist", work / "source", work / "dist", epoch, python), out, epoch)
        unpack(gzip.decompress(sdist.read_bytes()), work / "unpacked", epoch)
        (root,) = (work / "unpacked").iterdir()
        wheel = run_backend("build_wheel", root, work / "dist", epoch, python)
        target = out / wheel.name
        target.write_bytes(wheel.read_bytes())
    return sdist, target


def git(home: Path, *arguments: str) -> bytes:
    return subprocess.run(["git", "-C", str(home), *arguments], check=True, capture_output=True).stdout


def unpack(archive: bytes, target: Path, epoch: int) -> None:
    """Writes the files of an archive, in the order of their names, with fixed modes and times."""
    with tarfile.open(fileobj=io.BytesIO(archive)) as tar:
        for member in sorted((each for each in tar if each.isfile()), key=lambda each: each.name):
            path = target / member.name
            assert path.resolve().is_relative_to(target.resolve()), member.name
            path.parent.mkdir(parents=True, exist_ok=True)
            content = tar.extractfile(member)
            assert content is not None
            path.write_bytes(content.read())
            path.chmod(PROGRAM if member.mode & 0o100 else FILE)
            os.utime(path, (epoch, epoch))
    for folder in [target, *(each for each in target.rglob("*") if each.is_dir())]:
        folder.chmod(FOLDER)


def run_backend(hook: str, source: Path, out: Path, epoch: int, python: str) -> Path:
    """Runs a hook of the build backend (PEP 517) in a fixed environment; the file it made."""
    out.mkdir(exist_ok=True)
    world = {
        "PATH": os.environ.get("PATH", os.defpath),
        "LC_ALL": "C.UTF-8",
        "TZ": "UTC",
        "PYTHONHASHSEED": "0",
        "PYTHONDONTWRITEBYTECODE": "1",
        "SOURCE_DATE_EPOCH": str(epoch),
    }
    command = [python, "-c", BUILD, hook, str(out)]
    made = subprocess.run(
        command, cwd=source, env=world, capture_output=True, text=True, preexec_fn=lambda: os.umask(0o022) and None
    )
    if made.returncode:
        sys.stderr.write(made.stderr)
        made.check_returncode()
    return out / made.stdout.splitlines()[-1]


def normal_sdist(made: Path, out: Path, epoch: int) -> Path:
    """The same archive with entries in the order of their names, of nobody in particular, at one time."""
    plain = io.BytesIO()
    with tarfile.open(made) as old, tarfile.open(fileobj=plain, mode="w", format=tarfile.USTAR_FORMAT) as new:
        for member in sorted((each for each in old if each.isfile()), key=lambda each: each.name):
            entry = tarfile.TarInfo(member.name)
            entry.size, entry.mtime, entry.mode = member.size, epoch, PROGRAM if member.mode & 0o100 else FILE
            new.addfile(entry, old.extractfile(member))
    target = out / made.name
    with target.open("wb") as file, gzip.GzipFile("", "wb", 9, file, epoch) as packed:
        packed.write(plain.getvalue())
    return target


def contents(path: Path) -> list[str]:
    """What an archive holds."""
    if path.suffix == ".whl":
        with zipfile.ZipFile(path) as wheel:
            return wheel.namelist()
    with tarfile.open(path) as tar:
        return tar.getnames()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("--commit", default="HEAD")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="formcheck-build-") as folder:
        made = build(options.out, environment(Path(folder) / "env"), options.commit)
    print(f"Python {sys.version.split()[0]}, zlib {zlib.ZLIB_RUNTIME_VERSION}, {SETUPTOOLS}")
    for path in made:
        print(f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path}  ({len(contents(path))} files)")


if __name__ == "__main__":
    main()
