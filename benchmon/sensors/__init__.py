"""Hardware to values: knows paths and units, nothing of time series or files."""
