"""Small working scenarios to start from, kept as files beside this one."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

HERE = Path(__file__).parent


def write_scenario(folder: Path, *, simple: bool) -> str:
    """Writes a scenario whole or not at all; what stands in the way of it, '' if nothing."""
    source = HERE / ("simple" if simple else "full")
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            return f"{folder} is there already; give a new folder, nothing was written"
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".costplan-") as draft:
            whole = Path(draft) / folder.name
            shutil.copytree(source, whole)
            if folder.exists():
                folder.rmdir()
            whole.rename(folder)
    except OSError as error:
        return f"{folder} cannot be written: {error.strerror}; give another folder"
    return ""
