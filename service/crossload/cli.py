"""The command line: the same program, for people and scripts."""

import argparse
import io
import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import TypeAlias

from crossload import __version__
from crossload.domain.people import Role
from crossload.ground import CannotGoOn
from crossload.settings import WrongSetting, read_settings
from crossload.storage.backup import BackupFailed
from crossload.usecases import errors

LISTS = ("kit-list", "shoot-days")
ROLES = tuple(str(role) for role in Role if role is not Role.WALL)

Parsers: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
PASSWORD = "The password is asked for, or read as one line from standard input."  # noqa: S105
Command = Callable[[argparse.Namespace], int]


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; answers its exit status: 0 done, 1 not done, 2 asked for wrongly."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal of less than Unicode
    try:
        return _run(make_parser().parse_args(argv))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nobody reads the rest
        return 1
    except KeyboardInterrupt:
        return 130


def _run(told: argparse.Namespace) -> int:
    try:
        told.settings = read_settings(
            **{name: getattr(told, name, None) for name in ("data", "host", "port")}
        )
        return told.run(told)  # type: ignore[no-any-return]
    except errors.DatabaseUnavailable as error:
        return _fail(f"the database cannot be reached: {str(error).strip().splitlines()[0]}")
    except OSError as error:
        if error.filename is None:
            raise
        return _fail(f"{error.filename} cannot be used: {error.strerror}")
    except (
        WrongSetting,
        CannotGoOn,
        BackupFailed,
        errors.Refusal,
        errors.DatabaseDamaged,
        errors.DatabaseTooNew,
        errors.DatabaseTooOld,
    ) as error:
        return _fail(str(error))


def _fail(sentence: str) -> int:
    print(f"crossload: {sentence}", file=sys.stderr)
    return 1


def _later(module: str, name: str) -> Command:
    """A command whose module is imported when it runs: most are done before all are imported."""

    def run(told: argparse.Namespace) -> int:
        done: int = getattr(import_module(f"crossload.{module}"), name)(told)
        return done

    return run


def make_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="crossload",
        description="One pool of location-sound kit, shared by several shooting units.",
        epilog="Settings come from CROSSLOAD_ variables; DEVELOPERS.md lists them.",
    )
    parser.add_argument("--version", action="version", version=f"crossload {__version__}")
    parsers = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_serving(parsers)
    _add_files(parsers)
    _add_upkeep(parsers)
    _add_user(parsers)
    return parser


def _add(
    parsers: Parsers, name: str, run: Command, says: str, more: str = "", *, data: bool = True
) -> argparse.ArgumentParser:
    parser = parsers.add_parser(name, help=says, description=f"{says[0].upper()}{says[1:]}. {more}")
    parser.set_defaults(run=run)
    if data:
        parser.add_argument(
            "--data", type=Path, metavar="DIR", help="the folder of the embedded database (.data)"
        )
    return parser


