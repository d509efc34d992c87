"""Completion for bash 4 and later."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence

from .command_page import CommandPage
from .completion import ASK, FILES, FOLDERS, FORMULAS, HOUSE_RULES, NOTHING, PATTERNS, WORDS, Source, flags, source_of

_SCRIPT = r"""# Completion of formcheck for bash, written by: formcheck completion bash

_formcheck_source() {  # command, and an option or the number of an operand -> kind, words
    kind=nothing words=
    case "$1 $2" in
@SOURCES@
    esac
}

_formcheck_flags() {  # command -> words
    case $1 in
@FLAGS@
    esac
}

_formcheck_files() {  # what was begun, endings; folders always, all files where no ending is given
    local path ending
    compopt -o filenames 2>/dev/null
    while IFS= read -r path; do COMPREPLY+=("$path"); done < <(compgen -d -- "$1")
    while IFS= read -r path; do
        for ending in ${2:-""}; do
            [[ ! -d $path && $path == *$ending ]] && COMPREPLY+=("$path")
        done
    done < <(compgen -f -- "$1")
}

_formcheck_ask() {  # what was begun, what to ask for
    local begun=$1 quote= line
    [[ $begun == [\"\']* ]] && quote=${begun:0:1} begun=${begun:1}
    [[ $quote ]] || begun=${begun//\\/}
    while IFS= read -r line; do
        [[ $quote ]] || printf -v line %q "$line"
        COMPREPLY+=("$line")
    done < <("${COMP_WORDS[0]/#\~/$HOME}" completion --words "$2" --begin="$begun" 2>/dev/null)
}

_formcheck() {
    local word=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]} kind words at option= last= number=0
    COMPREPLY=()
    if ((COMP_CWORD == 1)); then
        COMPREPLY=($(compgen -W '@COMMANDS@' -- "$word"))
        return
    fi
    for ((at = 2; at < COMP_CWORD; at++)); do
        case ${COMP_WORDS[at]} in
        =) option=$last ;;
        -?*)
            last=${COMP_WORDS[at]} option=
            _formcheck_source "$command" "$last"
            [[ $kind == nothing && $words != value ]] || option=$last ;;
        *) if [[ $option ]]; then option=; else ((number += 1)); fi ;;
        esac
    done
    [[ $word == = ]] && word= option=$last
    if [[ $option ]]; then
        _formcheck_source "$command" "$option"
        at=$((COMP_CWORD - 1))
        [[ ${COMP_WORDS[COMP_CWORD]} == = ]] || at=$((at - 1))
        if [[ ${COMP_WORDS[at + 1]} == = && ${COMP_WORDS[at]} != -* ]]; then kind=files words=; fi
    elif [[ $word == -* ]]; then
        kind=words
        _formcheck_flags "$command"
    else
        until _formcheck_source "$command" "$number"; [[ $kind != nothing || $number == 0 ]]; do ((number -= 1)); done
    fi
    case $kind in
    words) COMPREPLY=($(compgen -W "$words" -- "$word")) ;;
    files | formulas) _formcheck_files "$word" "$words" ;;
    folders) _formcheck_files "$word" / ;;
    ask) _formcheck_ask "$word" "$words" ;;
    esac
}

complete -F _formcheck formcheck
"""


def script(pages: Sequence[CommandPage]) -> str:
    """The whole script."""
    commands = " ".join((*(page.name for page in pages), "help", "--help", "--version"))
    return (
        _SCRIPT.replace("@SOURCES@", "\n".join(_sources(pages)))
        .replace(
            "@FLAGS@", "\n".join(f"    {page.name}) words={shlex.quote(' '.join(flags(page)))} ;;" for page in pages)
        )
        .replace("@COMMANDS@", commands)
    )


def _sources(pages: Sequence[CommandPage]) -> Iterator[str]:
    names = " ".join(page.name for page in pages)
    yield f"    'help 0') kind=words words={shlex.quote(names)} ;;"
    for page in pages:
        for number, taken in enumerate(page.operands):
            yield from _case(f"{page.name} {number}", source_of(taken), "")
        for taken in page.options:
            if taken.value:
                for flag in taken.flags:
                    yield from _case(f"{page.name} {flag}", source_of(taken), "value")


def _case(key: str, source: Source, otherwise: str) -> Iterator[str]:
    """One arm of the case. otherwise: what words holds where nothing is completed."""
    kind = {HOUSE_RULES: FORMULAS}.get(source.kind, source.kind)
    words = {
        WORDS: " ".join(source.words),
        ASK: " ".join(source.words),
        FORMULAS: " ".join(PATTERNS[FORMULAS]),
        HOUSE_RULES: " ".join(PATTERNS[HOUSE_RULES]),
        FILES: "",
        FOLDERS: "",
        NOTHING: otherwise,
    }[source.kind]
    yield f"    {shlex.quote(key)}) kind={kind} words={shlex.quote(words)} ;;"
