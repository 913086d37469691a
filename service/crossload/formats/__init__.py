"""Bytes to values and back: tables, cases."""
