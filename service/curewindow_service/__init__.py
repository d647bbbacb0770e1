"""The background service on top of curewindow."""
