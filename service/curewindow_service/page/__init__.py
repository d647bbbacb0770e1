"""The page for cold hands and the JSON interface: one ASGI application over a boat folder."""

from curewindow_service.page.app import create_app
from curewindow_service.page.settings import PageSettings

__all__ = ["PageSettings", "create_app"]
