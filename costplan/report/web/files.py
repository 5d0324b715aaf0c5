"""Pages as files: written whole, over a page of ours of the same name and over nothing else."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

#: What marks a file as a page of ours, within its first letters.
OURS = re.compile(rb'<meta name="generator" content="costplan [^"]*">')
HEAD = 600


def refused(folder: Path, names: Iterable[str]) -> str:
    """What stands in the way of pages in a folder, '' if nothing; asked before work that would be in vain."""
    if folder.exists() and not folder.is_dir():
        return f"{folder} is no folder; give another name with --out"
    if not folder.exists() and not folder.parent.is_dir():
        return f"{folder} cannot be made: no such folder {folder.parent}; give another name with --out"
    for path in (folder / name for name in names):
        if os.path.lexists(path) and not _is_ours(path):
            return f"{path} is there already, and no page of ours; move it or give another --out, nothing was written"
    return ""


def _is_ours(path: Path) -> bool:
    if path.is_symlink() or not path.is_file():
        return False
    with path.open("rb") as file:
        return OURS.search(file.read(HEAD)) is not None


def write_pages(folder: Path, pages: Mapping[str, str]) -> str:
    """Writes pages into a folder, which is made where it is missing; each is put in its place whole.

    What stands in the way, '' if nothing.
    """
    refusal = refused(folder, pages)
    if refusal:
        return refusal
    path = folder
    try:
        folder.mkdir(exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".costplan-") as draft:
            for name, text in pages.items():
                path = folder / name
                (Path(draft) / name).write_text(text, "utf-8")
            for name in pages:
                path = folder / name
                (Path(draft) / name).replace(path)
    except OSError as error:
        return f"{path} cannot be written: {error.strerror}; give another --out"
    return ""
