"""Visits and profiles on disk."""
