"""The first sheet of a workbook that answers a command: what it is, what to beware of, what each sheet holds."""

from __future__ import annotations

from collections.abc import Iterable

from costplan.report.workbook.sheets import Book, Column, Sheet

INVENTED = "All data is invented: it describes nobody, and no real part, track or price."
BLUE = (
    "Figures in blue are meant to be changed; what is worked out from them follows. Nothing is written back to the "
    "files, and a change there is seen here only when the workbook is made anew."
)


def about_sheet(book: Book) -> Sheet:
    """The first sheet, to be filled when the others are there."""
    return book.table("About", "", [Column("label", "About", 22), Column("says", "What holds", 96)])


def write_about(sheet: Sheet, texts: Iterable[tuple[str, str]], *, invented: bool, cautions: Iterable[str]) -> None:
    """Fills it: data that is made up first, then texts under their labels, cautions last."""
    if invented:
        sheet.across(INVENTED, "mark")
    for label, says in (*texts, *(("Caution", caution) for caution in cautions)):
        if says:
            sheet.put({"label": label, "says": says})
