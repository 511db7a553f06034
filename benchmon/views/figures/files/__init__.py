"""Pictures as files: the only place that loads matplotlib."""
