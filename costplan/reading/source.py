"""From a path to text: a file that exists, is a file, and is UTF-8."""

from __future__ import annotations

import os
from pathlib import Path

from costplan.problems import Place, Problem


def shown(path: Path) -> str:
    """The path as messages show it: as the user named it, without detours."""
    return os.path.normpath(path)


def read_text(path: Path) -> tuple[str | None, tuple[Problem, ...]]:
    """The text of a file, with or without a byte order mark; None where there is none to read."""
    place = Place(shown(path))
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return None, (
            Problem("REA001", place, "", "", "no such file", "write it, or correct its name where it is named"),
        )
    except (IsADirectoryError, NotADirectoryError):
        return None, (Problem("REA002", place, "", "", "not a file", "give a file here"),)
    except (OSError, ValueError) as error:
        return None, (Problem("REA001", place, "", "", f"cannot be read ({error})", "check its name and permissions"),)
    return decode(data, place)


def decode(data: bytes, place: Place) -> tuple[str | None, tuple[Problem, ...]]:
    """Bytes as text; refuses what is empty, binary or in another encoding."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, (
            Problem("REA005", place, "", "", "the file is in UTF-16", "save it as CSV UTF-8 or TOML in UTF-8"),
        )
    if b"\0" in data:
        return None, (Problem("REA004", place, "", "", "the file is not text", "save it as CSV or TOML text"),)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        byte = f"byte 0x{data[error.start]:02x}"
        return None, (Problem("REA005", Place(place.file, line), "", byte, "not UTF-8:", "save the file in UTF-8"),)
    if not text.strip():
        return None, (Problem("REA003", place, "", "", "the file is empty", "write at least its header, or remove it"),)
    return text, ()


def is_folder(path: Path) -> tuple[bool, tuple[Problem, ...]]:
    """Whether a path is a folder, with the problem if it is not."""
    place = Place(shown(path))
    try:
        if path.is_dir():
            return True, ()
        if path.exists():
            return False, (Problem("REA002", place, "", "", "not a folder", "give the folder that holds the files"),)
    except OSError as error:
        return False, (Problem("REA001", place, "", "", f"no such folder ({error.strerror})", "check the name"),)
    return False, (Problem("REA001", place, "", "", "no such folder", "check the name"),)
