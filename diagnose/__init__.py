"""Interactive troubleshooting expert system for vehicle-detection sensors at automatic gates and barriers."""

__version__ = "0.1.0"
