"""Reading: CSV, workbooks and TOML with the place of every value, records with their column dictionary, and `--set`."""

from costplan.reading.door import SUFFIXES, WORKBOOK, is_there, read_sheet, table_file, tables_in
from costplan.reading.forms import OUR_DATES, Form, Numbers, date_form
from costplan.reading.memory import collector_at_rest
from costplan.reading.records import (
    Column,
    Record,
    columns,
    read_head,
    read_part,
    read_parts,
    read_records,
    repeated,
    written_in,
)
from costplan.reading.settings import Setting, astray, parse_settings
from costplan.reading.sheets import Layout, Row, Sheet
from costplan.reading.source import is_encoding, is_folder, shown
from costplan.reading.tables import Table, View, one_line, read_table, to_table
from costplan.reading.toml import Document, KeyPath, read_toml

__all__ = [
    "OUR_DATES",
    "SUFFIXES",
    "WORKBOOK",
    "Column",
    "Document",
    "Form",
    "KeyPath",
    "Layout",
    "Numbers",
    "Record",
    "Row",
    "Setting",
    "Sheet",
    "Table",
    "View",
    "astray",
    "collector_at_rest",
    "columns",
    "date_form",
    "is_encoding",
    "is_folder",
    "is_there",
    "one_line",
    "parse_settings",
    "read_head",
    "read_part",
    "read_parts",
    "read_records",
    "read_sheet",
    "read_table",
    "read_toml",
    "repeated",
    "shown",
    "table_file",
    "tables_in",
    "to_table",
    "written_in",
]
