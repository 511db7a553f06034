"""Nothing of benchmon needs root but opening the energy counters: started with sudo, it goes on as who called it."""

from __future__ import annotations

import contextlib
import os
import pwd
from collections.abc import Iterator, Mapping, MutableMapping


def caller_of(environment: Mapping[str, str]) -> pwd.struct_passwd | None:
    """Who called sudo or pkexec; None if that is not known, or was root."""
    for name in ("SUDO_UID", "PKEXEC_UID"):
        text = environment.get(name, "")
        if text.isascii() and text.isdigit() and 0 < len(text) < 10 and int(text) != 0:
            try:
                return pwd.getpwuid(int(text))
            except KeyError:
                return None
    return None


def drop_to_caller(environment: MutableMapping[str, str] | None = None) -> bool:
    """Go on as the user who called; files that are open stay open. Whether anything was changed.

    Sessions, sockets, loads and screens belong to that user from then on.
    """
    environment = os.environ if environment is None else environment
    caller = caller_of(environment) if os.geteuid() == 0 else None
    if caller is None:
        return False
    os.initgroups(caller.pw_name, caller.pw_gid)
    os.setresgid(caller.pw_gid, caller.pw_gid, caller.pw_gid)
    os.setresuid(caller.pw_uid, caller.pw_uid, caller.pw_uid)
    _point_to(caller, environment)
    return True


@contextlib.contextmanager
def as_caller() -> Iterator[None]:
    """For a moment be the user who called: what is made before sensors are open must be that user's, too."""
    caller = caller_of(os.environ) if os.geteuid() == 0 else None
    if caller is None:
        yield
        return
    environment, groups, group = dict(os.environ), os.getgroups(), os.getegid()
    os.initgroups(caller.pw_name, caller.pw_gid)
    os.setegid(caller.pw_gid)
    os.seteuid(caller.pw_uid)
    _point_to(caller, os.environ)
    try:
        yield
    finally:
        os.seteuid(0)
        os.setegid(group)
        os.setgroups(groups)
        os.environ.clear()
        os.environ.update(environment)


def _point_to(caller: pwd.struct_passwd, environment: MutableMapping[str, str]) -> None:
    environment["HOME"], environment["USER"] = caller.pw_dir, caller.pw_name
    for name in ("SUDO_UID", "PKEXEC_UID", "XDG_RUNTIME_DIR", "XDG_DATA_HOME"):
        environment.pop(name, None)
    runtime = f"/run/user/{caller.pw_uid}"
    if os.path.isdir(runtime):  # noqa: PTH112  # a plain look
        environment["XDG_RUNTIME_DIR"] = runtime
