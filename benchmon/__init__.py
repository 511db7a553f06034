"""What the cooling in a small desktop machine can sustain.

sensors   read clock, power, temperature, fans and load, cheaply          (virtual_bench: a machine that does not exist)
loads     give the processor counted work;  sampler  turns readings into timed samples
session   is the append-only file: the only interface between recording and looking
stream    joins them: the recorder process, following its file, replay
analysis  computes throttle events, settling, resistance, capacity from what was observed, live and later alike
views     show it: line output, sheet, screen;  cli  is the way in
"""

__version__ = "0.1.0"
