"""Completion for fish 3."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .command_page import CommandPage, Taken
from .completion import ASK, FILES, FOLDERS, PATTERNS, WORDS, source_of

_SCRIPT = r"""# Completion of formcheck for fish, written by: formcheck completion fish

function __formcheck_in --description 'whether the command is one of these'
    set -l words (commandline -opc)
    test (count $words) -gt 1; and contains -- $words[2] $argv
end

function __formcheck_first --description 'whether the command is still to come'
    test (count (commandline -opc)) -eq 1
end

function __formcheck_ask --description 'words that formcheck knows'
    set -l program (string replace -r '^~' $HOME -- (commandline -opc)[1])
    set -l begun (string unescape -- (commandline -ct); or string replace -r '^["\']' '' -- (commandline -ct))
    command $program completion --words $argv[1] --begin="$begun" 2>/dev/null
end

function __formcheck_formats --description 'reports, and the file that one goes to'
    set -l token (string split -m1 = -- (commandline -ct))
    if test (count $token) -eq 2
        string replace -r '^' $token[1]= -- (__fish_complete_path $token[2])
    else
        __formcheck_ask formats
    end
end

function __formcheck_files --description 'folders, and files with these endings'
    for path in (__fish_complete_path (commandline -ct))
        set -l name (string split -f1 \t -- $path)
        if string match -q '*/' -- $name
            echo $path
        else
            for ending in $argv
                string match -q "*$ending" -- $name; and echo $path
            end
        end
    end
end

complete -c formcheck -f
complete -c formcheck -n __formcheck_first -l help -d 'list the commands'
complete -c formcheck -n __formcheck_first -l version -d 'show the version'
"""


def script(pages: Sequence[CommandPage]) -> str:
    """The whole script."""
    names = " ".join(page.name for page in pages)
    lines = [f"complete -c formcheck -n '__formcheck_in help' -a '{names}'"]
    for page in pages:
        lines.append(f"complete -c formcheck -n __formcheck_first -a {page.name} -d {_quoted(page.summary)}")
        lines.extend(_command(page))
    return _SCRIPT + "\n".join(lines) + "\n"


def _command(page: CommandPage) -> Iterator[str]:
    start = f"complete -c formcheck -n '__formcheck_in {page.name}'"
    for action in dict.fromkeys(_action(taken) for taken in page.operands):
        if action:
            yield f"{start} {action}"
    for taken in page.options:
        names = " ".join(f"-l {flag[2:]}" if flag.startswith("--") else f"-s {flag[1:]}" for flag in taken.flags)
        value = f" -x {_action(taken)}".rstrip() if taken.value else ""
        if value == " -x -F":
            value = " -r -F"
        yield f"{start} {names}{value} -d {_quoted(taken.about.partition(';')[0])}"


def _action(taken: Taken) -> str:
    source = source_of(taken)
    if source.kind == WORDS:
        return f"-a {_quoted(' '.join(source.words))}"
    if source.kind == ASK:
        asking = "__formcheck_formats" if source.words == ("formats",) else f"__formcheck_ask {source.words[0]}"
        return f"-a '({asking})'"
    if source.kind in PATTERNS:
        return f"-a '(__formcheck_files {' '.join(PATTERNS[source.kind])})'"
    if source.kind == FOLDERS:
        return "-a '(__fish_complete_directories (commandline -ct))'"
    return "-F" if source.kind == FILES else ""


def _quoted(text: str) -> str:
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"
