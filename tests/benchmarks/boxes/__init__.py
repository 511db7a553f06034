"""Boxes of other physics than the product's own virtual bench: what the thermal verdict is held against.

It shares no code with ``benchmon.virtual_bench`` nor with the fit, and is made to break what the fit assumes; ``box.py``
lists how. Run ``python -m tests.benchmarks.boxes COUNT FIRST_SEED``.
"""
