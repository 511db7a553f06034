"""Each scenario runs once, in a guest of its own, one guest at a time."""

import pytest

from tests.kernel.guest import run_in_guest, set_up_rig


@pytest.fixture(scope="session")
def rig():
    set_up_rig()


@pytest.fixture(scope="session")
def folder(rig, tmp_path_factory):
    return tmp_path_factory.mktemp("rig")


@pytest.fixture(scope="session")
def steady(folder):
    """A cooler that is good enough: the load comes, goes and comes back, and nothing is limited.

    It takes 81 W (``--k``); with the loop's usual 95 W it would lie exactly at the machine's power limit.
    """
    arguments = ("--governor", "performance", "--burn", "--k", "13", "--schedule", "0:0,12:100,30:0,42:100")
    return run_in_guest(folder / "steady", *arguments, look=True)


@pytest.fixture(scope="session")
def hot(folder):
    """A cooler that is too small: the kernel's thermal governor limits the clock some 26 s after the load came."""
    cooler = "0.30:8,0.45:30,0.3:60"
    arguments = ("--governor", "performance", "--burn", "--schedule", "0:0,8:100", "--cooler", cooler)
    return run_in_guest(folder / "hot", *arguments, record_s=65)


@pytest.fixture(scope="session")
def capped(folder):
    """The platform lowers its highest clock while the processor is loaded and cool."""
    arguments = ("--governor", "performance", "--burn", "--schedule", "0:0,6:100", "--ppc", "0:0,34:4")
    return run_in_guest(folder / "capped", *arguments, record_s=45)


@pytest.fixture(scope="session", params=["ondemand"])
def on_demand(request, folder):
    """A governor that follows the load: clocks jump, nothing is limited. One of two that do: a guest takes two minutes."""
    arguments = ("--governor", request.param, "--burn", "--schedule", "0:0,5:30,14:60,22:100,30:20")
    return run_in_guest(folder / request.param, *arguments, record_s=38)


@pytest.fixture(scope="session")
def counted(folder):
    """As ``hot`` but quicker, on a processor that counts its heat events."""
    cooler = "0.9:4,0.9:20,0.5:60"
    arguments = ("--governor", "performance", "--burn", "--schedule", "0:0,15:100", "--cooler", cooler)
    return run_in_guest(folder / "counted", *arguments, "--shim", "--prochot", "91", record_s=42, shim=True, look=True)
