"""Meaning to people."""
