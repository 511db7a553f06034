"""Joins sensors, loads and the session file; never looks at what the numbers mean."""
