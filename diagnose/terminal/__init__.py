"""The terminal front end: append-only text, numbered choices; draws sessions and sends events."""
