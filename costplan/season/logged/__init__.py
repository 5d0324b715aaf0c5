"""The log replayed on a compiled season: how it leaves engines and shelf on a day, and what that means for the rest."""

from costplan.season.logged.checking import Around, check_log
from costplan.season.logged.replay import season_on
from costplan.season.logged.showing import LogShown, show_log
from costplan.season.logged.tracking import Tracking, track

__all__ = ["Around", "LogShown", "Tracking", "check_log", "season_on", "show_log", "track"]
