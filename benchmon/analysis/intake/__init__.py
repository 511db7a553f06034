"""Records → what the analysis works on: observations, valid marks, phases, the notebook of a session."""
