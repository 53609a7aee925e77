"""Simulated visits drawn from the knowledge base, and what they say about it."""
