"""The README's calls, run as they are written against the demo."""

import re
import subprocess
from pathlib import Path

from guests import serving

README = Path(__file__).parents[1] / "README.md"


def test_the_calls_of_the_readme_work_as_written(tmp_path):
    calls = re.findall(r"^```sh\n(.*?)^```", README.read_text(), re.M | re.S)
    assert len(calls) >= 5
    (tmp_path / "served").mkdir()
    with serving(tmp_path / "served") as address:
        text = "set -eu\n" + "".join(calls).replace("http://127.0.0.1:8080", address)
        ran = subprocess.run(
            ["/bin/sh", "-c", text], cwd=tmp_path, capture_output=True, text=True, timeout=60,
            check=False,
        )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    assert '"answer"' in (tmp_path / "judgement.json").read_text()
    assert '"booking"' in ran.stdout
    assert '"strip"' in ran.stdout
    assert "/problems/" not in ran.stdout
