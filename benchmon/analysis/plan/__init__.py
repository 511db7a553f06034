"""What a plan waits for, how far it came, and what it showed."""
