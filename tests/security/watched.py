"""Runs commands of formcheck under an audit hook (PEP 578) and writes down what none of them should do.

    python watched.py REPORT FOLDER COMMANDS ALLOWED...

REPORT: file for what was seen, as JSON; FOLDER: the reviewed repository, in which no Python may be read; COMMANDS: JSON
file of argument lists; ALLOWED: folders that may be written to.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import sys
from typing import Any

WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CHANGES = {
    "os.mkdir",
    "os.rename",
    "os.remove",
    "os.rmdir",
    "os.link",
    "os.symlink",
    "os.chmod",
    "os.truncate",
    "os.chown",
}
STARTS = {"os.system", "os.exec", "os.fork", "os.forkpty", "os.spawn", "os.posix_spawn", "os.startfile", "pty.spawn"}
LOADS = {"pickle.find_class", "ctypes.dlopen"}
NETWORK = (
    "socket.",
    "ssl.",
    "urllib.",
    "http.",
    "ftplib.",
    "smtplib.",
    "poplib.",
    "imaplib.",
    "telnetlib.",
    "webbrowser.",
)


class Watch:
    """The hook. seen: what should not have been done, a line each."""

    def __init__(self, folder: str, allowed: list[str]) -> None:
        self.folder = os.path.realpath(folder) + os.sep
        self.allowed = tuple(os.path.realpath(each) + os.sep for each in allowed)
        self.seen: list[str] = []
        self.starts: list[list[str]] = []
        self.on = False
        self.doing = ""

    def __call__(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.on:
            return
        self.on = False  # what the hook itself does is none of theirs
        try:
            self._look(event, arguments)
        finally:
            self.on = True

    def _look(self, event: str, arguments: tuple[Any, ...]) -> None:
        if event == "ctypes.dlopen" and arguments[0] is None:
            return  # the program itself: NumPy, where it is installed, comes with openpyxl and asks for it
        if event == "os.posix_spawn" and os.path.basename(os.fsdecode(arguments[0])) == "git":
            return  # how subprocess starts it from Python 3.13 on; subprocess.Popen tells of it as well
        if event.startswith(NETWORK) or event in STARTS or event in LOADS:
            self._note(event, arguments)
        elif event == "subprocess.Popen":
            self.starts.append([os.fsdecode(each) for each in arguments[1]])
            if os.path.basename(self.starts[-1][0]) != "git":
                self._note(event, arguments)
        elif event == "open" and isinstance(arguments[0], (str, bytes, os.PathLike)):
            self._opened(os.fsdecode(arguments[0]), arguments)
        elif event in CHANGES:
            for path in arguments[: 2 if event in ("os.rename", "os.link") else 1]:
                if isinstance(path, (str, bytes, os.PathLike)):
                    self._written(os.fsdecode(path), event)
        elif event == "exec" and str(getattr(arguments[0], "co_filename", "")).startswith(self.folder):
            self._note("ran Python of the repository", arguments)

    def _opened(self, path: str, arguments: tuple[Any, ...]) -> None:
        _, mode, flags = arguments
        if (isinstance(mode, str) and set(mode) & set("wax+")) or (isinstance(flags, int) and flags & WRITES):
            self._written(path, "open")
        elif os.path.realpath(path).startswith(self.folder) and path.endswith((".py", ".pyc", ".pth", ".so")):
            self._note("read Python of the repository", arguments)

    def _written(self, path: str, event: str) -> None:
        real = os.path.join(os.path.realpath(os.path.dirname(path) or "."), os.path.basename(path))
        if real != os.devnull and not (real + os.sep).startswith(self.allowed):
            self._note(event, (path,))

    def _note(self, event: str, arguments: tuple[Any, ...]) -> None:
        self.seen.append(f"{self.doing}: {event} {arguments!r:.200}")


def main() -> None:
    report, folder, commands, *allowed = sys.argv[1:]
    with open(commands, encoding="utf-8") as file:
        lists = json.load(file)
    from formcheck.commands.main import main as formcheck

    watch = Watch(folder, allowed)
    sys.addaudithook(watch)
    statuses = []
    sys.dont_write_bytecode = True
    for arguments in lists:
        watch.doing = " ".join(arguments)
        said = io.StringIO()
        watch.on = True
        try:
            with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
                status = formcheck(arguments)
        except SystemExit as stop:
            status = stop.code
        finally:
            watch.on = False
        statuses.append([watch.doing, status, said.getvalue()[-300:]])
    with open(report, "w", encoding="utf-8") as file:
        json.dump({"seen": watch.seen, "starts": watch.starts, "statuses": statuses}, file)


if __name__ == "__main__":
    main()
