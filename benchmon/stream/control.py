"""The recorder's ear: requests as JSON lines on a local socket that only its user can open."""

from __future__ import annotations

import contextlib
import json
import os
import re
import socket
import stat
import struct
from collections.abc import Callable
from pathlib import Path

from benchmon.errors import MachineError, NoSessionError

Request = dict[str, object]
Answer = dict[str, object]

_MOST_BYTES = 16_384
_MOST_CLIENTS = 16
_PATIENCE_S = 5.0
_LONGEST_FOLDER = 75
_ID = re.compile(r"[A-Za-z0-9_-]{1,40}")
"""What a session's id may be to name a socket: an id comes from a file, and must not lead elsewhere."""


def socket_folder() -> Path:
    """Where recorders listen: ``$XDG_RUNTIME_DIR/benchmon``, else ``/tmp/benchmon-UID``.

    A relative runtime folder is ignored (XDG Base Directory Specification 0.8), and so is one whose sockets' names
    would be too long for the kernel (108 bytes, unix(7)).
    """
    runtime = os.environ.get("XDG_RUNTIME_DIR", "")
    if runtime.startswith("/") and len(os.fsencode(runtime)) <= _LONGEST_FOLDER:
        return Path(runtime) / "benchmon"
    return Path(f"/tmp/benchmon-{os.getuid()}")  # noqa: S108  # checked before it is used


def socket_path(session_id: str) -> Path:
    """The socket of one session's recorder."""
    return socket_folder() / f"{session_id}.sock"


def is_private(folder: Path) -> bool:
    """Whether it is a folder of ours that nobody else can enter; no link to one."""
    try:
        found = folder.lstat()
    except (OSError, ValueError):
        return False
    return stat.S_ISDIR(found.st_mode) and found.st_uid == os.getuid() and not found.st_mode & 0o077


def _private_folder() -> Path:
    """The folder, made if need be; refused unless it is ours alone (in /tmp another user could have made it)."""
    folder = socket_folder()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not is_private(folder):
        raise PermissionError(f"{folder} must be a folder of yours that nobody else can enter (mode 0700)")
    _clear(folder)
    return folder


def _clear(folder: Path) -> None:
    """Remove the sockets that killed recorders left behind."""
    for path in folder.glob("*.sock"):
        with (
            socket.socket(socket.AF_UNIX, socket.SOCK_STREAM | socket.SOCK_NONBLOCK) as probe,
            contextlib.suppress(OSError),
        ):
            try:
                probe.connect(str(path))
            except ConnectionRefusedError:
                path.unlink(missing_ok=True)


def _may_ask(client: socket.socket) -> bool:
    """Whether it is this user's, or root's: the kernel says so, whatever the socket's mode came to be."""
    credentials = client.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, struct.calcsize("3i"))
    return struct.unpack("3i", credentials)[1] in (os.getuid(), 0)


