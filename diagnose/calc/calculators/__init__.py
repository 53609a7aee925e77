"""The calculators: one module a subject, found by being here."""
