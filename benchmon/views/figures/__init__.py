"""Pictures of a run: what they show is gathered once, and drawn as SVG for the page or by matplotlib as files."""
