"""The list of sensors: source, step, freshness and cost; what is closed, and what would open it, to be copied."""

import json

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.survey import ChannelSurvey, ClosedSource, Survey
from benchmon.model.units import Unit
from benchmon.views.channel_list import as_json, as_text

RULE = '    SUBSYSTEM=="powercap", ACTION=="add", RUN+="/bin/chmod o+r /sys%p/energy_uj with a line far longer than the paper"'
SURVEY = Survey(
    channels=(
        ChannelSurvey(
            Channel(
                keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, "/sys/class/hwmon/hwmon1/temp1_input", 1.0
            ),
            61.0,
            "",
            1.0,
            12.4,
            "Temperatures",
        ),
        ChannelSurvey(
            Channel("fan_chip_1_rpm", "fan 1", Unit.RPM, "/sys/class/hwmon/hwmon2/fan1_input"),
            None,
            "device gone",
            None,
            8.0,
            "Fans",
        ),
    ),
    closed=(
        ClosedSource("package power", "/sys/x/energy_uj", "permission denied", "An administrator could set:\n" + RULE),
    ),
    settings={keys.RATED_CLOCK: ("2400 MHz", "base_frequency")},
    chosen_temp="the package sensor, because …",
    round_cost_us=420.0,
    tried_s=1.5,
)


def test_text_says_value_step_freshness_source_and_cost():
    text = as_text(SURVEY)
    assert "processor_temp_c           61 °C" in text
    assert "in steps of 1 °C, new about every 1.00 s" in " ".join(text.split())
    assert "not read: device gone" in text
    assert "takes 0.42 ms" in text


def test_a_rule_to_copy_stays_on_one_line():
    assert any(RULE.strip() in line for line in as_text(SURVEY).splitlines())


def test_prose_fits_80_columns():
    assert all(len(line) <= 80 for line in as_text(SURVEY).splitlines() if "SUBSYSTEM" not in line)


def test_json_has_null_for_what_was_not_read():
    document = json.loads(as_json(SURVEY))
    assert [row["value"] for row in document["channels"]] == [61.0, None]
    assert document["channels"][1]["why_not"] == "device gone"
    assert document["closed"][0]["remedy"].endswith(RULE)