class ControlServer:
    """Listens while the recorder waits for its next sample.

    Args:
        session_id: names the socket.
        handle: answers one request; called in the recorder's only thread.

    Raises:
        OSError: if no socket can be made.
    """

    def __init__(self, session_id: str, handle: Callable[[Request], Answer]) -> None:
        self.path = _private_folder() / f"{session_id}.sock"
        self._handle = handle
        self._clients: dict[socket.socket, bytes] = {}
        self._listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM | socket.SOCK_NONBLOCK | socket.SOCK_CLOEXEC)
        mask = os.umask(0o177)
        try:
            self._listener.bind(str(self.path))
        finally:
            os.umask(mask)
        self._listener.listen(8)

    @classmethod
    def open(
        cls, session_id: str, handle: Callable[[Request], Answer], complain: Callable[[str], None] | None
    ) -> ControlServer | None:
        """Listen; where no socket can be made, complain; where nobody would hear that, it is an error.

        Raises:
            MachineError: if there is no socket and nobody to complain to.
        """
        try:
            return cls(session_id, handle)
        except OSError as error:
            why = f"no screen could reach this recorder: {error.strerror or error}"
            if complain is None:
                hint = "Set XDG_RUNTIME_DIR to a folder of yours that nobody else can enter (mode 0700)."
                raise MachineError(why, hint) from None
            complain(why)
            return None

    def watched(self) -> list[socket.socket]:
        """What to wait for, besides the deadline."""
        return [self._listener, *self._clients]

    def serve(self, ready: object) -> None:
        """Handle one of ``watched`` that has something to say."""
        if ready is self._listener:
            self._welcome()
        elif isinstance(ready, socket.socket) and ready in self._clients:
            self._listen_to(ready)

    def close(self) -> None:
        """Stop listening and remove the socket."""
        for client in tuple(self._clients):
            self._drop(client)
        self._listener.close()
        self.path.unlink(missing_ok=True)

    def _welcome(self) -> None:
        try:
            client, _ = self._listener.accept()
        except OSError:
            return
        if len(self._clients) >= _MOST_CLIENTS or not _may_ask(client):
            client.close()
            return
        client.setblocking(False)
        self._clients[client] = b""

    def _listen_to(self, client: socket.socket) -> None:
        try:
            data = client.recv(4096)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        pending = self._clients[client] + data
        if not data or len(pending) > _MOST_BYTES:
            self._drop(client)
            return
        *lines, self._clients[client] = pending.split(b"\n")
        for line in lines:
            self._reply(client, self._answer(line))

    def _answer(self, line: bytes) -> Answer:
        try:
            request = json.loads(line)
        except (ValueError, RecursionError):
            return {"ok": False, "why": "not a JSON line"}
        if not isinstance(request, dict):
            return {"ok": False, "why": "not a JSON object"}
        try:
            return self._handle(request)
        except Exception as fault:  # noqa: BLE001  # one odd request must not end an hour's recording
            return {"ok": False, "why": f"a fault in doing it: {type(fault).__name__}"}

    def _reply(self, client: socket.socket, answer: Answer) -> None:
        # Answers are short; a client that does not even take that much is not waited for.
        try:
            client.send(json.dumps(answer).encode() + b"\n")
        except OSError:
            self._drop(client)

    def _drop(self, client: socket.socket) -> None:
        self._clients.pop(client, None)
        client.close()


class ControlClient:
    """Talks to the recorder of a session.

    Raises:
        NoSessionError: if nobody records it.
    """

    def __init__(self, session_id: str) -> None:
        self._session_id = session_id
        self._connect()

    def _connect(self) -> None:
        if not _ID.fullmatch(self._session_id):
            raise self._nobody()
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._socket.settimeout(_PATIENCE_S)
        try:
            if not is_private(socket_folder()):
                raise self._nobody()
            self._socket.connect(str(socket_path(self._session_id)))
        except OSError as error:
            self._socket.close()
            raise self._nobody() from error

    def send(self, request: Request) -> Answer:
        """Ask one thing, wait for the answer (a few seconds at most).

        Raises:
            NoSessionError: if the recorder has gone.
            MachineError: if it is there and does not answer.
        """
        received = b""
        try:
            self._socket.sendall(json.dumps(request).encode() + b"\n")
            while not received.endswith(b"\n"):
                piece = self._socket.recv(4096)
                if not piece:
                    raise self._nobody()
                received += piece
                if len(received) > _MOST_BYTES:
                    raise MachineError("the recorder's answer cannot be understood")
        except TimeoutError as error:
            self._socket.close()  # an answer that comes later must not be taken for the next one
            self._connect()
            raise MachineError(
                "the recorder does not answer", "It may be stopped or busy; what was asked may still be done."
            ) from error
        except OSError as error:
            raise self._nobody() from error
        try:
            answer = json.loads(received)
        except (ValueError, RecursionError):
            answer = None
        if not isinstance(answer, dict):
            raise MachineError("the recorder's answer cannot be understood")
        return answer

    def fileno(self) -> int:
        """So that it can be waited for."""
        return self._socket.fileno()

    def close(self) -> None:
        """Hang up."""
        self._socket.close()

    def _nobody(self) -> NoSessionError:
        return NoSessionError(
            f"nobody is recording session {self._session_id}", "A recording that has ended can still be replayed."
        )
