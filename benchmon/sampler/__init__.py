"""Values to timed samples: deadlines, gaps, cost."""
