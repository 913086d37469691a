"""The `crossload` program itself, run as a person or a script runs it."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from threading import Timer

PROGRAM = Path(sys.executable).with_name("crossload")
AT_ONCE = 3
GIVE_UP_S = 30
Done = subprocess.CompletedProcess[str]


def environment(**more: str) -> dict[str, str]:
    """This process's own, without settings that somebody may have made for themselves."""
    own = {name: told for name, told in os.environ.items() if not name.startswith("CROSSLOAD_")}
    return own | {"PYTHONIOENCODING": "utf-8"} | more


def run(*words: str | Path, cwd: Path, given: bytes = b"", **settings: str) -> Done:
    """One command to its end; `given` is its standard input, `settings` its environment."""
    done = subprocess.run(
        [PROGRAM, *words], cwd=cwd, env=environment(**settings), input=given,
        capture_output=True, timeout=GIVE_UP_S, check=False,
    )  # fmt: skip
    return Done(words, done.returncode, done.stdout.decode(), done.stderr.decode())


def run_together(commands: Iterable[tuple[str | Path, ...]], cwd: Path) -> list[Done]:
    """Commands that do not meet, a few at a time: most of a command's second is its start."""
    with ThreadPoolExecutor(AT_ONCE) as threads:
        return list(threads.map(lambda words: run(*words, cwd=cwd), commands))


def sentence(done: Done) -> str:
    """What a command said that did not do it: one line, for the person who asked."""
    assert done.returncode == 1, (done.returncode, done.stdout, done.stderr)
    assert done.stdout == ""
    assert done.stderr.startswith("crossload: ")
    assert done.stderr.endswith("\n")
    assert done.stderr.count("\n") == 1, done.stderr
    return done.stderr.removeprefix("crossload: ").removesuffix("\n")


@contextmanager
def running(*words: str | Path, cwd: Path, **settings: str) -> Iterator[subprocess.Popen[str]]:
    """A command that goes on until it is told to end; its words come by `stdout`, in order."""
    process = subprocess.Popen(
        [PROGRAM, *words], cwd=cwd, env=environment(**settings), stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
    )  # fmt: skip
    # Whoever waits for its words does not wait for ever.
    watchdog = Timer(GIVE_UP_S, os.killpg, (process.pid, signal.SIGKILL))
    watchdog.start()
    with process:
        try:
            yield process
        finally:
            watchdog.cancel()
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)


def interrupt(process: subprocess.Popen[str]) -> tuple[int, str]:
    """Ctrl-C, which a terminal sends to all of a program's processes; its status and last words."""
    os.killpg(process.pid, signal.SIGINT)
    words, _ = process.communicate(timeout=GIVE_UP_S)
    return process.returncode, words
