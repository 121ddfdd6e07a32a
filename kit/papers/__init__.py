"""Printable documents that stand on their own, offline."""
