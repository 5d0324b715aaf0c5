"""`costplan report`: pages for a browser, for the racer, the builder and the official."""

from __future__ import annotations

from costplan.cli.report.command import report

__all__ = ["report"]
