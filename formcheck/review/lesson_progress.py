"""What a learner has done so far: one JSON file of the learner's own, by course and exercise.

It is read anew before every write, so two courses or windows do not lose each other's results; it is written beside and
renamed. A file that is something else is left as it is.
"""

from __future__ import annotations

import contextlib
import json
import os
from typing import Any

from ..folders import cleared, users_folder
from ..reading.text import MOST_BYTES
from ..records import NamedTuple

VERSION = 1
KEY = "formcheck lesson progress"
_KEPT = "it is left as it is; move it away, or name another file with --progress"


class NotProgress(Exception):
    """A file that cannot be used as progress; the message names it and says why."""


class Done(NamedTuple):
    """One exercise as a learner did it. first: the marks of the first time, best: the most points; times: how often."""

    points: int
    best: int
    of: int
    times: int
    first: dict[str, Any]


def usual_file() -> str:
    """Where progress is kept: in the user's data folder. FORMCHECK_DATA overrides the folder."""
    support = "~/Library/Application Support"
    folder = users_folder("FORMCHECK_DATA", "APPDATA", support, "XDG_DATA_HOME", "~/.local/share")
    return os.path.join(folder, "lesson-progress.json")


class Progress:
    """The progress in one course. path: the learner's file; None where nothing is kept."""

    def __init__(self, path: str | None, course: str) -> None:
        self.path = path
        self.course = course
        self.done: dict[str, Done] = {}
        if path is not None:
            self.done = courses_of(_read(path)).get(course, {})

    def keep(self, exercise: str, points: int, of: int, marks: dict[str, Any]) -> None:
        """Adds a result and writes the file. Raises NotProgress when the file cannot be used or written."""
        data = _read(self.path) if self.path is not None else {}
        courses = _mapping(data, "courses", self.path)
        own = _mapping(courses, self.course, self.path)
        old = _done(own.get(exercise)) if self.path is not None else self.done.get(exercise)
        self.done = {**self.done, exercise: _with(old, points, of, marks)}
        if self.path is not None:
            kept = {**own, exercise: self.done[exercise]._asdict()}
            _write(self.path, {**data, KEY: VERSION, "courses": {**courses, self.course: kept}})


def _mapping(data: dict[str, Any], key: str, path: str | None) -> dict[str, Any]:
    """What stands under a key, so that nothing that stands there is written over unread. Raises NotProgress."""
    found = data.get(key, {})
    if not isinstance(found, dict):
        raise NotProgress(f"{path}: «{key}» holds no results; {_KEPT}")
    return found


def _with(old: Done | None, points: int, of: int, marks: dict[str, Any]) -> Done:
    if old is None:
        return Done(points, points, of, 1, marks)
    return Done(points, max(points, min(old.best, of)), of, old.times + 1, old.first)


def courses_of(data: dict[str, Any]) -> dict[str, dict[str, Done]]:
    """Progress by course and exercise; entries that make no sense are passed over."""
    result: dict[str, dict[str, Done]] = {}
    courses = data.get("courses")
    for course, entries in courses.items() if isinstance(courses, dict) else ():
        for id, entry in entries.items() if isinstance(entries, dict) else ():
            done = _done(entry)
            if done is not None:
                result.setdefault(course, {})[id] = done
    return result


def _done(entry: object) -> Done | None:
    if not isinstance(entry, dict):
        return None
    points, best, of, times = (_count(entry.get(name)) for name in ("points", "best", "of", "times"))
    first = entry.get("first")
    if points is None or best is None or of is None or times is None:
        return None
    return Done(points, best, of, times, first if isinstance(first, dict) else {})


def _count(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) and value >= 0 else None


def _read(path: str) -> dict[str, Any]:
    """The file's data; {} where there is no file yet. Raises NotProgress."""
    try:
        with open(path, "rb") as file:
            text = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise NotProgress(f"{path}: cannot be opened: {(error.strerror or str(error)).lower()}") from None
    if not text.strip():
        return {}
    return parse(text, path)


def parse(data: bytes, path: str) -> dict[str, Any]:
    """The data of a progress file. Raises NotProgress."""
    try:
        found = json.loads(data)
    except json.JSONDecodeError as error:
        raise NotProgress(
            f"{path}:{error.lineno}:{error.colno}: no progress of lessons can be read here ({error.msg.lower()}); {_KEPT}"
        ) from None
    except (UnicodeDecodeError, RecursionError, ValueError):
        raise NotProgress(f"{path}: is no JSON text; {_KEPT}") from None
    version = found.get(KEY) if isinstance(found, dict) else None
    if version is None:
        raise NotProgress(f"{path}: holds something else than the progress of lessons; {_KEPT}")
    if version != VERSION:
        raise NotProgress(f"{path}: is of version {version!r:.20}, and this program reads version {VERSION}; {_KEPT}")
    return dict(found)


def _write(path: str, data: dict[str, Any]) -> None:
    beside = f"{path}.{os.getpid()}.part"
    try:
        os.makedirs(os.path.dirname(os.path.abspath(path)), exist_ok=True)
        with open(cleared(beside), "x", encoding="utf-8", newline="\n") as file:
            file.write(json.dumps(data, indent=1, ensure_ascii=True) + "\n")
        os.replace(beside, path)
    except OSError as error:
        with contextlib.suppress(OSError):
            os.remove(beside)
        raise NotProgress(f"{path}: cannot be written: {(error.strerror or str(error)).lower()}") from None
