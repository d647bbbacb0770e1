"""The command line: thin, formats what the floors below answer."""
