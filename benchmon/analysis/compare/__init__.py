"""Did it help? Runs held against one another: what differs, what cancels, what is left of it beyond chance."""
