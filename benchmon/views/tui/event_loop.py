"""The standard library's event loop without what the screen never uses: import this before anything that uses it.

``asyncio`` loads the library for encrypted connections where there is one: 3 MB of the screen's memory, on the machine
under test. It does without where that cannot be imported, and whoever imports it later still gets it.
"""

from __future__ import annotations

import sys

if "asyncio" not in sys.modules and "ssl" not in sys.modules:
    sys.modules["ssl"] = None  # type: ignore[assignment]  # means: cannot be imported (import system, 5.3.1)
    try:
        import asyncio  # noqa: F401
    finally:
        del sys.modules["ssl"]
