"""Starts the service as a person does, runs a command against it, and ends it with Ctrl-C.

    python tests/while_serving.py DATA_DIR MOST_SECONDS [COMMAND ...]

The command gets the board's address as its last argument. Fails when the board's first answer takes
more than MOST_SECONDS, when the command fails, or when the service does not end cleanly.
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import IO

from services import free_port

START = Path(__file__).parent.parent / "deploy" / "start.sh"
GIVE_UP_SECONDS = 60
STOP_SECONDS = 15


def main(data_dir: str, most_seconds: str, *command: str) -> str | None:
    """What went wrong in a sentence, or None."""
    port = free_port()
    url = f"http://127.0.0.1:{port}"
    with tempfile.TemporaryFile() as words:
        began = time.monotonic()
        service = subprocess.Popen(
            ["/bin/sh", START, "--port", str(port), "--data", data_dir],
            stdin=subprocess.DEVNULL,
            stdout=words,
            stderr=words,
            start_new_session=True,
        )
        try:
            _wait_for_answer(service, url)
            took = time.monotonic() - began
            print(f"{took:.1f} s from start.sh to the board's first answer", flush=True)
            if took > float(most_seconds):
                return f"it may take {most_seconds} s at most"
            if command and subprocess.run([*command, url], check=False).returncode:
                return "the command failed; " + _last_words(words)
            service.send_signal(signal.SIGINT)
            if service.wait(timeout=STOP_SECONDS):
                return f"after Ctrl-C it ended with {service.returncode}; " + _last_words(words)
        except (TimeoutError, subprocess.TimeoutExpired) as error:
            return f"{error}; " + _last_words(words)
        finally:
            if service.poll() is None:
                os.killpg(service.pid, signal.SIGKILL)
                service.wait()
    return None


def _wait_for_answer(service: subprocess.Popen, url: str) -> None:
    deadline = time.monotonic() + GIVE_UP_SECONDS
    while service.poll() is None and time.monotonic() < deadline:
        try:
            with urllib.request.urlopen(url, timeout=5):
                return
        except urllib.error.HTTPError as error:
            raise TimeoutError(f"the board answers {error.code}") from error
        except OSError:
            time.sleep(0.02)
    raise TimeoutError("the service did not start")


def _last_words(words: IO[bytes]) -> str:
    words.seek(0)
    return "the service's words:\n" + words.read().decode(errors="replace")


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
