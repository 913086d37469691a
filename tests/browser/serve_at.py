"""Serves the demo as if a given instant were now: a process test's clock, and no product setting.

    python serve_at.py PORT DATA_DIR NOW

NOW is in seconds of UTC; from there the clock runs at its usual pace. Day 8 of the demo lies on the
local day of NOW. Settings come from CROSSLOAD_ variables as ever.
"""

import sys
import time
from contextlib import ExitStack
from pathlib import Path

from crossload import ground, serving
from crossload.settings import read_settings
from crossload.usecases.demo import load_demo


def main(port: str, data: str, now: str) -> None:
    settings = read_settings(port=int(port), data=Path(data))
    ahead = int(now) - time.monotonic()

    def clock() -> int:
        return int(time.monotonic() + ahead)

    ground.check_folder(settings)
    ground.prepare_database(settings)
    load_demo(ground.fixtures_folder(), now=clock())
    serving.serve(settings, clock, welcome="The demo is served.", held=ExitStack())


if __name__ == "__main__":
    main(*sys.argv[1:])
