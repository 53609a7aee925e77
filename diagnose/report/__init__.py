"""The record of a visit: plain values, a printable page, a PDF and JSON."""
