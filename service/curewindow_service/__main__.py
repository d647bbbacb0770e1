"""``python -m curewindow_service``."""

from curewindow_service.main import run

run()
