"""Completion for zsh 5."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from .command_page import CommandPage, Taken
from .completion import ASK, FILES, FOLDERS, PATTERNS, WORDS, source_of

_SCRIPT = r"""#compdef formcheck
# Completion of formcheck for zsh, written by: formcheck completion zsh

_formcheck_ask() {
    local -a found
    found=("${(@f)$(${formcheck_program/#\~/$HOME} completion --words $1 --begin="${(Q)PREFIX}" 2>/dev/null)}")
    found=(${found:#})
    (( ${#found} )) && compadd -a found
}

_formcheck_format() {
    if compset -P '*='; then _files; else _formcheck_ask formats; fi
}

_formcheck() {
    local context state state_descr line formcheck_program=$words[1]
    local -A opt_args
    local -a commands
    commands=(
@COMMANDS@
    )
    _arguments -C '(- *)--help[list the commands]' '(- *)--version[show the version]' \
        '1:command:->command' '*::argument:->argument'
    case $state in
    command) _describe -t commands 'command of formcheck' commands ;;
    argument)
        case $words[1] in
        help) (( CURRENT == 2 )) && _describe -t commands 'command of formcheck' commands ;;
@ARGUMENTS@
        esac ;;
    esac
}

if [[ $zsh_eval_context[-1] == loadautofunc ]]; then
    _formcheck "$@"
else
    compdef _formcheck formcheck
fi
"""
_FIRST_CLAUSE = re.compile(r"[^;(]+")


def script(pages: Sequence[CommandPage]) -> str:
    """The whole script."""
    commands = "\n".join(f"        {_quoted(page.name + ':' + page.summary)}" for page in pages)
    arguments = "\n".join(line for page in pages for line in _command(page))
    return _SCRIPT.replace("@COMMANDS@", commands).replace("@ARGUMENTS@", arguments)


def _command(page: CommandPage) -> Iterator[str]:
    yield f"        {page.name}) _arguments \\"
    specs = [*map(_option, page.options), *(_operand(number, each) for number, each in enumerate(page.operands, 1))]
    yield from (f"            {_quoted(spec)} \\" for spec in specs[:-1])
    yield f"            {_quoted(specs[-1])} ;;"


def _option(taken: Taken) -> str:
    flag = next(each for each in taken.flags if each.startswith("--"))
    start = f"{'*' if taken.many else ''}{flag}"
    about = _escaped(_first_clause(taken))
    if not taken.value:
        return f"{start}[{about}]"
    return f"{start}=[{about}]:{_escaped(taken.value)}:{_action(taken)}"


def _operand(number: int, taken: Taken) -> str:
    place = "*" if taken.many else str(number)
    return f"{place}:{_escaped(_first_clause(taken))}:{_action(taken)}"


def _action(taken: Taken) -> str:
    source = source_of(taken)
    if source.kind == WORDS:
        return f"({' '.join(source.words)})"
    if source.kind == ASK:
        return "_formcheck_format" if source.words == ("formats",) else f"{{_formcheck_ask {source.words[0]}}}"
    if source.kind in PATTERNS:
        endings = "|".join(ending.replace(".", "", 1) for ending in PATTERNS[source.kind])
        return f'_files -g "*.({endings})"'
    return {FILES: "_files", FOLDERS: "_files -/"}.get(source.kind, " ")


def _first_clause(taken: Taken) -> str:
    match = _FIRST_CLAUSE.match(taken.about)
    return (match.group() if match else taken.about).strip()


def _escaped(text: str) -> str:
    return re.sub(r"([\[\]:\\])", r"\\\1", text)


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "'\\''") + "'"
