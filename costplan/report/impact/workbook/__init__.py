"""The impact of rule changes as a workbook: what follows from groups, years and rates is worked out by formulas."""

from costplan.report.impact.workbook.making import impact_xlsx

__all__ = ["impact_xlsx"]
