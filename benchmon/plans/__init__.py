"""Written procedures: reading them, checking them, and the ones that ship."""
