"""Many sessions: an index of them, answers that are kept, tables for other engines."""
