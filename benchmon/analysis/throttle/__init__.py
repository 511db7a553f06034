"""Throttle events: found, followed, and told by what is held. Start with ``detector.py``, then ``evidence.py``."""
