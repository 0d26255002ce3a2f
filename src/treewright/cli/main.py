"""The command line: arguments in, one command called, exit status out.

Exit status: 0 where no finding of level fault, 1 where there is one (with `--strict`: or a
doubt), 2 where what was asked for cannot be done. Of a command this knows its name and what it
is for in a line; the file of that name beside this one knows the rest, and only the file of the
command that is asked for is read.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from functools import partial
from importlib import import_module
from io import TextIOWrapper

from treewright.usage import UsageError

TYPE_CHECKING = False  # as in `typing`, which the start does without
if TYPE_CHECKING:
    from typing import NoReturn, Protocol

    class Command(Protocol):
        """The module of a command."""

        @staticmethod
        def arguments(parser: argparse.ArgumentParser, /) -> None:
            """Adds what the command takes."""

        @staticmethod
        def run(options: argparse.Namespace, /) -> int:
            """Does it, and returns the exit status."""


COMMANDS = (
    ("lint", "look for gaps and slips in trees"),
    ("explain", "say what a rule of the linter looks for, and why"),
    ("build", "make chart, sheet and walk-through of every tree"),
    ("review", "make the reviewer's page of every tree: HTML"),
    ("prove", "follow every fault by what it shows, every case as read"),
    ("matrix", "show which check answers what with which fault"),
    ("compare", "say what changed in meaning between two editions"),
    ("binder", "bind the checklists of a folder of trees: one PDF"),
    ("weigh", "the minutes to each fault, where they go, the best order"),
    ("order", "look for the best order of the same checks"),
    ("split", "say which one new check would help most"),
    ("draft", "write a tree in the best order, from faults and checks"),
    ("tidy", "write trees in their one settled form"),
    ("chart", "draw the flowchart: SVG and PDF"),
    ("site", "make the walk-through for the phone: HTML"),
    ("data", "write the compiled tree as JSON"),
    ("sheet", "make the checklist to print: PDF"),
)
"""Each command by the name of its module, with what it is for."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"treewright: {message}\n{self.format_usage()}")


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command. Returns the exit status."""
    gc.set_threshold(100_000, 50, 50)  # what a short job makes mostly lives to its end
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a sign that the terminal lacks is spelt out
            stream.reconfigure(errors="backslashreplace")
    name, about, rest = _asked(sys.argv[1:] if arguments is None else arguments)
    command = module(name)
    options = _parser(name, about, command).parse_args(rest)
    try:
        status = command.run(options)
        sys.stdout.flush()
        return status
    except UsageError as wrong:
        print(f"treewright: {wrong}", file=sys.stderr)
        return 2
    except BrokenPipeError:  # the reader of our output has gone: nothing more to say
        _hush()
        return 0
    except OSError as wrong:
        _hush()
        print(f"treewright: {wrong.strerror or wrong}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130


def entry() -> NoReturn:
    """The console's way in: what a command has made in memory is let go all at once.

    To take it apart piece by piece takes longer than many a command.
    """
    status = main()
    sys.stderr.flush()
    os._exit(status)


def module(name: str) -> Command:
    """The module of a command of `COMMANDS`."""
    found: Command = import_module(f"treewright.cli.{name}")  # type: ignore[assignment]
    return found


def _hush() -> None:
    """Lets what is still to be written go nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _asked(words: Sequence[str]) -> tuple[str, str, Sequence[str]]:
    """The command that is asked for, what it is for, and the words behind it.

    Where there is none this says which there are, and ends the program.
    """
    at = next((at for at, word in enumerate(words) if not word.startswith("-")), len(words))
    name = words[at] if at < len(words) else None
    about = dict(COMMANDS).get(name or "")
    if at == 0 and name is not None and about is not None:
        return name, about, words[1:]
    everything = _everything()
    everything.parse_args(words[:at])  # `--help` ends here, and so does what is no option
    if name is None:
        wrong = "name a command"
    else:
        from difflib import get_close_matches

        wrong = f"there is no command `{name}`"
        if near := get_close_matches(name, [name for name, _ in COMMANDS], 1, 0.6):
            wrong += f"; did you mean `{near[0]}`?"
    everything.exit(2, f"treewright: {wrong}\n{everything.format_help()}")


def _parser(name: str, about: str, command: Command) -> argparse.ArgumentParser:
    """What reads the words behind the name of a command."""
    parser = _Parser(prog=f"treewright {name}", description=about,
                     formatter_class=partial(argparse.HelpFormatter, width=80))  # fmt: skip
    command.arguments(parser)
    parser.formatter_class = argparse.HelpFormatter  # asks how wide the terminal is: for help only
    return parser


def _everything() -> argparse.ArgumentParser:
    """What shows all commands."""
    parser = _Parser(prog="treewright", description="Diagnostic trees: written, proven, printed, "
                     "walked.")  # fmt: skip
    commands = parser.add_subparsers(metavar="COMMAND", parser_class=_Parser)
    for name, about in COMMANDS:
        commands.add_parser(name, help=about, add_help=False)
    return parser
