"""The job that an accepted quote becomes: what happened to it, who owes what, what it earned, and its hours."""

from costplan.quote.job.adding import AddedRow, add_row
from costplan.quote.job.earning import Earnings, Gain, Item, KindOf, Tally
from costplan.quote.job.hours import HoursFound, LeftOut, WorkHours, cells_to_write, hours_of
from costplan.quote.job.jobs import Job, read_jobs
from costplan.quote.job.listing import JobListed, list_jobs
from costplan.quote.job.owing import Core, Days, Owing
from costplan.quote.job.rewriting import rewritten
from costplan.quote.job.rows import JobRow
from costplan.quote.job.standing import ChangeOrder, Offered, Seen, Signed, Standing, Stop, stand

__all__ = [
    "AddedRow",
    "ChangeOrder",
    "Core",
    "Days",
    "Earnings",
    "Gain",
    "HoursFound",
    "Item",
    "Job",
    "JobListed",
    "JobRow",
    "KindOf",
    "LeftOut",
    "Offered",
    "Owing",
    "Seen",
    "Signed",
    "Standing",
    "Stop",
    "Tally",
    "WorkHours",
    "add_row",
    "cells_to_write",
    "hours_of",
    "list_jobs",
    "read_jobs",
    "rewritten",
    "stand",
]
