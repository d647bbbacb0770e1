"""What the routes of one application share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from starlette.requests import Request

from curewindow_service.page.current import Current
from curewindow_service.page.figures import Figures
from curewindow_service.page.render import Pages
from curewindow_service.page.sessions import Keys, WrongTries
from curewindow_service.page.settings import PageSettings


@dataclass(frozen=True, slots=True)
class Site:
    """What the routes share; at ``app.state.site``."""

    folder: Path
    clock: Callable[[], datetime]
    settings: PageSettings
    keys: Keys
    tries: WrongTries
    current: Current
    pages: Pages
    figures: Figures

    def changed(self) -> None:
        """Tell the page that the weather or a file is another one; from any thread."""
        self.current.changed()


def site_of(request: Request) -> Site:
    """The site a request came to."""
    site: Site = request.app.state.site
    return site
