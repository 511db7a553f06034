"""Records to file and back. The only package that knows the format."""
