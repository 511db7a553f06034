"""Throttle events and their cause, pushed one sample at a time."""
