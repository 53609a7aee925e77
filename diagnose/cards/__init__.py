"""Printed field cards: the live tool's decision tree, cut to paper, and the numbers that lead back to it."""
