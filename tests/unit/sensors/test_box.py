"""What the box is made of: told by the system, written in a file, kept for the machine."""

import json
import os
import stat

import pytest

from benchmon.errors import InputError
from benchmon.model.box_parts import ENTERED, KEPT
from benchmon.sensors.box_file import MOST_BYTES, KeptBox, parts_of_box, read_box
from benchmon.sensors.box_parts import told_parts

TREE = {
    "etc/machine-id": "0123456789abcdef0123456789abcdef\n",
    "sys/class/dmi/id/bios_version": "1.20\n",
    "sys/class/dmi/id/bios_date": "04/11/2023\n",
    "sys/class/dmi/id/board_name": "board 2\n",
    "sys/class/dmi/id/board_serial": "SECRET-1\n",
    "sys/block/loop0/size": "8",
    "sys/block/nvme0n1/device/model": "Saltmarsh Flash      \n",
    "sys/block/nvme0n1/device/serial": "SECRET-2\n",
    "sys/block/nvme0n1/size": "1000215216\n",
    "sys/block/nvme0n1/queue/rotational": "0\n",
    "sys/block/sdb/device/model": "A Stick",
    "sys/block/sdb/removable": "1",
    "sys/class/hwmon/hwmon0/fan1_input": "900",
    "sys/class/hwmon/hwmon0/fan1_label": "cpu fan",
    "sys/class/hwmon/hwmon0/fan2_input": "700",
    "sys/devices/system/edac/mc/mc0/dimm0/size": "8192",
    "sys/devices/system/edac/mc/mc0/dimm0/dimm_mem_type": "Unbuffered-DDR4",
    "sys/devices/system/edac/mc/mc0/dimm1/size": "8192",
    "sys/devices/system/edac/mc/mc0/dimm1/dimm_mem_type": "Unbuffered-DDR4",
}


@pytest.fixture
def root(tmp_path):
    for name, text in TREE.items():
        path = tmp_path / "root" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return tmp_path / "root"


def written(tmp_path, text, name="box.toml"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_what_the_system_tells(root):
    """Size in sectors of 512 bytes: Documentation/ABI/stable/sysfs-block of the kernel."""
    told = {part: text for part, (text, _) in told_parts(root).items()}
    assert told == {
        "firmware": "1.20 of 04/11/2023",
        "drive": "Saltmarsh Flash 512 GB, solid state",
        "fans": "2 with a speed reading: cpu fan, fan2",
        "memory": "2 x 8 GiB Unbuffered-DDR4",
    }
    assert "SECRET" not in json.dumps(told_parts(root))


def test_nothing_told_is_nothing(tmp_path):
    assert told_parts(tmp_path) == {}


def test_firmware_that_says_nothing_is_not_known(root):
    (root / "sys/class/dmi/id/bios_version").write_text("To be filled by O.E.M.")
    assert "firmware" not in told_parts(root)


def test_a_file(tmp_path):
    text = 'memory = ["8 GB", "4 GB"]\ncooler = "92 mm tower\\u001b[31m"\n'
    assert read_box(written(tmp_path, text)) == {"memory": "8 GB; 4 GB", "cooler": "92 mm tower [31m"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('colour = "red"', "'colour', which is no part"),
        ("cooler = 92", "words for cooler"),
        ('cooler = ""', "words for cooler"),
        ('cooler = ["a", 7]', "words for cooler"),
        ("cooler = []", "words for cooler"),
        ("[cooler]\nname = 'x'", "words for cooler"),
        (f'cooler = "{"x" * 201}"', "more than 200 letters"),
        ("cooler = tower", "no TOML: Invalid value (at line 1"),
        (b"\xff\xfe", "no text in UTF-8"),
        (b"#" * (MOST_BYTES + 1), "larger than 16 KiB"),
        ("x = " + "[" * 5000, "is no TOML"),
        ("x = " + "9" * 5000, "is no TOML"),
    ],
)
def test_bad_files_are_refused_in_words(tmp_path, text, words):
    with pytest.raises(InputError) as caught:
        read_box(written(tmp_path, text))
    assert words in caught.value.message


def test_links_pipes_and_folders_are_not_read(tmp_path):
    link, pipe = tmp_path / "link", tmp_path / "pipe"
    link.symlink_to(written(tmp_path, 'cooler = "x"'))
    os.mkfifo(pipe)
    for path in (link, pipe, tmp_path, tmp_path / "nothing"):
        with pytest.raises(InputError, match="cannot be read"):
            read_box(path)


def test_entered_once_is_kept_for_this_machine_alone(tmp_path, root):
    folder = tmp_path / "boxes"
    parts, problem = parts_of_box(root, folder, {"cooler": 'a "tower" ö\\', "drive": "mine"})
    assert (problem, parts["cooler"], parts["drive"]) == ("", ('a "tower" ö\\', ENTERED), ("mine", ENTERED))
    parts, _ = parts_of_box(root, folder, {"supply": "90 W"})
    assert (parts["cooler"], parts["supply"]) == (('a "tower" ö\\', KEPT), ("90 W", ENTERED))
    assert parts["fans"][1] == "/sys/class/hwmon"
    (file,) = folder.iterdir()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert "0123456789abcdef" not in file.name
    (root / "sys/class/dmi/id/board_name").write_text("another")
    assert "cooler" not in parts_of_box(root, folder, {})[0]


def test_where_it_cannot_be_kept_it_is_told_and_still_used(tmp_path, root):
    (root / "etc/machine-id").unlink()
    parts, problem = parts_of_box(root, tmp_path / "boxes", {"cooler": "x"})
    assert parts["cooler"] == ("x", ENTERED)
    assert "no /etc/machine-id" in problem


def test_a_folder_that_others_can_write_to_or_a_link_is_not_used(tmp_path, root):
    real, link, open_to_all = tmp_path / "real", tmp_path / "link", tmp_path / "open"
    parts_of_box(root, real, {"cooler": "x"})
    link.symlink_to(real)
    open_to_all.mkdir()
    open_to_all.chmod(0o777)
    for folder in (link, open_to_all):
        parts, problem = parts_of_box(root, folder, {"supply": "y"})
        assert "cooler" not in parts
        assert "not a folder of yours alone" in problem
    assert os.listdir(open_to_all) == []


def test_a_kept_file_is_never_written_through_a_link(tmp_path, root):
    folder, other = tmp_path / "boxes", tmp_path / "other.toml"
    parts_of_box(root, folder, {"cooler": "x"})
    path = KeptBox(folder, root).path
    path.rename(other)
    path.symlink_to(other)
    parts, problem = parts_of_box(root, folder, {"supply": "y"})
    assert "cooler" not in parts
    assert "it is a link" in problem
    assert "supply" not in other.read_text()
