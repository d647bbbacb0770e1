"""Dangerous and harmless boats, each asked in every face; 'python -m tests.probes' prints them."""
