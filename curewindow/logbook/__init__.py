"""The log as an owner keeps it: what was told is checked, written down and said again."""
