"""The vocabulary: frozen dataclasses with units in their names. Standard library only, no I/O, no clock."""
