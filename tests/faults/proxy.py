"""A proxy between the program and its server that cuts, delays and swallows what passes."""

import socket
import threading
from collections.abc import Callable
from contextlib import suppress
from enum import StrEnum
from pathlib import Path

_SLOW_S = 0.05
_SILENT_S = 30.0


class Kind(StrEnum):
    """What goes wrong with one message, or with all from then on."""

    CUT_QUESTION = "the connection is cut before a question passes"
    CUT_HALF_QUESTION = "the connection is cut in the middle of a question"
    CUT_ANSWER = "the connection is cut before an answer passes"
    CUT_HALF_ANSWER = "the connection is cut in the middle of an answer"
    RESET_QUESTION = "the connection is reset before a question passes"
    RESET_ANSWER = "the connection is reset before an answer passes"
    SWALLOW_QUESTION = "a question is swallowed, and all after it"
    SWALLOW_ANSWER = "an answer is swallowed, and all after it"
    DELAY_QUESTION = "a question is late"
    DELAY_ANSWER = "an answer is late"
    REFUSE = "the connection is cut, and no other is taken for a while"
    DEAF = "the connection is cut, and others are taken but never answered for a while"


_OF_ANSWER = {
    Kind.CUT_ANSWER,
    Kind.CUT_HALF_ANSWER,
    Kind.RESET_ANSWER,
    Kind.SWALLOW_ANSWER,
    Kind.DELAY_ANSWER,
}
_CUTS = {Kind.CUT_QUESTION, Kind.CUT_ANSWER, Kind.REFUSE, Kind.DEAF}


class Proxy:
    """Passes all on, until it is told to do ``kind`` to the message that many messages later."""

    def __init__(self, server: Path) -> None:
        self._server = server
        self._ears = socket.create_server(("127.0.0.1", 0))
        self.port = self._ears.getsockname()[1]
        self._lock = threading.Lock()
        self._kind: Kind | None = None
        self._left = 0
        self._down: Kind | None = None
        self._closed = False
        self.struck = 0
        """How many faults came about."""
        self._joined: list[socket.socket] = []
        self._threads: list[threading.Thread] = []
        self._begin(self._listen)

    def url(self, name: str) -> str:
        return f"postgresql+psycopg://washmon@127.0.0.1:{self.port}/{name}"

    def strike(self, kind: Kind, after: int) -> None:
        """Let a fault come about after so many messages in its direction."""
        with self._lock:
            self._kind, self._left = kind, after

    def mend(self) -> None:
        """Pass all on again."""
        with self._lock:
            self._kind, self._down = None, None

    def close(self) -> None:
        self._closed = True
        for one in (self._ears, *self._joined):
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
            one.close()
        for thread in self._threads:
            thread.join()

    def _listen(self) -> None:
        while not self._closed:
            with suppress(OSError):
                client, _ = self._ears.accept()
                self._joined.append(client)
                if self._down is Kind.REFUSE:
                    client.close()
                elif self._down is Kind.DEAF:
                    self._begin(self._ignore, client)
                else:
                    self._join(client)

    def _begin(self, do: Callable[..., None], *arguments: object) -> None:
        self._threads.append(threading.Thread(target=do, args=arguments, daemon=True))
        self._threads[-1].start()

    def _ignore(self, client: socket.socket) -> None:
        client.settimeout(_SILENT_S)
        with suppress(OSError):
            while client.recv(1 << 16):
                pass

    def _join(self, client: socket.socket) -> None:
        server = socket.socket(socket.AF_UNIX)
        self._joined.append(server)
        server.connect(str(self._server))
        client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._begin(self._pass_on, client, server, client)
        self._begin(self._pass_on, server, client, client)

    def _pass_on(self, source: socket.socket, target: socket.socket, client: socket.socket) -> None:
        silent = False
        with suppress(OSError):
            while data := source.recv(1 << 16):
                kind = self._due(answers=target is client)
                silent = silent or kind in {Kind.SWALLOW_ANSWER, Kind.SWALLOW_QUESTION}
                if silent:
                    continue
                if kind in {Kind.RESET_ANSWER, Kind.RESET_QUESTION}:
                    linger = (1).to_bytes(4, "little") + (0).to_bytes(4, "little")
                    client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, linger)
                    break
                if kind in _CUTS:
                    break
                if kind in {Kind.CUT_HALF_ANSWER, Kind.CUT_HALF_QUESTION}:
                    target.sendall(data[: len(data) // 2])
                    break
                if kind in {Kind.DELAY_ANSWER, Kind.DELAY_QUESTION}:
                    threading.Event().wait(_SLOW_S)
                target.sendall(data)
        for one in (source, target):
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
            one.close()

    def _due(self, *, answers: bool) -> Kind | None:
        with self._lock:
            kind = self._kind
            if kind is None or (kind in _OF_ANSWER) is not answers:
                return None
            self._left -= 1
            if self._left >= 0:
                return None
            self._kind = None
            self.struck += 1
            if kind in {Kind.REFUSE, Kind.DEAF}:
                self._down = kind
            return kind
