"""One file for each sheet format: a Summary to text."""
