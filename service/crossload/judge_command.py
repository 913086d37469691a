"""`crossload judge`: the judge on a file, without a database."""

import json
import sys
from pathlib import Path

from crossload.commands import Told, say
from crossload.formats.cases import BadCase, run_judge
from crossload.ground import CannotGoOn


def judge(told: Told) -> int:
    try:
        raw = sys.stdin.buffer.read() if told.case == "-" else Path(told.case).read_bytes()
    except OSError as error:
        raise CannotGoOn(f"{told.case} cannot be read: {error.strerror}") from error
    try:
        answer, status = run_judge(raw), 0
    except BadCase as error:
        answer, status = error.problem(), 2
    say(json.dumps(answer))
    return status
