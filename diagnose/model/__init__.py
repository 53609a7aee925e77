"""Frozen records that every layer shares; nothing here computes."""
