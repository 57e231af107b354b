"""What the library says in terms of arguments, said in the options of a command.

The library's hints name arguments of Python calls. Which option stands for which argument is read from the command
itself; a hint that no option follows is cut, or says that it is for Python.
"""

from __future__ import annotations

import re

import click

# Columns of a log are named one by one here, by a mapping in Python.
_COLUMN = re.compile(r'(?:channels=)?\{"(?P<role>air|part_side|time)": (?P<heading>"[^"]*"|\.\.\.)\}')
_COLUMNS = re.compile(r'channels=\{"air": \.\.\., "part_side": \.\.\.\}')

# What no option offers, with the words that lead to it.
_CUT = (
    re.compile(r',? (?:or|and) (?:ask for|the _estimate twin with)\s+out_of_range="\w+"'),
    re.compile(r"[;,]? (?:or |for its spread )?use the _estimate twin[^.;]*"),
    re.compile(r",? or give tester=Estimate\([^)]*\)[^.;]*"),
)

# Calls that are commands here, and those that have no command.
_CALLS = (
    (re.compile(r"\bsteels\(\)"), "afterquench steels"),
    (re.compile(r"\b(?:aq\.)?fit_coupons(?:\(\))?"), "afterquench coupons"),
    (re.compile(r"\b(?:aq\.)?steel\(name\)"), "afterquench steels NAME"),
    (re.compile(r"\b(?:your own|a) TemperingCurve(?:\([^)]*\))?"), "a curve of your own, from Python"),
)

_WORDS = r'"[^"]*"(?:(?:, | or )"[^"]*")*'
_ARGUMENT = re.compile(rf"""\b(?P<name>[a-z][a-z0-9_]*)=(?P<value>True or False|{_WORDS}|\([^)]*\)|[\w.]+)?""")


def in_options(text: str, command: click.Command) -> str:
    """The text with arguments as this command's options, so that its advice can be taken."""
    for wanted in _CUT:
        text = wanted.sub("", text)
    options = {option.name: option for option in command.params if isinstance(option, click.Option)}
    if "air" in options:
        text = _COLUMNS.sub("--air COLUMN --part-side COLUMN", text)
        text = _COLUMN.sub(lambda found: f"--{found['role'].replace('_', '-')} COLUMN", text)
    for call, command_line in _CALLS:
        text = call.sub(command_line, text)

    def as_option(found: re.Match[str]) -> str:
        option = options.get(found["name"])
        if option is None:
            return found[0]
        if option.is_flag:
            return " or ".join((*option.opts, *option.secondary_opts))
        value = (found["value"] or "").replace('"', "")
        return f"{option.opts[0]} {value}".rstrip()

    return _ARGUMENT.sub(as_option, text)
