"""Work for the processor; nothing of it survives the recorder."""
