"""Visits in a browser: the same events to the same session core and the same files as the terminal."""
