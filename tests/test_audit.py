"""The audit of the dependencies notices a weakness, and does not call silence a clean bill.

pip-audit itself is asked, of a service of ours on this machine that speaks the OSV protocol (https://google.github.io/osv.dev/post-v1-query/).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import TYPE_CHECKING

import audit
import pytest
from licences import packages

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

WEAKNESS = {
    "id": "MADE-UP-1", "modified": "2020-01-01T00:00:00Z", "summary": "made up", "aliases": [],
    "affected": [{"package": {"name": "tabulate", "ecosystem": "PyPI"},
                  "ranges": [{"type": "ECOSYSTEM", "events": [{"introduced": "0"}]}]}],
}  # fmt: skip


class _Osv(BaseHTTPRequestHandler):
    weak = ""

    def do_POST(self) -> None:  # the name is the protocol's
        asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        answer = {"vulns": [WEAKNESS]} if asked["package"]["name"] == self.weak else {}
        self.send_response(200)
        self.end_headers()
        self.wfile.write(json.dumps(answer).encode())

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture
def service() -> Iterator[HTTPServer]:
    server = HTTPServer(("127.0.0.1", 0), _Osv)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


def run_audit(server: HTTPServer, cache: Path) -> subprocess.CompletedProcess[str]:
    url = f"http://127.0.0.1:{server.server_port}/v1/query"
    return subprocess.run(
        [sys.executable, audit.__file__, "-s", "osv", "--osv-url", url, "--cache-dir", str(cache)],
        capture_output=True, text=True, check=False, env={**os.environ, "NO_PROXY": "127.0.0.1"},
    )  # fmt: skip


def test_with_nothing_known_of_any_package_it_is_clean(service, tmp_path):
    done = run_audit(service, tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith("\nclean\n")
    assert done.stdout.count("nothing known") == len(packages())


def test_a_weakness_of_one_package_is_named_and_ends_with_one(service, tmp_path, monkeypatch):
    monkeypatch.setattr(_Osv, "weak", "tabulate")
    done = run_audit(service, tmp_path)
    assert done.returncode == 1, done.stderr
    assert [line.split()[0] for line in done.stdout.splitlines() if "MADE-UP-1" in line] == ["tabulate"]


def test_a_service_that_cannot_be_reached_gives_no_clean_bill(service, tmp_path):
    service.server_close()
    service.shutdown()
    done = run_audit(service, tmp_path)
    assert done.returncode == 3, done.stdout
    assert done.stdout.startswith("not looked up:")


def test_a_package_that_the_registry_does_not_know_gives_no_clean_bill():
    """The report has this shape where a mirror without advisories stands in for the registry; pip-audit ends with 0."""
    unknown = {"name": "b", "skip_reason": "Dependency not found on PyPI and could not be audited: b (1)"}
    found = audit.findings({"dependencies": [{"name": "a", "version": "1", "vulns": []}, unknown]})
    assert audit.verdict(found) == 3


def test_a_report_of_no_package_gives_no_clean_bill():
    assert audit.verdict(audit.findings({"dependencies": []})) == 3
