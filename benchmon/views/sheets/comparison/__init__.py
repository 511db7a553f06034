"""One file for each format of a comparison: a Comparison to text."""
