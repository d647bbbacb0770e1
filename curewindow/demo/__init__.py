"""The made-up boat: its files, and the past winters drawn for it."""
