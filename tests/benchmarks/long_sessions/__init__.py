"""What reading long sessions costs: ``python -m tests.benchmarks.long_sessions``."""
