"""The background service on top of curewindow (not built yet: this release has none)."""
