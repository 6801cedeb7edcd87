"""A walk served to a browser on the own machine, and to nobody else.

It listens on 127.0.0.1 only.  Every address begins with a random word that only the one who started it is
told; every request must name this machine as its host and, if it says where it comes from, this very page.
So no other page in the browser can ask for anything.  Nothing that is asked for names a file.
"""

from __future__ import annotations

import json
import secrets
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from typing import Any

from switchsolve.drawing.svg import STYLE
from switchsolve.puzzle import Puzzle
from switchsolve.walking.desk import BadRequest, Desk
from switchsolve.walking.html import walk_html

__all__ = ["HOST", "MOST_BYTES", "WalkServer"]

HOST = "127.0.0.1"
"""The machine itself, reached from nowhere else."""
MOST_BYTES = 100_000
"""What a request may hold."""

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:;"
    " base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_FILES = {"walk.js": "text/javascript; charset=utf-8", "walk.css": "text/css; charset=utf-8"}


class WalkServer(ThreadingHTTPServer):
    """Serves one walk of ``puzzle`` on ``port`` (0: any that is free) until it is shut down.

    ``seconds`` and ``proof_seconds`` as for :class:`~switchsolve.walking.desk.Desk`.  Raises ``OSError`` if
    the port cannot be had.
    """

    daemon_threads = True

    def __init__(
        self, puzzle: Puzzle, port: int = 0, seconds: float = 20.0, proof_seconds: float | None = 120.0
    ) -> None:
        self.token = secrets.token_urlsafe(16)
        self.desk = Desk(puzzle, seconds, proof_seconds)
        self._puzzle = puzzle
        super().__init__((HOST, port), _Handler)

    @property
    def origin(self) -> str:
        """Where the page comes from."""
        return f"http://{HOST}:{self.server_address[1]}"

    @property
    def url(self) -> str:
        """The address of the page."""
        return f"{self.origin}/{self.token}/"

    @property
    def hosts(self) -> tuple[str, ...]:
        """What a request may name as its host."""
        port = self.server_address[1]
        return f"{HOST}:{port}", f"localhost:{port}"

    def page(self, name: str) -> tuple[str, bytes] | None:
        """Kind and content of what lies under a name; ``None`` if nothing does."""
        if name == "":
            text = walk_html(self._puzzle, self.desk.ground)
            return "text/html; charset=utf-8", text.encode("utf-8", "replace")
        if name not in _FILES:
            return None
        text = files("switchsolve.walking").joinpath(name).read_text(encoding="utf-8")
        return _FILES[name], (text + STYLE if name == "walk.css" else text).encode("utf-8")

    def server_close(self) -> None:
        """Stop what goes on, and close."""
        self.desk.close()
        super().server_close()


class _Refused(Exception):
    """A request that is not answered: the code, and why."""

    def __init__(self, code: int, why: str) -> None:
        self.code, self.why = code, why
        super().__init__(why)


class _Handler(BaseHTTPRequestHandler):
    """One request."""

    server: WalkServer
    server_version, sys_version = "switchsolve", ""
    protocol_version = "HTTP/1.0"  # a line for each request: none outlives the walk
    timeout = 60

    def do_GET(self) -> None:
        """The page, its script and its style."""
        try:
            found = self.server.page(self._name())
            if found is None:
                raise _Refused(404, "there is no such page")
            self._send(200, *found)
        except _Refused as refused:
            self._refuse(refused)

    def do_POST(self) -> None:
        """A request of the page: JSON in and out."""
        try:
            told = self.server.desk.answer(self._name(), self._read())
            text = json.dumps(told, ensure_ascii=False, separators=(",", ":"))
            self._send(200, "application/json; charset=utf-8", text.encode("utf-8", "replace"))
        except BadRequest as error:
            self._refuse(_Refused(400, str(error)))
        except _Refused as refused:
            self._refuse(refused)

    # ---- who asks, and what

    def _name(self) -> str:
        """What is asked for, by whom it may be asked for."""
        if self.headers.get("Host") not in self.server.hosts:
            raise _Refused(403, "this is served to this machine only")
        origin = self.headers.get("Origin")
        if origin is not None and origin not in {f"http://{host}" for host in self.server.hosts}:
            raise _Refused(403, "another page may not ask")
        if self.command == "POST" and origin is None:
            raise _Refused(403, "it is not said which page asks")
        start = f"/{self.server.token}/"
        if not secrets.compare_digest(self.path[: len(start)].encode(), start.encode()):
            raise _Refused(404, "there is no such page")
        return self.path[len(start) :]

    def _read(self) -> dict[str, Any]:
        """The JSON table of a request."""
        if self.headers.get("Content-Type", "").partition(";")[0].strip() != "application/json":
            raise _Refused(415, "only JSON is read here")
        length = self.headers.get("Content-Length", "")
        if not (length.isascii() and length.isdecimal()):
            raise _Refused(411, "it is not said how long it is")
        if len(length) > 9 or int(length) > MOST_BYTES:
            raise _Refused(413, f"this is too much: {MOST_BYTES} bytes at the most")
        try:
            asked = json.loads(self.rfile.read(int(length)))
        except (ValueError, RecursionError):
            raise _Refused(400, "this is not JSON") from None
        if not isinstance(asked, dict):
            raise _Refused(400, "this is no table")
        return asked

    # ---- answers

    def _refuse(self, refused: _Refused) -> None:
        """Say why."""
        self._send(refused.code, "text/plain; charset=utf-8", f"{refused.why}\n".encode())

    def _send(self, code: int, kind: str, content: bytes) -> None:
        self.send_response(code)
        for key, value in {
            "Content-Type": kind,
            "Content-Length": str(len(content)),
            "Content-Security-Policy": _POLICY,
            "X-Content-Type-Options": "nosniff",
            "Referrer-Policy": "no-referrer",
            "Cross-Origin-Resource-Policy": "same-origin",
            "Cache-Control": "no-store",
        }.items():
            self.send_header(key, value)
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing: only the command line prints."""
