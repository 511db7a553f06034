"""Every threshold of the throttle detector, in physical units and seconds, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rules:
    """What the detector takes for impossible, steady, dropped, held, near and long. Nothing here knows a machine."""

    # --- what a reading can be -------------------------------------------------------------------------------------
    hold_reading_s: float = 10.0
    """A missing reading is bridged with the last good one for this long: the slowest sampling we promise to survive."""
    greatest_clock_mhz: float = 10_000.0
    """No processor has run faster in a case; a greater number is a misread register."""
    greatest_power_w: float = 1_500.0
    """More than a wall socket's circuit gives a small machine: a counter that stepped back and was 'unwrapped'."""
    doubtful_power_ratio: float = 1.5
    """A power this many times the greatest so far must be seen twice: a real load lasts, a counter fault does not."""
    least_temp_c: float = -30.0
    greatest_temp_c: float = 150.0
    """Outside this, silicon sensors give no meaning."""
    greatest_load_pct: float = 110.0
    """Time shares cannot exceed 100 %; rounding of two clocks can by a little."""
    gap_s: float = 30.0
    """After a longer silence nothing that was going on is taken to have gone on."""

    # --- what the load is ------------------------------------------------------------------------------------------
    idle_below_pct: float = 5.0
    """Background activity of a desktop system; one busy thread of 16 already shows more."""
    load_step_pct: float = 5.0
    load_step_share: float = 0.12
    """A load differs from another if it differs by both: background activity moves a reading by less."""
    full_load_pct: float = 90.0
    """From here on all cores are taken to be busy all the time."""
    asked_in_full: float = 0.6
    """A busy core is clocked above this share of the highest clock; lower at partial load, demand is met in pauses."""
    on_demand_step: float = 0.05
    """A clock that steps by this much between neighbouring samples at partial load is one that follows the demand."""
    load_settle_s: float = 1.0
    """A sample that straddles a load change mixes two loads; governors and counters follow within about a second."""
    pause_s: float = 5.0
    """Pauses between the passes of a benchmark that do not end a stretch of load."""

    # --- the reference: what the processor does when nothing limits it -----------------------------------------------
    block_s: float = 4.0
    """The reference is made of medians over blocks of this length: longer than a scheduler's or governor's hiccup."""
    young_reference_doubt: float = 0.01
    """Added slack while the reference rests on less than one block."""

    # --- the drop test (one-sided cumulative sum of the relative deficit) ---------------------------------------------
    slack: float = 0.02
    """Run-to-run variation is 1 to 2 %; a loss above 1.5 % counts as measurable (a server's thermal guide).
    Slack a little above the larger of the two."""
    threshold: float = 0.045
    """A loss of 4.5 % must be seen twice, one of 3 % for five samples."""
    slack_sigmas: float = 0.75
    threshold_sigmas: float = 8.0
    """For a noisy reading: half a sigma of slack finds shifts of one sigma best, a quarter
    covers the reference's own doubt, and a threshold of eight makes a false start rare."""
    down_for_good: float = 0.03
    """An event begins where the deficit passes this and stays beyond: clearly more than run-to-run variation."""
    slow_sampling_s: float = 4.0
    """Samples this far apart are not doubted singly: waiting for a second one would take longer than it is worth."""
    leakage_per_k: float = 0.005
    """A cooler chip leaks less: it draws this much less power for each kelvin, at the same clock."""
    power_recovered_share: float = 0.5
    """Recovered in clock but not in power: the clock was read between two pulses. Half of the fall decides."""
    power_follows_clock: float = 2.0
    """Power falls about twice as much as a clock that takes its voltage along: between its first and third power."""
    power_slack: float = 0.02
    power_threshold: float = 0.06
    """Power moves with leakage by about 1 % per 2 K without anything being limited."""
    young_power_doubt: float = 0.05
    young_power_threshold: float = 0.25
    """In the first seconds of a load only a loss of a sixth or more, seen twice or more, is not its start-up."""
    noisiest_power: float = 0.05
    """A fall of power is not looked for in more noise than this: the threshold would be as high as the power itself."""
    power_memory_s: float = 60.0
    """The level of power that a fall is measured against follows leakage and nothing faster."""
    crest_sigmas: float = 5.0
    """Noise does not go beyond: a power higher than this is another level, followed at once."""
    level_count: int = 10
    level_s: float = 30.0
    """The level and its noise are known after so many readings, or so long where readings are rare."""
    level_doubt_sigmas: float = 3.0
    """The level is a mean of so many noisy readings: three times its standard error is added to the slack."""
    same_code_sigmas: float = 2.0
    same_code_readings: int = 12
    """Power may have fallen with the clock unless its mean says otherwise by two standard errors; the power before is a
    mean of about so many readings."""
    modulation_drop: float = 0.04
    """Clock modulation works in steps of an eighth; four per cent of power is less than half a step."""

    # --- a deficit and its end --------------------------------------------------------------------------------------
    recovered_deficit: float = 0.02
    recovered_share: float = 0.3
    """Recovered: within this of the reference, or less than this share of the deficit left."""
    relapsed_share: float = 0.5
    """… and limited again only beyond this share of it: noise in a recovery is no tooth."""
    noisy_sigma: float = 0.012
    noisy_share: float = 0.3
    """Above this noise single samples say little: the deficit is smoothed, each sample entering with this share."""
    recovery_samples: int = 3
    recovery_s: float = 20.0
    """A recovery shorter than this is a tooth of the same event: the parts that store the heat take longer to cool."""
    least_limited_s: float = 1.0
    """Shorter stretches of limitation are not announced unless they come again."""

    # --- when to speak ----------------------------------------------------------------------------------------------
    judge_every_s: float = 1.0
    judge_age_share: float = 0.05
    judge_seldom_s: float = 5.0
    """An old event is judged less often: after this share of its age, every five seconds at the least."""
    lighter_work_s: float = 60.0
    """Power that fell without the clock is lighter work unless something else is shown within this time."""
    successor_s: float = 120.0
    """A further drop inside an event must show its cause within this time."""
    clear_after_s: float = 1.4
    """Announced this long after the onset if the evidence is clear: two samples of the usual recording."""
    lighter_work_clear_after_s: float = 6.0
    """… or this long where lighter work would look the same: the die follows its power within a few seconds."""
    code_known_after_s: float = 2.5
    """Counters of energy and clock speak of the same time only after two or three samples."""
    announce_after_s: float = 12.0
    """Announced at the latest, with whatever can be said: a third of a usual averaging window."""
    announce_blind_after_s: float = 20.0
    """… or this long where no limit and no count is known: only repetition can tell then, and teeth last that long."""
    undecided_until_s: float = 45.0
    """… unless the temperature stayed near, or comes back: then heat is likely, and its proof needs time."""
    undecided_blind_until_s: float = 120.0
    """… without limits the proof is the held temperature alone, and a heatsink takes its two minutes."""
    stayed_near_k: float = 3.0
    clear_score: float = 3.0
    clear_margin: float = 1.5
    """A cause is named at this score (in e-folds of odds) and this far ahead of the next."""
    lasting_s: float = 10.0
    """A cause that was clear for this long was true then; when it no longer is, another has taken over."""
    refresh_s: float = 5.0
    """An open event's figures are given out anew this often."""

    real_loss_sigmas: float = 1.2
    real_loss_s: float = 10.0
    """… and more than noise that was picked for being low: for so long; the mean of a longer time knows it better."""
    least_loss: float = 0.025
    """An event without a cause must cost this much on the whole: more than run-to-run variation."""

    # --- heat ---------------------------------------------------------------------------------------------------------
    at_limit_k: float = 2.4
    """One step of a 1 °C sensor, one of overshoot, and sampling: this near a known limit is at the limit."""
    early_limit_k: float = 6.0
    near_limit_k: float = 8.0
    """Firmware is known to act 3 to 8 K before the limit it tells."""
    far_below_limit_k: float = 12.0
    """This far below the told limit heat is no explanation."""
    held_k: float = 1.3
    """A temperature that stays within ± this much is held: one step of a 1 °C sensor and its jitter."""
    drift_k: float = 1.0
    """… and whose mean does not drift away further than this."""
    held_s: float = 8.0
    """… for this long. The die's own time constant is a few seconds: without control it would have moved by now."""
    long_held_s: float = 60.0
    """Held this long, not even a slow heatsink explains it."""
    control_s: float = 15.0
    """Power and clock wander while the temperature stays: told after this long."""
    missing_dip_k: float = 4.0
    """A dip of this much that should have come within ten seconds and did not: three times the tolerance."""
    great_move_k: float = 12.0
    """A move of this much that did not come in two minutes is no chance meeting of a rise and a fall."""
    held_share: float = 0.3
    """Share with which a second enters the smoothed power of a held run."""
    wander_share: float = 0.1
    fall_over_s: int = 12
    """Wandering is watched on a slower mean, from when the first fall is gone from the quicker one."""
    wandered: float = 0.03
    wandered_sigmas: float = 1.2
    """Power moved while the temperature stayed: more than leakage in a kelvin or two does, and smoothed noise."""
    expected_move_k: float = 2.6
    """… although the fall in power would have moved it by this much or more: twice the tolerance."""
    expected_move_in_long_k: float = 1.3
    """… or half of it where it was held for long: a mean over a minute knows a move better than a sensor's step."""
    answer_after_s: float = 2.0
    """The first answer of the temperature to a load is read after two seconds: before, samples mix two powers."""
    least_step_w: float = 4.0
    least_rise_k: float = 8.0
    warm_room_c: float = 35.0
    """Where no load start was seen, the answer to a watt is the rise since, if that and its step are above these;
    else the rise over a warm room."""
    spread_s: float = 60.0
    """Heat has spread through die, paste and the foot of a heatsink after about a minute."""
    move_counts: float = 3.0
    """A move that was seen counts three times against one that was to be expected: held means next to none of it."""
    rising_k: float = 0.8
    rising_over_s: float = 10.0
    """Rising: this much warmer than ten seconds ago."""
    fresh_max_k: float = 1.0
    """A fresh maximum: nothing before was hotter than this much below it."""
    free_hotter_k: float = 2.5
    free_hotter_s: float = 3.0
    """It ran free for this long, this much hotter: the limit is not here."""
    climbed_on_s: float = 4.0
    climbed_on_k: float = 3.0
    """Still climbing this far beyond the onset while limited alike: nobody defends that temperature."""
    plateau_before_s: float = 25.0
    """Temperature settled this long before the onset: it did not just reach a limit."""
    same_onset_k: float = 1.5
    """Onsets at the same temperature: one sensor step and half."""
    fall_takes_s: float = 3.0
    """A hard drop is over within this time; a fall of the clock that goes on longer is being steered."""
    swing_k: float = 2.0
    """Between two onsets it must have cooled this much, else the same temperature means nothing."""
    overshoot_s: float = 30.0
    """A defender that let the temperature overshoot has brought it down to where he holds it within this time."""
    undefended_s: float = 30.0
    """Whoever defends a temperature lets go when it is far below it, after this long at the latest."""
    fell_away_k: float = 4.0
    fell_away_s: float = 10.0
    """A held temperature that then falls this far for this long, with power kept low, was nobody's aim."""
    swing_share: float = 0.25
    """With slow sampling the true peak is missed by a share of the swing."""
    creeping_k: float = 1.0
    """Within a minute: slow, but beyond a sensor's step."""
    steep_k: float = 4.0
    """Rising this much in ten seconds before the onset, a temperature may stand still by chance when power falls."""
    came_apart_share: float = 0.2
    came_apart_s: float = 5.0
    came_apart_k: float = 3.0
    """Two onsets came about differently if load had run so differently long, or had started at other temperatures."""
    longest_budget_s: float = 200.0
    """Averaging windows are 1 to 56 s; a budget is used up after 3.5 of them even if power is only 3 % too high."""
    cold_c: float = 50.0
    """Below this no processor or case is protected from heat."""
    published_limits_from_c: float = 88.0
    """Published limits of desktop processors are 90 to 105 °C; this hot, heat is likelier than elsewhere."""
    counter_near_s: float = 4.0
    """A heat event counted this near to the onset belongs to it."""

    end_of_load_k: float = 3.0
    """Where the load is not known: a temperature that falls at once by this much may be the end of the load."""

    # --- limited from the start ---
    below_rated: float = 0.05
    """The rated clock is guaranteed within the rated power and temperature; below it something limits."""
    below_idle_clock: float = 0.3
    """Fewer busy cores may clock higher, but not by this much: bins span a fifth at most."""

    # --- power -----------------------------------------------------------------------------------------------------
    at_power_limit: float = 0.035
    """Power within this share of a known limit is at the limit: control ripple and the meter's own 1 to 2 %."""
    left_limit: float = 0.012
    left_limit_sigmas: float = 2.5
    """Power that had been at a limit has left it: by more than control ripple, and than noise in five seconds."""
    flat_power: float = 0.02
    """Power flat: the spread of its one-second means, relative."""
    clock_drift: float = 0.008
    """Leakage falls by about 1 % for 2 K; a power limit turns a relaxation of a few kelvin into that much clock."""
    budget_share: float = 0.06
    """The running average at the onset agrees with the limit within this share."""
    other_code_share: float = 0.25
    """Power must fall by at least this share of the clock's fall if the code is the same: dynamic power is at least a
    quarter of a busy package's power, and voltage comes down with the clock."""

    # --- outside -----------------------------------------------------------------------------------------------------
    cap_fall: float = 0.01
    """A cap this much lower than before is lower."""
    at_cap: float = 0.03
    """The clock sits at a cap or at the floor if it is within this share of it."""
    cap_near_s: float = 6.0
    """A cap that falls this near to the onset belongs to it; it may be read less often than the clock."""


# --- how much a clue weighs, in e-folds of odds: seven strengths and no finer: nothing to tune
CERTAIN = 5.0
"""The machine itself says so: a cooling step, a cap, a power that cannot reach its limit."""
STRONG = 4.0
"""Hard to explain otherwise: at a told limit, a temperature held against what power would have done."""
FIRM = 3.2
"""Enough alone to name a cause, just: a count of heat events, the same temperature as proven before."""
GOOD = 2.0
"""Enough with one more: a running average that agrees, one repetition, a held temperature that may yet be chance."""
FAIR = 1.8
"""Half way: a few kelvin before a told limit, where firmware is known to act."""
WEAK = 1.2
"""Seen with other causes as well: rising and hotter than ever."""
SLIGHT = 0.7
"""Tips a balance, no more."""
