from __future__ import annotations

from typing import TYPE_CHECKING

from costplan.cli.report.asked import Asked

if TYPE_CHECKING:
    from costplan.report.web.blocks import WebPage


def can_be_made(asked: Asked) -> bool:
    return False


def make(asked: Asked) -> WebPage:
    raise NotImplementedError