def _add_pool(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--pool", metavar="ID", help="the pool, where there is more than one")


def _add_login(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("login", help="the sign-in name")


def _add_units(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--unit", action="append", default=[], help="a unit's name; may be repeated"
    )


def _add_serving(parsers: Parsers) -> None:
    serve = _add(
        parsers,
        "serve",
        _later("serving_commands", "serve"),
        "serve the board, with the scheduler",
        "The first time it loads the demo; Ctrl-C ends it.",
    )
    serve.add_argument("--host", help="the address to listen on (127.0.0.1)")
    serve.add_argument("--port", type=_port, help="the port to listen on (8080)")
    serve.add_argument(
        "--empty",
        action="store_true",
        help="no demo: an empty pool, and a one-time link for its first coordinator",
    )
    serve.add_argument(
        "--fresh", action="store_true", help="throw the folder's database away and begin anew"
    )
    _add(
        parsers,
        "worker",
        _later("serving_commands", "worker"),
        "run the scheduler alone",
        "For a house whose web processes run apart; several may run, one at a time works.",
    )
    _add(
        parsers,
        "migrate",
        _later("upkeep_commands", "migrate"),
        "bring the database to this program's schema",
        "serve does it by itself for the embedded database.",
    )


def _add_files(parsers: Parsers) -> None:
    imports = _add(
        parsers,
        "import",
        _later("list_commands", "import_file"),
        "take in a kit list or shoot days from CSV or XLSX",
        "All rows or none. What is there is changed to what the file says of it; what the file"
        " does not name stays.",
    )
    imports.add_argument("kind", choices=LISTS, help="what the file holds")
    imports.add_argument("file", type=Path, help="a .csv or .xlsx file")
    imports.add_argument(
        "--dry-run", action="store_true", help="say what would change, and change nothing"
    )
    imports.add_argument(
        "--latin-1", action="store_true", help="the file is CSV in Latin-1, not in UTF-8"
    )
    _add_pool(imports)
    exports = _add(
        parsers,
        "export",
        _later("list_commands", "export_file"),
        "write a kit list or shoot days to a file",
    )
    exports.add_argument("kind", choices=LISTS, help="what to write")
    exports.add_argument(
        "file", help="a .csv or .xlsx file to make, or - for CSV on standard output"
    )
    _add_pool(exports)
    judge = _add(
        parsers,
        "judge",
        _later("judge_command", "judge"),
        "judge whether asks fit, from a JSON case and without a database",
        "Exit status 0: an answer, also that it does not fit. 2: a bad case, with problem details.",
        data=False,
    )
    judge.add_argument("case", help="a JSON file, or - for standard input")


def _add_upkeep(parsers: Parsers) -> None:
    backup = _add(
        parsers,
        "backup",
        _later("upkeep_commands", "backup"),
        "write the whole database to a new file, while it is in use",
    )
    backup.add_argument("file", type=Path, help="the file to make")
    restore = _add(
        parsers,
        "restore",
        _later("upkeep_commands", "restore"),
        "put a backup in place of the database",
        "Nothing may use it meanwhile. The embedded database that stood there is kept beside it.",
    )
    restore.add_argument("file", type=Path, help="what backup made")
    restore.add_argument(
        "--replace", action="store_true", help="go on although there is a database already"
    )
    _add_demo(parsers)
    check = _add(
        parsers,
        "check-data",
        _later("upkeep_commands", "check_data"),
        "check what must always hold in the database, and print what does not",
    )
    _add_pool(check)


def _add_demo(parsers: Parsers) -> None:
    demo = _add(
        parsers,
        "demo",
        _later("demo_command", "demo"),
        "load the demo into the database, once",
        "With --walk it loads nothing, and plays the demo day against a service that runs.",
    )
    demo.add_argument("--date", help="the local date that the demo takes for today (YYYY-MM-DD)")
    demo.add_argument(
        "--walk",
        action="store_true",
        help="play the demo day and say what was asked and answered",
    )
    demo.add_argument(
        "--url", default="http://127.0.0.1:8080", help="where that service is (%(default)s)"
    )


def _add_user(parsers: Parsers) -> None:
    user = parsers.add_parser(
        "user",
        help="make, list and end accounts, set passwords, invite people",
        description="Make, list and end accounts, set passwords, invite people.",
    )
    verbs = user.add_subparsers(title="what to do", required=True, metavar="WHAT")
    add = _add(verbs, "add", _later("user_commands", "add"), "make an account", PASSWORD)
    add.add_argument("--name", default="", help="the person's name")
    add.add_argument("--role", choices=ROLES, required=True, help="what they may do")
    _add_units(add)
    password = _add(
        verbs,
        "password",
        _later("user_commands", "password"),
        "set somebody's password",
        PASSWORD,
    )
    people = _add(verbs, "list", _later("user_commands", "show"), "list the accounts")
    invite = _add_invite(verbs)
    end = _add(
        verbs, "end", _later("user_commands", "end"), "end an account and sign it out everywhere"
    )
    for parser in (add, password, end):
        _add_login(parser)
    for parser in (add, password, people, invite, end):
        _add_pool(parser)


def _add_invite(verbs: Parsers) -> argparse.ArgumentParser:
    invite = _add(
        verbs,
        "invite",
        _later("user_commands", "invite"),
        "print a one-time link to make an account, or to set a forgotten password",
    )
    invite.add_argument("--for", dest="login", help="whose forgotten password it is for")
    invite.add_argument("--name", default="", help="whom it is for, to know it by")
    invite.add_argument(
        "--role", choices=ROLES, default="mixer", help="what they may do (%(default)s)"
    )
    _add_units(invite)
    invite.add_argument(
        "--url", type=_url, help="the board's address (where this folder was last served)"
    )
    return invite


def _url(text: str) -> str:
    if not text.startswith(("http://", "https://")):
        raise argparse.ArgumentTypeError(f"{text} is no address: begin with http:// or https://")
    return text


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 65535):
        raise argparse.ArgumentTypeError(f"{text} is no port: give a number from 1 to 65535")
    return int(text)


if __name__ == "__main__":
    sys.exit(main())
