"""A season's plan as a workbook: its ledger, and totals that are worked out from it."""

from costplan.report.season_workbook.making import season_xlsx

__all__ = ["season_xlsx"]
