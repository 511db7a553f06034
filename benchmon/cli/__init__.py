"""Arguments to the parts; one module for each command."""
