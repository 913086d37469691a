"""The page's files: found, given an address by their content, and compressed once."""

import gzip
import hashlib
import os
import re
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

COMPRESSED = {".html", ".css", ".js", ".mjs", ".json", ".svg", ".txt", ".webmanifest", ".wasm"}
_LEAST_TO_COMPRESS = 256


def find_web() -> Path:
    """The folder of the page: beside the source in a checkout, else inside the package."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package.parents[1] / "web", package / "web"):
        if (folder / "index.html").is_file():
            return folder
    raise FileNotFoundError("the page's files are missing: install crossload anew, or check web/")


def digest_of(web: Path) -> str:
    """12 characters that change when any file of the page does."""
    told = hashlib.sha256()
    for path in files_of(web):
        told.update(f"{path.relative_to(web)}\n".encode() + path.read_bytes() + b"\n")
    return told.hexdigest()[:12]


def files_of(web: Path) -> list[Path]:
    return sorted(
        path
        for path in web.rglob("*")
        if path.is_file() and not any(part.startswith(".") for part in path.relative_to(web).parts)
    )


@dataclass(frozen=True, slots=True)
class Shell:
    """index.html, which names every file by its digest, plain and compressed."""

    plain: bytes
    compressed: bytes
    etag: str


def read_page(web: Path, name: str, digest: str) -> str:
    """A page with `/web/` rewritten to `/web/<digest>/`, so that files may be kept for ever."""
    return re.sub(r'(?<=["\'(])/web/', f"/web/{digest}/", (web / name).read_text("utf-8"))


def read_shell(web: Path, digest: str) -> Shell:
    plain = read_page(web, "index.html", digest).encode()
    etag = hashlib.sha256(plain).hexdigest()[:16]
    return Shell(plain, gzip.compress(plain, 9, mtime=0), etag)


def lay_out(web: Path, digest: str, cache: Path) -> Path:
    """A folder of the files with compressed ones beside them, made once for each digest.

    Made aside and renamed into place: two processes may both do it, and neither sees half of it.
    """
    folder = cache / digest
    if folder.is_dir():
        return folder
    cache.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=f".{digest}-", dir=cache))
    for path in files_of(web):
        copy = aside / path.relative_to(web)
        copy.parent.mkdir(parents=True, exist_ok=True)
        content = path.read_bytes()
        copy.write_bytes(content)
        if path.suffix in COMPRESSED and len(content) >= _LEAST_TO_COMPRESS:
            copy.with_name(copy.name + ".gz").write_bytes(gzip.compress(content, 9, mtime=0))
    try:
        aside.chmod(0o755)
        os.rename(aside, folder)
    except OSError:  # another process was first
        shutil.rmtree(aside)
    for old in cache.iterdir():
        if old.name != digest and not old.name.startswith("."):
            shutil.rmtree(old, ignore_errors=True)
    return folder
