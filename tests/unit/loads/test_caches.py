"""How large the matrices may be."""

import pytest

from benchmon.loads.caches import USUAL_SIDE, matrix_side


def machine(tmp_path, *cpus):
    """Caches of each processor: (level, size, who shares it), as in Documentation/ABI/testing/sysfs-devices-system-cpu."""
    for cpu, caches in enumerate(cpus):
        for index, (level, size, shared) in enumerate(caches):
            folder = tmp_path / f"sys/devices/system/cpu/cpu{cpu}/cache/index{index}"
            folder.mkdir(parents=True)
            for name, text in (("level", level), ("size", size), ("shared_cpu_list", shared)):
                (folder / name).write_text(f"{text}\n")
    return tmp_path


def fits(side, own_bytes):
    return 3 * 4 * side**2 <= own_bytes


@pytest.mark.parametrize(
    ("size", "shared", "own_kib"),
    [("256K", "0", 256), ("512K", "0-1", 256), ("1024K", "0", 1024), ("2048K", "0-3", 512), ("2M", "0", 2048)],
)
def test_three_matrices_stay_in_a_cores_own_cache(tmp_path, size, shared, own_kib):
    root = machine(tmp_path, [("1", "32K", "0"), ("1", "32K", "0"), ("2", size, shared), ("3", "8192K", "0-7")])
    side = matrix_side([0], root)
    assert fits(side, own_kib * 1024)
    assert side == 256 or not fits(side + 32, 0.8 * own_kib * 1024)
    assert side % 32 == 0


def test_the_least_cache_counts_where_cores_differ(tmp_path):
    root = machine(tmp_path, [("2", "2048K", "0")], [("2", "256K", "1")])
    assert matrix_side([0], root) > matrix_side([0, 1], root) == matrix_side([1], root)


@pytest.mark.parametrize(
    "caches", [[], [("2", "what", "0")], [("2", "", "0")], [("2", "512K", "")], [("1", "32K", "0")]]
)
def test_where_nothing_is_told(tmp_path, caches):
    assert matrix_side([0], machine(tmp_path, caches)) == USUAL_SIDE


def test_a_cache_too_small_for_any_matrix_worth_its_name(tmp_path):
    assert matrix_side([0], machine(tmp_path, [("2", "64K", "0")])) == 96
