"""The page of a walk as it is served: to this machine and this page only, with no file to be named."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, OK, USAGE
from switchsolve.puzzlefile import load
from switchsolve.walking.server import MOST_BYTES, WalkServer

ROOT = Path(__file__).parent.parent
SPUR = str(ROOT / "puzzles" / "first_spur.toml")
SECONDS = 60


@pytest.fixture(scope="module")
def server() -> Iterator[WalkServer]:
    """One server for all tests of this file."""
    with WalkServer(load(SPUR)) as made:
        thread = threading.Thread(target=made.serve_forever, daemon=True)
        thread.start()
        yield made
        made.shutdown()


def send(
    server: WalkServer,
    path: str,
    body: str | None = None,
    headers: Mapping[str, str | None] | None = None,
    method: str | None = None,
) -> tuple[int, str, Mapping[str, str]]:
    """Send one request as the page would, but for ``headers`` (``None``: left out)."""
    line = http.client.HTTPConnection(*server.server_address[:2], timeout=SECONDS)
    method = method or ("GET" if body is None else "POST")
    line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    told: dict[str, str | None] = {"Host": server.origin.removeprefix("http://")}
    if body is not None:
        told |= {"Origin": server.origin, "Content-Type": "application/json"}
        told |= {"Content-Length": str(len(body.encode()))}
    for key, value in (told | dict(headers or {})).items():
        if value is not None:
            line.putheader(key, value)
    line.endheaders(body.encode() if body is not None else None)
    answer = line.getresponse()
    found = answer.status, answer.read().decode("utf-8"), dict(answer.getheaders())
    line.close()
    return found


def ask(server: WalkServer, what: str, **asked: Any) -> dict[str, Any]:
    code, text, _ = send(server, f"/{server.token}/{what}", json.dumps(asked))
    assert code == 200, text
    told = json.loads(text)
    assert isinstance(told, dict)
    return told


# -- who may ask


def test_it_listens_on_this_machine_only(server: WalkServer) -> None:
    """The address it is bound to is that of the loop back."""
    assert server.socket.getsockname()[0] == "127.0.0.1"
    assert server.url.startswith("http://127.0.0.1:")


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example:80", "127.0.0.1", "", None])
def test_another_host_is_refused(host: str | None, server: WalkServer) -> None:
    """A page of another name that leads here (by its name server) learns nothing, and nothing is done."""
    path = f"/{server.token}/"
    assert send(server, path, headers={"Host": host})[0] in (400, 403)
    assert send(server, f"{path}state", "{}", headers={"Host": host})[0] in (400, 403)


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1", None])
def test_another_origin_is_refused(origin: str | None, server: WalkServer) -> None:
    """A request that another page sends, or that does not say which page sends it, is refused."""
    code, text, _ = send(server, f"/{server.token}/state", "{}", headers={"Origin": origin})
    assert code == 403 and "page" in text


def test_a_request_of_a_form_is_refused(server: WalkServer) -> None:
    """What a form of another page could send without asking (no JSON) is not read."""
    for kind in ("text/plain", "application/x-www-form-urlencoded", None):
        assert send(server, f"/{server.token}/state", "{}", headers={"Content-Type": kind})[0] == 415


@pytest.mark.parametrize("path", ["/", "/state", "/x/", "/{token}", "/{token}x/", "/%2e%2e/{token}/"])
def test_without_the_word_there_is_nothing(path: str, server: WalkServer) -> None:
    """Only addresses under the random word of this walk are answered."""
    assert send(server, path.format(token=server.token))[0] == 404


@pytest.mark.parametrize(
    "name",
    ["../walk.js", "..%2fserver.py", "/etc/passwd", "server.py", "walk.js/", "walk.js?x", "puzzles/a.toml"],
)
def test_no_file_can_be_named(name: str, server: WalkServer) -> None:
    """There are three things to get, and no path leads to any other."""
    assert send(server, f"/{server.token}/{name}")[0] == 404


def test_the_words_differ() -> None:
    """Two walks have two words, each too long to be guessed."""
    words = []
    for _ in range(2):
        with WalkServer(load(SPUR)) as made:
            words.append(made.token)
    assert words[0] != words[1] and min(map(len, words)) >= 20


# -- what may be asked


def test_what_is_served(server: WalkServer) -> None:
    """The page, its script and its style; each forbids whatever is not from here."""
    for name, kind in (("", "text/html"), ("walk.js", "text/javascript"), ("walk.css", "text/css")):
        code, text, headers = send(server, f"/{server.token}/{name}")
        assert code == 200 and headers["Content-Type"].startswith(kind) and text
        policy = headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert headers["X-Content-Type-Options"] == "nosniff" and headers["Cache-Control"] == "no-store"
        assert not re.search(r"(src|href)=\"(https?:)?//", text)


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "HEAD", "PATCH"])
def test_other_methods_are_refused(method: str, server: WalkServer) -> None:
    """Nothing but GET and POST is known."""
    assert send(server, f"/{server.token}/", method=method)[0] == 501


@pytest.mark.parametrize(
    "body, headers, code",
    [
        ("{", {}, 400),
        ("[]", {}, 400),
        ("[" * 50_000, {}, 400),
        ("{}", {"Content-Length": None}, 411),
        ("{}", {"Content-Length": "-1"}, 411),
        ("{}", {"Content-Length": str(MOST_BYTES + 1)}, 413),
        ("{}", {"Content-Length": "9" * 30}, 413),
    ],
)
def test_bad_requests(body: str, headers: Mapping[str, str | None], code: int, server: WalkServer) -> None:
    """What is no JSON table, does not say how long it is, or is too long, is refused with a reason."""
    found, text, _ = send(server, f"/{server.token}/state", body, headers)
    assert found == code and text.strip()


@pytest.mark.parametrize(
    "what, asked",
    [
        ("go", {}),
        ("go", {"version": 0}),
        ("go", {"version": "0", "choice": 0}),
        ("go", {"version": True, "choice": 0}),
        ("go", {"version": "now", "choice": 10_000}),
        ("go", {"version": "now", "choice": -1}),
        ("start", {"version": "now", "start": 7}),
        ("stand", {"version": "now"}),
        ("stand", {"version": "now", "start": "", "heads": ["to"]}),
        ("stand", {"version": "now", "start": "", "ran": {"S&I 5": 1}}),
        ("save", {"version": "now"}),
        ("ahead", {}),
    ],
)
def test_strange_requests(what: str, asked: dict[str, Any], server: WalkServer) -> None:
    """What no page of ours asks for is refused, and changes nothing."""
    before = ask(server, "state")
    if asked.get("version") == "now":
        asked = asked | {"version": before["version"]}
    code, text, _ = send(server, f"/{server.token}/{what}", json.dumps(asked))
    assert code == 400 and text.strip()
    assert ask(server, "state") == before


def test_a_step_of_another_version_changes_nothing(server: WalkServer) -> None:
    """A step that was chosen before something else happened is not made; the answer shows what there is."""
    before = ask(server, "state")
    assert ask(server, "go", version=before["version"] - 1, choice=0) == before
    assert ask(server, "ahead", version=before["version"] - 1)["ahead"] == ""


# -- a walk


def test_a_walk_through_the_server(server: WalkServer) -> None:
    """Hints are followed to the end; the minimum is proved meanwhile; undo, redo and start anew."""
    told = ask(server, "restart", version=ask(server, "state")["version"])
    begun = time.monotonic()
    while "proved" not in told["minimum"]:
        assert time.monotonic() - begun < SECONDS
        told |= ask(server, "minimum")
        time.sleep(0.05)
    assert told["minimum"] == "1 (proved)" and told["moves"] == 0
    ahead = ask(server, "ahead", version=told["version"])
    assert ahead["ahead"] == "1 more move from here at best (proved)." and "choice" not in ahead
    while not told["isDone"]:
        hint = ask(server, "hint", version=told["version"])
        assert hint["hint"]
        told = ask(server, "go", version=told["version"], choice=hint["choice"])
        assert told["frames"] and told["steps"][-1][1] == hint["hint"]
    assert told["moves"] == 1 and told["done"].startswith("The work is done in 1 move.")
    assert 'data-vehicle="S&amp;I 5"' in told["picture"]
    back = ask(server, "undo", version=told["version"])
    assert not back["isDone"] and back["canRedo"]
    again = ask(server, "redo", version=back["version"])
    assert again["isDone"]
    begun = ask(server, "restart", version=again["version"])
    assert not ask(server, "go", version=begun["version"], choice=0, calm=True)["frames"]


def test_typed_in(server: WalkServer) -> None:
    """What is wrong with what was typed is told in full, and changes nothing; what is right begins anew."""
    before = ask(server, "state")
    told = ask(server, "stand", version=before["version"], start='nowhere = ["S&I 5"]')
    assert told["version"] == before["version"] and len(told["problems"]) >= 2
    assert all(problem.startswith("where cars stand now: ") for problem in told["problems"])
    puzzle = load(SPUR)
    track = puzzle.start.strings[0].track
    lines: dict[str, list[str]] = {}
    for string in puzzle.start.strings:
        lines.setdefault(string.track, []).extend(string.vehicles)
    text = "\n".join(f"{json.dumps(name)} = {json.dumps(who)}" for name, who in lines.items())
    told = ask(server, "stand", version=before["version"], start=text, ran={"S&I 5": "forward"})
    assert "problems" not in told and told["version"] > before["version"] and track in told["standing"]
    assert told["moves"] == 1  # under way: it is in its first move


def test_a_look_ahead_ends_when_the_crew_goes_on() -> None:
    """The answer to a question that is no longer asked is stopped; other requests are answered meanwhile."""
    with WalkServer(load(ROOT / "puzzles" / "cask_lane.toml"), seconds=SECONDS, proof_seconds=0.01) as made:
        threading.Thread(target=made.serve_forever, daemon=True).start()
        version = ask(made, "state")["version"]
        told: list[dict[str, Any]] = []
        looking = threading.Thread(target=lambda: told.append(ask(made, "ahead", version=version)))
        looking.start()
        time.sleep(0.2)
        begun = time.monotonic()
        assert ask(made, "go", version=version, choice=0)["version"] == version + 1
        assert time.monotonic() - begun < 10
        looking.join(SECONDS)
        assert not looking.is_alive() and "your next step" in told[0]["ahead"]
        made.shutdown()


# -- the command


def test_wrong_arguments(capsys: pytest.CaptureFixture[str]) -> None:
    """All that is wrong with the arguments is told at once, with exit code 2."""
    code = main(["walk", SPUR, "--port", "70000", "--limit-seconds", "0", "--proof-seconds=-1"])
    out, err = capsys.readouterr()
    assert code == USAGE and out == ""
    assert [line.split(":")[0] for line in err.splitlines()] == [
        "--port 70000",
        "--limit-seconds 0",
        "--proof-seconds -1",
    ]


def test_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its problems go to stderr, with exit code 3."""
    file = tmp_path / "bad.toml"
    file.write_text('unit = "furlong"\n', encoding="utf-8")
    assert main(["walk", str(file), "--no-browser"]) == BAD_FILE
    assert "furlong" in capsys.readouterr().err


def test_a_port_that_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    """A port that another program has gives exit code 2, and the cure."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert main(["walk", SPUR, "--no-browser", "--port", str(port)]) == USAGE
    assert "give another" in capsys.readouterr().err


def test_ctrl_c_ends_it() -> None:
    """The address goes to stdout, in one line of at most 80 columns; Ctrl-C ends the walk with 0."""
    process = subprocess.Popen(
        [sys.executable, "-m", "switchsolve", "walk", SPUR, "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=os.environ,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/[\w-]{20,}/\n", line) and len(line) <= 81
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=SECONDS)
    assert process.returncode == OK and out == ""
    assert err.splitlines()[-1] == "The walk is over."
