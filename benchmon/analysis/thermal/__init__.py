"""The thermal verdict: settled temperatures, resistance, capacity, forecasts, the wall."""
