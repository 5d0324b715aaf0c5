"""Reading: CSV and TOML with the place of every value, records with their column dictionary, and `--set`."""

from costplan.reading.records import (
    Column,
    Record,
    columns,
    read_head,
    read_part,
    read_parts,
    read_records,
    repeated,
)
from costplan.reading.settings import Setting, astray, parse_settings
from costplan.reading.source import is_folder, shown
from costplan.reading.tables import Row, Table, read_table
from costplan.reading.toml import Document, KeyPath, read_toml

__all__ = [
    "Column",
    "Document",
    "KeyPath",
    "Record",
    "Row",
    "Setting",
    "Table",
    "astray",
    "columns",
    "is_folder",
    "parse_settings",
    "read_head",
    "read_part",
    "read_parts",
    "read_records",
    "read_table",
    "read_toml",
    "repeated",
    "shown",
]
