"""Asking git, where a repository may be somebody else's.

Git runs programs that a repository's own settings name: a monitor of files, converters, signature checkers, pagers, what
fetches objects that are missing. Only plumbing is asked here that needs none of them, and each is switched off besides.
The settings and the environment of the user (GIT_DIR and GIT_INDEX_FILE of a hook among them) hold as ever.
"""

from __future__ import annotations

import os
import subprocess

PATIENCE_S = 60.0
_SETTINGS = (
    "core.fsmonitor=false",
    f"core.hooksPath={os.devnull}",
    # a bare repository may lie in a folder of another that was cloned, settings and all
    "safe.bareRepository=explicit",
)
_ENVIRONMENT = {
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
}


class NoGit(Exception):
    """Git is not installed, or gives no answer."""


def git(folder: str, *arguments: str) -> subprocess.CompletedProcess[bytes]:
    """What git answers in a folder. Names from outside belong after `--` or `--end-of-options`. Raises NoGit."""
    settings = (part for each in _SETTINGS for part in ("-c", each))
    command = [_program(), "--no-pager", *settings, "-C", folder, *arguments]
    try:
        return subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            check=False,
            env={**os.environ, **_ENVIRONMENT},
            timeout=PATIENCE_S,
        )
    except (OSError, ValueError, subprocess.TimeoutExpired) as error:
        raise NoGit(str(error)) from None


def _program() -> str:
    """The git of the search path; never one of the working folder, which is where Windows looks first."""
    name = "git.exe" if os.name == "nt" else "git"
    for folder in os.environ.get("PATH", os.defpath).split(os.pathsep):
        path = os.path.join(folder, name)
        if os.path.isabs(folder) and os.access(path, os.X_OK) and os.path.isfile(path):
            return path
    raise NoGit("git is not installed")
