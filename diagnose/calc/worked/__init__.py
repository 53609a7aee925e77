"""Calculators a technician uses by themselves: inputs as typed, the result worked out, and what it means."""
