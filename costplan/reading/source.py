"""From a path to text: a file that exists, is a file, and is in UTF-8 or in the encoding that a map names."""

from __future__ import annotations

import codecs
import os
from pathlib import Path

from costplan.problems import Place, Problem

UTF_8 = "utf-8"
#: The folders of the demo's scenarios and catalogs, which an installed package comes without.
DEMOS = frozenset({"kart-single", "oval-v8", "road-four"})
#: What Python has among its encodings of text that no file is in.
OF_PROGRAMS = frozenset({"idna", "punycode", "raw-unicode-escape", "unicode-escape"})


def shown(path: Path) -> str:
    """The path as messages show it: as the user named it, without detours."""
    return os.path.normpath(path)


def read_text(path: Path, encoding: str = UTF_8) -> tuple[str | None, tuple[Problem, ...]]:
    """The text of a file, with or without a byte order mark; None where there is none to read."""
    data, problems = read_data(path)
    return (None, problems) if data is None else decode(data, Place(shown(path)), encoding)


def read_data(path: Path) -> tuple[bytes | None, tuple[Problem, ...]]:
    """What is in a file; None where there is none to read."""
    place = Place(shown(path))
    try:
        return path.read_bytes(), ()
    except FileNotFoundError:
        advice = advice_on_demo(path) or "write it, or correct its name where it is named"
        return None, (Problem("REA001", place, "", "", "no such file", advice),)
    except (IsADirectoryError, NotADirectoryError):
        return None, (Problem("REA002", place, "", "", "not a file", "give a file here"),)
    except (OSError, ValueError) as error:
        return None, (Problem("REA001", place, "", "", f"cannot be read ({error})", "check its name and permissions"),)


def decode(data: bytes, place: Place, encoding: str = UTF_8) -> tuple[str | None, tuple[Problem, ...]]:
    """Bytes as text; refuses what is empty, binary or in another encoding."""
    if encoding == UTF_8 and data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, (
            Problem("REA005", place, "", "", "the file is in UTF-16", "save it as CSV UTF-8 or TOML in UTF-8"),
        )
    if encoding == UTF_8 and b"\0" in data:
        return None, (_no_text(place),)
    try:
        text = data.decode(encoding).removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        return None, (_other_encoding(error, data, place, encoding),)
    if "\0" in text:
        return None, (_no_text(place),)
    if not text.strip():
        return None, (nothing_in(place),)
    return text, ()


def nothing_in(place: Place) -> Problem:
    """The problem of a file without a word in it."""
    return Problem("REA003", place, "", "", "the file is empty", "write at least its header, or remove it")


def _no_text(place: Place) -> Problem:
    return Problem("REA004", place, "", "", "the file is not text", "save it as CSV or TOML text")


def _other_encoding(error: UnicodeDecodeError, data: bytes, place: Place, encoding: str) -> Problem:
    """The problem of a file in another encoding, at the first line that shows it."""
    line = data[: error.start].decode(encoding, "ignore").count("\n") + 1
    byte = f"byte 0x{data[error.start]:02x}"
    return Problem("REA005", Place(place.file, line), "", byte, f"not {encoding.upper()}:", "save the file in UTF-8")


def is_encoding(name: str) -> bool:
    """Whether Python knows an encoding of this name that text files are in.

    >>> is_encoding("windows-1252"), is_encoding("windows-1"), is_encoding("base64")
    (True, False, False)
    """
    try:
        "".encode(name)
        return codecs.lookup(name).name not in OF_PROGRAMS
    except (LookupError, ValueError):
        return False


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
    return False, (Problem("REA001", place, "", "", "no such folder", advice_on_demo(path) or "check the name"),)


def advice_on_demo(path: Path) -> str:
    """Advice where a file or folder is named that looks like the demo's, and no such folder is there; '' elsewhere.

    >>> advice_on_demo(Path("nowhere/oval-v8/calendar.csv"))[:42], advice_on_demo(Path("nowhere"))
    ('the demo comes with the source (a checkout', '')
    """
    if not any(folder.name in DEMOS and not folder.exists() for folder in (path, *path.parents)):
        return ""
    where = "the demo comes with the source (a checkout or the source distribution), not with the installed package"
    return f"{where}; `costplan new FOLDER --simple` writes a small scenario to start from"
